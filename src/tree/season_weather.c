/* The weather of one season without gaps: the rule for missing days. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/words.h"
#include "tree/season_private.h"
#include "weather/vectors.h"

enum { STRAIGHT_LINE_DAYS = 7 };
static const double HOUR_OF_MIN = 6.0, HOUR_OF_MAX = 15.0;

int64_t season_first_day(int year)
{
    return civil_day_number((struct civil_date){year - 1, 11, 1});
}

int season_of_day(int64_t day)
{
    struct civil_date date = civil_date_from_day_number(day);

    return date.month >= 11 ? date.year + 1 : date.year;
}

/* One extreme of the season's days: values where has[i], else filled. */
struct column {
    double value[SEASON_MAX_DAYS], normal[SEASON_MAX_DAYS];
    bool has[SEASON_MAX_DAYS];
    int days;
};

static double fading_k(const struct column *column, int known, int day,
                       double memory)
{
    if (known < 0 || known >= column->days) {
        return 0.0;
    }
    return (column->value[known] - column->normal[known]) *
           pow(memory, fabs((double)(day - known)));
}

static double straight_line_k(const struct column *column, int before,
                              int after, int day)
{
    double left = column->value[before] - column->normal[before];
    double right = column->value[after] - column->normal[after];

    return left + (right - left) * (day - before) / (after - before);
}

/* Fills the days between two known ones (-1 and days stand for none). */
static void fill_gap(struct column *column, int before, int after,
                     double memory)
{
    bool inside = before >= 0 && after < column->days;
    bool line = inside && after - before - 1 <= STRAIGHT_LINE_DAYS;

    for (int day = before + 1; day < after; day++) {
        double departure_k = line ? straight_line_k(column, before, after, day)
                                  : fading_k(column, before, day, memory) +
                                        fading_k(column, after, day, memory);

        column->value[day] = column->normal[day] + departure_k;
    }
}

static void fill_column(struct column *column, double memory)
{
    int before = -1;

    for (int day = 0; day < column->days; day++) {
        if (column->has[day]) {
            fill_gap(column, before, day, memory);
            before = day;
        }
    }
    fill_gap(column, before, column->days, memory);
}

static void read_columns(const struct daily *daily, int year,
                         const struct season_climate *climate,
                         struct column *min, struct column *max)
{
    int64_t first = season_first_day(year);

    for (int day = 0; day < min->days; day++) {
        const struct daily_row *row = daily_row(daily, first + day);
        int on = season_year_day(year, day);

        min->normal[day] = climate->min_c[on];
        max->normal[day] = climate->max_c[on];
        min->has[day] = row && row->has_min;
        max->has[day] = row && row->has_max;
        min->value[day] = min->has[day] ? row->min_c : 0.0;
        max->value[day] = max->has[day] ? row->max_c : 0.0;
    }
}

static void count_known(const struct column *min, const struct column *max,
                        struct season_weather *out)
{
    out->known = out->filled = 0;
    for (int day = 0; day < out->days; day++) {
        if (min->has[day] || max->has[day]) {
            out->known = day + 1;
        }
    }
    for (int day = 0; day < out->days; day++) {
        out->own[day] = min->has[day] && max->has[day];
        out->filled += day < out->known && !out->own[day];
    }
}

/* How far a cosine has gone from its one end to its other, 0..1, at a share
 * of its time. */
static double cosine_share(double share)
{
    return 0.5 * (1.0 - cos(acos(-1.0) * share));
}

/* Which cosine an hour of the day lies on, and how far it has gone. */
struct curve_place {
    enum { BEFORE_MIN, RISING, FALLING } part;
    double share;
};

static struct curve_place curve_place(double hour)
{
    double rise_h = HOUR_OF_MAX - HOUR_OF_MIN, fall_h = 24.0 - rise_h;

    if (hour < HOUR_OF_MIN) {
        return (struct curve_place){
            BEFORE_MIN, cosine_share((hour + 24.0 - HOUR_OF_MAX) / fall_h)};
    }
    if (hour < HOUR_OF_MAX) {
        return (struct curve_place){
            RISING, cosine_share((hour - HOUR_OF_MIN) / rise_h)};
    }
    return (struct curve_place){FALLING,
                                cosine_share((hour - HOUR_OF_MAX) / fall_h)};
}

static double curve_at(const struct curve_place *place, double min_c,
                       double max_c, double max_before_c, double min_after_c)
{
    double from = place->part == RISING       ? min_c
                  : place->part == BEFORE_MIN ? max_before_c
                                              : max_c;
    double to = place->part == RISING       ? max_c
                : place->part == BEFORE_MIN ? min_c
                                            : min_after_c;

    return from + (to - from) * place->share;
}

double season_curve_c(double min_c, double max_c, double max_before_c,
                      double min_after_c, double hour)
{
    struct curve_place place = curve_place(hour);

    return curve_at(&place, min_c, max_c, max_before_c, min_after_c);
}

void season_shares_make(struct season_shares *out)
{
    for (int hour = 0; hour < 24; hour++) {
        struct curve_place place = curve_place(hour + 0.5);

        for (int end = 0; end < 4; end++)
            out->of[end][hour] = 0;
        out->of[place.part][hour] = 1 - place.share;
        out->of[place.part + 1][hour] = place.share;
    }
}

CLONES
void season_make_hours_by(const struct season_shares *shares,
                          struct season_weather *weather, int first)
{
    /* A copy, which no hour that is written can change: into vectors. */
    const struct season_shares own = *shares;

    for (int day = first; day < weather->days; day++) {
        int before = day > 0 ? day - 1 : day;
        int after = day + 1 < weather->days ? day + 1 : day;
        double max_before_c = weather->max_c[before];
        double min_c = weather->min_c[day], max_c = weather->max_c[day];
        double min_after_c = weather->min_c[after];

        for (int hour = 0; hour < 24; hour++)
            weather->temp_c[day][hour] =
                max_before_c * own.of[0][hour] + min_c * own.of[1][hour] +
                max_c * own.of[2][hour] + min_after_c * own.of[3][hour];
    }
}

void season_make_hours(struct season_weather *weather, int first)
{
    struct season_shares shares;

    season_shares_make(&shares);
    season_make_hours_by(&shares, weather, first);
}

/* A filled minimum may come to lie above a known maximum. */
static void take_columns(const struct column *min, const struct column *max,
                         struct season_weather *out)
{
    for (int day = 0; day < out->days; day++) {
        double low = min->value[day], high = max->value[day];

        if (low > high && !min->has[day]) {
            low = high;
        } else if (low > high) {
            high = low;
        }
        out->min_c[day] = low;
        out->max_c[day] = high;
    }
}

int season_weather_from_daily(const struct daily *daily, int year,
                              const struct season_general *general,
                              const struct season_climate *climate,
                              struct season_weather *out, struct error *err)
{
    struct column *both = mem_alloc(2, sizeof *both);
    struct column *min = &both[0], *max = &both[1];

    out->year = year;
    out->days = (int)(civil_day_number((struct civil_date){year, 8, 1}) -
                      season_first_day(year));
    min->days = max->days = out->days;
    read_columns(daily, year, climate, min, max);
    count_known(min, max, out);
    fill_column(min, general->anomaly_memory);
    fill_column(max, general->anomaly_memory);
    take_columns(min, max, out);
    season_make_hours(out, 0);
    free(both);
    if (out->known == 0) {
        return error_set(err,
                         _("the weather has no day in the season of %d "
                           "(1 November to 31 July)"),
                         year);
    }
    return 0;
}

static void take_known_hours(const struct series *series, int offset_s,
                             struct season_weather *out)
{
    utc_s start = season_first_day(out->year) * SECONDS_PER_DAY - offset_s;
    int hours = out->days * 24;
    int first = grid_row_from(start, hours, series_start(series));
    int row = series_row(series, start + (utc_s)first * SECONDS_PER_HOUR);
    double temp_c;

    for (int hour = first;
         row >= 0 && row < series_hours(series) && hour < hours;
         hour++, row++) {
        if (series_get(series, AIR_TEMP_C, row, &temp_c)) {
            out->temp_c[hour / 24][hour % 24] = temp_c;
        }
    }
}

int season_weather_from_series(const struct series *series, int offset_s,
                               int year, const struct season_general *general,
                               const struct season_climate *climate,
                               struct season_weather *out, struct error *err)
{
    struct daily *daily = daily_from_series(series, offset_s);
    int status =
        season_weather_from_daily(daily, year, general, climate, out, err);

    if (!status) {
        take_known_hours(series, offset_s, out);
    }
    daily_free(daily);
    return status;
}
