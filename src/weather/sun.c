#include "weather/sun.h"

#include <math.h>

static const double PI = 3.14159265358979323846;
static const double RISE_ELEVATION_DEG = -0.833;
/* Equally spaced points that stand for an hour. */
enum { POINTS_AN_HOUR = 6 };

static double radians(double degrees)
{
    return degrees * PI / 180.0;
}

/* What Spencer's series give for an instant. */
struct sun_year {
    double declination;      /* radians */
    double equation_of_time; /* radians of hour angle, apparent minus mean */
};

static struct sun_year sun_in_year(utc_s instant)
{
    int64_t day = instant / SECONDS_PER_DAY - (instant % SECONDS_PER_DAY < 0);
    double share = (double)(instant - day * SECONDS_PER_DAY) / SECONDS_PER_DAY;
    int of_year = civil_day_of_year(civil_date_from_day_number(day));
    double a = 2.0 * PI * ((double)of_year - 1.0 + share) / 365.0;
    struct sun_year sun = {
        .declination = 0.006918 - 0.399912 * cos(a) + 0.070257 * sin(a) -
                       0.006758 * cos(2 * a) + 0.000907 * sin(2 * a) -
                       0.002697 * cos(3 * a) + 0.00148 * sin(3 * a),
        .equation_of_time = 0.000075 + 0.001868 * cos(a) - 0.032077 * sin(a) -
                            0.014615 * cos(2 * a) - 0.040849 * sin(2 * a),
    };

    return sun;
}

/* Radians, 0 at the sun's noon, positive after it. */
static double hour_angle(struct sun_year sun, double longitude_deg,
                         utc_s instant)
{
    double of_day = (double)(((instant % SECONDS_PER_DAY) + SECONDS_PER_DAY) %
                             SECONDS_PER_DAY) /
                    SECONDS_PER_DAY;

    return 2.0 * PI * (of_day - 0.5) + radians(longitude_deg) +
           sun.equation_of_time;
}

double sun_sin_elevation(double latitude_deg, double longitude_deg,
                         utc_s instant)
{
    struct sun_year sun = sun_in_year(instant);
    double latitude = radians(latitude_deg);

    return sin(latitude) * sin(sun.declination) +
           cos(latitude) * cos(sun.declination) *
               cos(hour_angle(sun, longitude_deg, instant));
}

double sun_azimuth_deg(double latitude_deg, double longitude_deg, utc_s instant)
{
    struct sun_year sun = sun_in_year(instant);
    double latitude = radians(latitude_deg);
    double angle = hour_angle(sun, longitude_deg, instant);
    double south_of =
        atan2(sin(angle), cos(angle) * sin(latitude) -
                              tan(sun.declination) * cos(latitude));
    double azimuth = south_of * 180.0 / PI + 180.0;

    return azimuth >= 360.0 ? azimuth - 360.0 : azimuth;
}

bool sun_rise_set(double latitude_deg, double longitude_deg, int64_t day,
                  utc_s *rise, utc_s *set)
{
    double mean_noon = (double)day * SECONDS_PER_DAY +
                       SECONDS_PER_DAY * (0.5 - longitude_deg / 360.0);
    struct sun_year sun = sun_in_year((utc_s)mean_noon);
    double latitude = radians(latitude_deg);
    double noon =
        mean_noon - sun.equation_of_time / (2.0 * PI) * SECONDS_PER_DAY;
    double cos_half = (sin(radians(RISE_ELEVATION_DEG)) -
                       sin(latitude) * sin(sun.declination)) /
                      (cos(latitude) * cos(sun.declination));
    double half;

    if (!(cos_half > -1.0 && cos_half < 1.0))
        return false;
    half = acos(cos_half) / (2.0 * PI) * SECONDS_PER_DAY;
    *rise = (utc_s)llround(noon - half);
    *set = (utc_s)llround(noon + half);
    return true;
}

double sun_shortwave_w_m2(double latitude_deg, double longitude_deg,
                          utc_s instant, double cloud_fraction)
{
    struct sun_year sun = sun_in_year(instant + SECONDS_PER_HOUR / 2);
    double latitude = radians(latitude_deg);
    double level = sin(latitude) * sin(sun.declination);
    double swing = cos(latitude) * cos(sun.declination);
    double step = 2.0 * PI / 24.0 / POINTS_AN_HOUR;
    double angle = hour_angle(sun, longitude_deg, instant) + step / 2.0;
    double sum = 0;

    for (int i = 0; i < POINTS_AN_HOUR; i++) {
        double sin_elevation = level + swing * cos(angle + i * step);

        sum += fmax(0.0, 910.0 * sin_elevation - 30.0);
    }
    cloud_fraction = fmin(1.0, fmax(0.0, cloud_fraction));
    return sum / POINTS_AN_HOUR * (1.0 - 0.75 * pow(cloud_fraction, 3.4));
}
