/* Hourly air temperature from the day's least and greatest.
 *
 * After Parton and Logan (1981, Agricultural Meteorology 23:205-216): a sine
 * by day, from the minimum (c = -0.17 h after sunrise) to the maximum
 * (a = 1.86 h after noon) and down to sunset, a decay by night (coefficient
 * b = 2.20); their figures for air at 1.5 m, Denver. Our change: the night
 * decays to just the next day's minimum at the hour of the minimum, so that
 * no step is left at dawn. */
#ifndef WEATHER_DIURNAL_H
#define WEATHER_DIURNAL_H

#include <stdbool.h>
#include <stdint.h>

#include "weather/series.h"

struct diurnal_day {
    bool known;
    double min_c, max_c; /* the morning's minimum, the afternoon's maximum */
};

/* Hourly series for `count` days in a row from first_day
 * (civil_day_number), of the clock that stands utc_offset_s from UTC, at a
 * place (degrees). A night next to an unknown day uses the known day's own
 * extremes; the hours of unknown days are missing. Values are ORIGIN_OBSERVED
 * of the source "daily". A day with its minimum above its maximum counts as
 * unknown. Where the sun does not rise or set the day is taken as 12 h. NULL
 * if count is below 1 or more than a series holds. */
struct series *diurnal_series(int64_t first_day, const struct diurnal_day *days,
                              int count, double latitude_deg,
                              double longitude_deg, int utc_offset_s);

#endif
