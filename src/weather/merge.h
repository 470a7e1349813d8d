/* One series out of several answers: observation before forecast, sources in
 * the configured order, each value keeping its source and issue time. */
#ifndef WEATHER_MERGE_H
#define WEATHER_MERGE_H

#include "weather/series.h"

struct merge_place {
    double latitude, longitude, elevation_m;
};

/* Merges `count` series (in order of preference, none owned) onto the hours
 * [start, start + hours). For each hour and quantity: an observed value
 * first, then a model's analysis of a past hour, then forecasts by order of
 * preference; of forecasts, a source whose issue (the fetch, where the issue
 * is not told) is more than `stale_h` hours older than the newest issue of
 * any source loses to the others. Temperature and dew point are lapsed from
 * the source's elevation to the place's at 6.5 K/km (ISO 2533 standard
 * atmosphere); pressure is brought from the source's elevation, or from sea
 * level where no source has it, with the hypsometric equation; short-wave
 * radiation is estimated from cloud and sun where no source has it. Each
 * value keeps its source (with its issue time) and origin, a derived one
 * those of what it was derived from. Gaps up to 3 h are interpolated, longer
 * ones stay. More than 64 series: the rest is left out. Never NULL. */
struct series *merge_series(const struct series *const *series, int count,
                            const struct merge_place *place, utc_s start,
                            int hours, int stale_h);

/* Largest difference in air temperature between the sources at the hour, in
 * kelvin after lapse; false where fewer than two have it. */
bool merge_spread_k(const struct series *const *series, int count,
                    const struct merge_place *place, utc_s instant,
                    double *spread_k);

#endif
