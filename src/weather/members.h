/* Members of a forecast: equally likely courses of the air temperature, hour
 * by hour, on the grid of a series. Member 0 is the control. */
#ifndef WEATHER_MEMBERS_H
#define WEATHER_MEMBERS_H

#include <stdint.h>

#include "weather/series.h"

struct members {
    utc_s start; /* on the hour */
    int hours;
    int count;
    double *air_temp_c; /* [member * hours + hour]; no gaps */
};

struct members *members_new(utc_s start, int hours, int count);
void members_free(struct members *members);

/* Makes members around a single forecast by error growth with lead time:
 * AR(1) in time, standard deviation by lead hour (the published spread is
 * named in members.c), none before `now`. Same seed and input, same bytes.
 * The series must hold air temperature from start to the end without a gap.
 */
struct members *members_from_error_growth(const struct series *series,
                                          utc_s now, int count, uint64_t seed);

/* Puts a service's members in place: their spread around their own mean is
 * added to the merged series (so that the merged level stays), from `now`
 * on; past their reach error growth goes on from the last spread. Members
 * with a gap are dropped; NULL if fewer than 5 are left. */
struct members *members_around(const struct members *ensemble,
                               const struct series *series, utc_s now,
                               uint64_t seed);

#endif
