/* What drives the tree: hourly air temperature, sun and wind without gaps,
 * cut from a series (and a member). */
#ifndef WEATHER_FORCING_H
#define WEATHER_FORCING_H

#include "weather/members.h"
#include "weather/series.h"

struct forcing {
    utc_s start; /* on the hour */
    int hours;
    double *air_temp_c;
    double *shortwave_w_m2;
    double *wind_m_s;
    bool *known; /* false: air temperature was missing; the tree holds still */
};

/* Sun missing: estimated for a half-clouded sky at the place. Wind missing:
 * 2 m/s. Air temperature missing: the last known value (before any: the first
 * known; 0 C if there is none), known = false. The caller frees with
 * forcing_free. */
struct forcing *forcing_from_series(const struct series *series,
                                    double latitude_deg, double longitude_deg);
/* Puts a member's air temperature, where it reaches, into a forcing that came
 * from the series or from another member: what 50 members share (sun, wind) is
 * worked out once. An hour that the series does not know stays unknown. */
void forcing_set_member(struct forcing *forcing, const struct members *members,
                        int member);
/* The same air by itself: a value for each of the forcing's rows from `first`
 * on. */
void forcing_member_air(const struct forcing *forcing,
                        const struct members *members, int member, int first,
                        double *air_temp_c);
void forcing_free(struct forcing *forcing);

#endif
