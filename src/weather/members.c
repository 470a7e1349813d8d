#include "weather/members.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "weather/random.h"

enum { FEWEST_MEMBERS = 5 };

/* Errors fade from hour to hour as exp(-1 h / 24 h): our assumption, that
 * what the forecast has wrong today it has mostly wrong tonight too. */
static const double ERROR_MEMORY_H = 24.0;
/* Hours after which a walk has forgotten where it began. */
enum { WARM_UP_H = 120 };

/* Root mean square error of the forecast air temperature by lead.
 *   0 h: rounding to whole degrees F, 0.556 K / sqrt(12);
 *   18 h: 3.80 F, the day's maximum 12-24 h ahead by a National Weather
 *     Service office (Brooks and Doswell 1996, Weather and Forecasting
 *     11:288-303, Oklahoma City);
 *   48 h and 96 h: about 3 K up to 48 h and above 4 K past 96 h, the service's
 *     gridded forecasts in winter (Myrick and Horel 2006, Weather and
 *     Forecasting 21:869-892, western states);
 *   10 days on: about the spread of the season's weather around its normal
 *     (from memory; a forecast is then no better than the calendar).
 * Straight lines between. Forecasts have become better since; the store's own
 * verification is what may lower these. */
static const struct {
    double lead_h, sd_k;
} growth[] = {{0, 0.16}, {6, 1.2}, {18, 2.1}, {48, 3.0}, {96, 4.0}, {240, 5.0}};

double members_error_sd_k(double lead_h)
{
    size_t count = sizeof growth / sizeof *growth;

    if (lead_h <= 0)
        return growth[0].sd_k;
    for (size_t i = 1; i < count; i++) {
        double span_h = growth[i].lead_h - growth[i - 1].lead_h;
        double share = (lead_h - growth[i - 1].lead_h) / span_h;

        if (lead_h <= growth[i].lead_h)
            return growth[i - 1].sd_k +
                   share * (growth[i].sd_k - growth[i - 1].sd_k);
    }
    return growth[count - 1].sd_k;
}

static struct members *members_of(utc_s start, int hours, int count,
                                  double *air_temp_c)
{
    struct members *members = mem_alloc(1, sizeof *members);

    members->start = start;
    members->hours = hours;
    members->count = count;
    members->air_temp_c = air_temp_c;
    return members;
}

struct members *members_new(utc_s start, int hours, int count)
{
    return members_of(start, hours, count,
                      mem_alloc((size_t)count * (size_t)hours, sizeof(double)));
}

void members_free(struct members *members)
{
    if (!members)
        return;
    free(members->air_temp_c);
    free(members);
}

static double *course_of(const struct members *members, int member)
{
    return members->air_temp_c + (size_t)member * (size_t)members->hours;
}

/* The series' air temperature, its gaps held at the last value. */
static void fill_course(const struct series *series, double *course)
{
    double temp_c = 0;
    int hours = series_hours(series);

    for (int hour = 0; hour < hours; hour++)
        if (series_get(series, AIR_TEMP_C, hour, &temp_c))
            break;
    for (int hour = 0; hour < hours; hour++) {
        series_get(series, AIR_TEMP_C, hour, &temp_c);
        course[hour] = temp_c;
    }
}

/* Every member a copy of the series. */
static struct members *members_alike(const struct series *series, int count)
{
    int hours = series_hours(series);
    struct members *members =
        members_of(series_start(series), hours, count,
                   mem_resize(NULL, (size_t)count * (size_t)hours,
                              sizeof *members->air_temp_c));

    fill_course(series, members->air_temp_c);
    for (int member = 1; member < count; member++)
        memcpy(course_of(members, member), members->air_temp_c,
               (size_t)members->hours * sizeof *members->air_temp_c);
    return members;
}

static double lead_h(const struct members *members, int row, utc_s now)
{
    return (double)(members->start + (utc_s)row * SECONDS_PER_HOUR - now) /
           SECONDS_PER_HOUR;
}

/* Hours since 1970 of the row. */
static int64_t hour_of(const struct members *members, int row)
{
    return members->start / SECONDS_PER_HOUR + row;
}

/* Normal deviates that belong to the member and the hours, whenever they are
 * asked for: while the forecast stays, a member keeps its course from one
 * hour's reckoning to the next. The multipliers are odd words of no meaning.
 * The caller frees. */
static double *deviates(uint64_t seed, int member, int64_t hour, int count)
{
    uint64_t *keys = mem_alloc((size_t)count + 1, sizeof *keys);
    double *out = mem_alloc((size_t)count + 1, sizeof *out);

    for (int i = 0; i < count; i++)
        keys[i] = seed ^ (uint64_t)member * UINT64_C(0xd1342543de82ef95) ^
                  (uint64_t)(hour + i) * UINT64_C(0x2545f4914f6cdd1d);
    random_normals_of(keys, out, count);
    free(keys);
    return out;
}

/* A standardised AR(1) walk: what it keeps in an hour, and what is new. */
struct walk {
    double kept, new;
};

static struct walk hourly_walk(void)
{
    double kept = exp(-1.0 / ERROR_MEMORY_H);

    return (struct walk){kept, sqrt(1.0 - kept * kept)};
}

static double step_on(const struct walk *walk, double state, double deviate)
{
    return walk->kept * state + walk->new *deviate;
}

/* Adds a member's error to its course, and takes it from its opposite's;
 * sd_k[row] is that of the lead. */
static void add_errors(struct members *members, int member, int first,
                       const double *sd_k, uint64_t seed)
{
    double *one = course_of(members, member);
    double *other =
        member + 1 < members->count ? course_of(members, member + 1) : NULL;
    struct walk walk = hourly_walk();
    int hours = members->hours - first + WARM_UP_H;
    double *drawn =
        deviates(seed, member, hour_of(members, first) - WARM_UP_H, hours);
    double state = drawn[0];

    for (int i = 1; i < WARM_UP_H; i++)
        state = step_on(&walk, state, drawn[i]);
    for (int row = first; row < members->hours; row++) {
        double error_k;

        state = step_on(&walk, state, drawn[row - first + WARM_UP_H]);
        error_k = state * sd_k[row];
        one[row] += error_k;
        if (other)
            other[row] -= error_k;
    }
    free(drawn);
}

struct members *members_from_error_growth(const struct series *series,
                                          utc_s now, int count, uint64_t seed)
{
    struct members *members = members_alike(series, count > 1 ? count : 1);
    double *sd_k = mem_alloc((size_t)members->hours + 1, sizeof *sd_k);
    int first = grid_row_from(members->start, members->hours, now);

    for (int row = first; row < members->hours; row++)
        sd_k[row] = members_error_sd_k(lead_h(members, row, now));
    for (int member = 1; member < members->count; member += 2)
        add_errors(members, member, first, sd_k, seed);
    free(sd_k);
    return members;
}

/* The ensemble cut to what is of use. */
struct kept {
    const struct members *ensemble;
    int *numbers; /* owned: members without a gap */
    int count;
    int first, end; /* the ensemble's rows at or after now, within the series */
    int offset;     /* the series' row is the ensemble's row + this */
};

static bool has_gap(const struct kept *kept, int member)
{
    const double *course = course_of(kept->ensemble, member);

    for (int row = kept->first; row < kept->end; row++)
        if (!isfinite(course[row]))
            return true;
    return false;
}

static struct kept keep_whole(const struct members *ensemble,
                              const struct series *series, utc_s now)
{
    struct kept kept = {.ensemble = ensemble};
    int64_t offset =
        (ensemble->start - series_start(series)) / SECONDS_PER_HOUR;
    int64_t end = series_hours(series) - offset;

    kept.numbers = mem_alloc((size_t)ensemble->count, sizeof *kept.numbers);
    kept.offset = (int)offset;
    kept.first = grid_row_from(ensemble->start, ensemble->hours, now);
    if (offset < 0 && kept.first < -offset)
        kept.first = (int)-offset;
    kept.end = end < ensemble->hours ? (int)end : ensemble->hours;
    if (kept.first >= kept.end)
        return kept;
    for (int member = 0; member < ensemble->count; member++)
        if (!has_gap(&kept, member))
            kept.numbers[kept.count++] = member;
    return kept;
}

static double mean_at(const struct kept *kept, int row)
{
    double sum = 0;

    for (int i = 0; i < kept->count; i++)
        sum += course_of(kept->ensemble, kept->numbers[i])[row];
    return sum / kept->count;
}

static double sd_at(const struct kept *kept, int row)
{
    double mean = mean_at(kept, row), sum = 0;

    for (int i = 0; i < kept->count; i++) {
        double off = course_of(kept->ensemble, kept->numbers[i])[row] - mean;

        sum += off * off;
    }
    return sqrt(sum / (kept->count - 1));
}

/* Adds the members' deviations within their reach. */
static void add_deviations(struct members *members, const struct kept *kept)
{
    for (int row = kept->first; row < kept->end; row++) {
        double mean = mean_at(kept, row);

        for (int i = 0; i < kept->count; i++)
            course_of(members, i)[row + kept->offset] +=
                course_of(kept->ensemble, kept->numbers[i])[row] - mean;
    }
}

/* Goes on past the ensemble's reach: each member from where it stood, the
 * spread growing by as much as the published one grows. */
static void grow_on(struct members *members, const struct kept *kept, utc_s now,
                    uint64_t seed)
{
    int last = kept->end - 1;
    struct walk walk = hourly_walk();
    double last_sd_k = fmax(sd_at(kept, last), members_error_sd_k(0));
    double last_mean = mean_at(kept, last);
    double from_k =
        members_error_sd_k(lead_h(members, last + kept->offset, now));

    for (int i = 0; i < kept->count; i++) {
        double *course = course_of(members, i);
        double state =
            (course_of(kept->ensemble, kept->numbers[i])[last] - last_mean) /
            last_sd_k;
        int first = kept->end + kept->offset;
        double *drawn =
            deviates(seed, i, hour_of(members, first), members->hours - first);

        for (int row = first; row < members->hours; row++) {
            double grown_k =
                members_error_sd_k(lead_h(members, row, now)) - from_k;

            state = step_on(&walk, state, drawn[row - first]);
            course[row] += state * (last_sd_k + grown_k);
        }
        free(drawn);
    }
}

struct members *members_around(const struct members *ensemble,
                               const struct series *series, utc_s now,
                               uint64_t seed)
{
    struct kept kept = keep_whole(ensemble, series, now);
    struct members *members = NULL;

    if (kept.count >= FEWEST_MEMBERS) {
        members = members_alike(series, kept.count);
        add_deviations(members, &kept);
        grow_on(members, &kept, now, seed);
    }
    free(kept.numbers);
    return members;
}
