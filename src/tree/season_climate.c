/* The climate curve and what may come after the known weather. */
#include <math.h>

#include "tree/season_private.h"
#include "weather/random.h"

static double harmonic(const double c[5], double day_of_year)
{
    double w = 2.0 * acos(-1.0) * day_of_year / 365.25;

    return c[0] + c[1] * cos(w) + c[2] * sin(w) + c[3] * cos(2.0 * w) +
           c[4] * sin(2.0 * w);
}

void season_curve_make(const struct season_general *general,
                       struct season_climate *out)
{
    for (int day = 0; day < 366; day++) {
        out->min_c[day] = harmonic(general->climate_min_c, day + 1);
        out->max_c[day] = harmonic(general->climate_max_c, day + 1);
    }
}

static void move_curve(const struct season_general *general,
                       const struct season_climate *curve, double latitude_deg,
                       double elevation_m, struct season_climate *out)
{
    double north = latitude_deg - general->climate_latitude_deg;
    double up_km = (elevation_m - general->climate_elevation_m) / 1000.0;
    double colder_k = north * general->climate_per_degree_k +
                      up_km * general->climate_per_km_k;

    for (int day = 0; day < 366; day++) {
        out->min_c[day] = curve->min_c[day] - colder_k;
        out->max_c[day] = curve->max_c[day] - colder_k;
    }
}

void season_climate_of(const struct season_model *model, double latitude_deg,
                       double elevation_m, struct season_climate *out)
{
    move_curve(&model->general, &model->curve, latitude_deg, elevation_m, out);
}

void season_climate_at(const struct season_general *general,
                       double latitude_deg, double elevation_m,
                       struct season_climate *out)
{
    struct season_climate curve;

    season_curve_make(general, &curve);
    move_curve(general, &curve, latitude_deg, elevation_m, out);
}

/* Of a season, 1 January; 1 November before it is so far into its own year. */
enum { NEW_YEAR = 61, NOVEMBER = 304, NOVEMBER_OF_LEAP_YEAR = 305 };

int season_year_day(int year, int day)
{
    struct civil_date november = {year - 1, 11, 1};

    if (day >= NEW_YEAR)
        return day - NEW_YEAR;
    return day + (civil_day_of_year(november) > NOVEMBER + 1
                      ? NOVEMBER_OF_LEAP_YEAR
                      : NOVEMBER);
}

/* A day's departures from the climate: of its mean and of its range. */
struct departure {
    double mean_k, range_k;
};

static struct departure last_departure(const struct season_weather *weather,
                                       const struct season_climate *climate)
{
    struct departure departure = {0.0, 0.0};
    int last = weather->known - 1;
    double low_k, high_k;

    if (last >= 0) {
        int on = season_year_day(weather->year, last);

        low_k = weather->min_c[last] - climate->min_c[on];
        high_k = weather->max_c[last] - climate->max_c[on];
        departure.mean_k = 0.5 * (low_k + high_k);
        departure.range_k = high_k - low_k;
    }
    return departure;
}

/* How a departure goes on from one day to the next. */
struct memory {
    double kept, new_k;
};

static struct memory memory_of(double sd_k, double memory)
{
    return (struct memory){memory, sd_k * sqrt(1.0 - memory * memory)};
}

static void set_day(struct season_weather *weather, int day,
                    const struct season_climate *climate,
                    const struct departure *departure)
{
    int on = season_year_day(weather->year, day);
    double mean_c =
        0.5 * (climate->min_c[on] + climate->max_c[on]) + departure->mean_k;
    double range_k =
        climate->max_c[on] - climate->min_c[on] + departure->range_k;

    range_k = range_k > 0 ? range_k : 0;
    weather->min_c[day] = mean_c - 0.5 * range_k;
    weather->max_c[day] = mean_c + 0.5 * range_k;
}

void season_draw_ahead(struct season_weather *weather,
                       const struct season_general *general,
                       const struct season_climate *climate,
                       const struct season_shares *shares, uint64_t seed,
                       int member)
{
    struct departure departure = last_departure(weather, climate);
    struct memory mean =
        memory_of(general->anomaly_sd_k, general->anomaly_memory);
    struct memory range = memory_of(general->range_sd_k, general->range_memory);
    struct random random;
    double drawn[2 * SEASON_MAX_DAYS];

    random_seed(&random, seed + (uint64_t)member * 1000000007u);
    random_normals(&random, drawn, 2 * (weather->days - weather->known));
    for (int day = weather->known; day < weather->days; day++) {
        const double *two = drawn + (size_t)(2 * (day - weather->known));

        departure.mean_k = mean.kept * departure.mean_k + mean.new_k * two[0];
        departure.range_k =
            range.kept * departure.range_k + range.new_k * two[1];
        set_day(weather, day, climate, &departure);
    }
    season_make_hours_by(shares, weather, weather->known);
}

void season_weather_member(const struct season_weather *weather,
                           const struct season_general *general,
                           const struct season_climate *climate, uint64_t seed,
                           int member, struct season_weather *out)
{
    struct season_shares shares;

    season_shares_make(&shares);
    *out = *weather;
    season_draw_ahead(out, general, climate, &shares, seed, member);
}
