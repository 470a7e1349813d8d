/* Where the sun stands, and how much of it comes through. Angles in degrees,
 * latitude north and longitude east positive. The position is good to about
 * a quarter of a degree.
 *
 * Declination and equation of time after Spencer (1971) as given in Iqbal,
 * "An Introduction to Solar Radiation" (1983); clear-sky radiation and the
 * effect of cloud after Kasten and Czeplak (1980, Solar Energy 24:177-189):
 * G = (910 sin h - 30) (1 - 0.75 n^3.4) W/m2, n the cloud fraction. */
#ifndef WEATHER_SUN_H
#define WEATHER_SUN_H

#include <stdbool.h>
#include <stdint.h>

#include "base/civil_time.h"

/* Sine of the solar elevation at the instant (negative below the horizon). */
double sun_sin_elevation(double latitude_deg, double longitude_deg,
                         utc_s instant);
/* Sunrise and sunset (the upper limb on the horizon with the usual 34' of
 * refraction: elevation -0.833) of the solar day whose noon falls nearest to
 * 12:00 local mean solar time of the day number (civil_day_number). False
 * where the sun does not rise or does not set that day. */
bool sun_rise_set(double latitude_deg, double longitude_deg, int64_t day,
                  utc_s *rise, utc_s *set);
/* What a cloud lets through of a clear sky's radiation, as a share. */
double sun_through_cloud(double cloud_fraction);
/* Mean of the hour from the instant, W/m2 on the horizontal. The
 * cloud fraction is 0 for a clear sky to 1 for an overcast one. */
double sun_shortwave_w_m2(double latitude_deg, double longitude_deg,
                          utc_s instant, double cloud_fraction);
/* The same of one hour after another from `start` on, under one cloud. */
void sun_shortwave_hours(double latitude_deg, double longitude_deg, utc_s start,
                         int hours, double cloud_fraction, double *out);

#endif
