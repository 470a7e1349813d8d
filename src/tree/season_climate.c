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

void season_climate_at(const struct season_general *general,
                       double latitude_deg, double elevation_m,
                       struct season_climate *out)
{
    double north = latitude_deg - general->climate_latitude_deg;
    double up_km = (elevation_m - general->climate_elevation_m) / 1000.0;
    double colder_k = north * general->climate_per_degree_k +
                      up_km * general->climate_per_km_k;

    for (int day = 0; day < 366; day++) {
        out->min_c[day] = harmonic(general->climate_min_c, day + 1) - colder_k;
        out->max_c[day] = harmonic(general->climate_max_c, day + 1) - colder_k;
    }
}

int season_year_day(int year, int day)
{
    int64_t number = season_first_day(year) + day;

    return civil_day_of_year(civil_date_from_day_number(number)) - 1;
}

static double last_anomaly_k(const struct season_weather *weather,
                             const struct season_climate *climate)
{
    int last = weather->known - 1;
    int on = season_year_day(weather->year, last);

    return 0.5 * (weather->min_c[last] - climate->min_c[on] +
                  weather->max_c[last] - climate->max_c[on]);
}

void season_weather_member(const struct season_weather *weather,
                           const struct season_general *general,
                           const struct season_climate *climate, uint64_t seed,
                           int member, struct season_weather *out)
{
    struct random random;
    double memory = general->anomaly_memory;
    double noise_k = general->anomaly_sd_k * sqrt(1.0 - memory * memory);
    double anomaly_k = 0.0;

    random_seed(&random, seed + (uint64_t)member * 1000000007u);
    *out = *weather;
    if (weather->known > 0) {
        anomaly_k = last_anomaly_k(weather, climate);
    }
    for (int day = weather->known; day < weather->days; day++) {
        int on = season_year_day(weather->year, day);

        anomaly_k = memory * anomaly_k + noise_k * random_normal(&random);
        out->min_c[day] = climate->min_c[on] + anomaly_k;
        out->max_c[day] = climate->max_c[on] + anomaly_k;
    }
    season_make_hours(out, weather->known);
}
