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

/* Standard deviation of a single forecast's error in the air temperature at
 * this lead, K; the published figures behind it stand in members.c. */
double members_error_sd_k(double lead_h);

/* Makes members around a single forecast by error growth with lead time:
 * AR(1) in time, standard deviation by lead hour (members_error_sd_k), none
 * before `now`. Member 0 is the series itself; the others come in pairs of
 * opposite error, so that their mean is the series (an even one left over
 * stands alone). Same seed and input, same bytes; and since each error
 * belongs to its hour, the same seed at a later `now` gives the same courses,
 * closer to the series. Where the series has a gap
 * a member holds the last value (forcing.h marks the hour as not known).
 * At least one member is made. */
struct members *members_from_error_growth(const struct series *series,
                                          utc_s now, int count, uint64_t seed);

/* Puts a service's members in place: their spread around their own mean is
 * added to the merged series (so that the merged level stays), from `now`
 * on; past their reach error growth goes on from the last spread. Members
 * with a gap (a value that is not finite, at or after `now`) are dropped;
 * NULL if fewer than 5 are left or they reach no hour from `now` on. */
struct members *members_around(const struct members *ensemble,
                               const struct series *series, utc_s now,
                               uint64_t seed);

#endif
