#include "weather/sun.h"

#include <math.h>
#include <stdint.h>

#include "weather/closed_forms.h"
#include "weather/vectors.h"

static const double PI = 3.14159265358979323846;
static const double RISE_ELEVATION_DEG = -0.833;
/* Equally spaced points that stand for an hour. */
enum { POINTS_AN_HOUR = 6, ABREAST = 48 };

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
    int64_t day = utc_day(instant);
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

/* Hours that are worked out at once: where they lie in year and day. */
struct sun_hours {
    double of_year[ABREAST]; /* share of the year's circle, of the middle */
    double of_day[ABREAST];  /* share of the day, of the beginning */
};

static void place_hours(struct sun_hours *hours, utc_s instant, int count)
{
    int64_t last = INT64_MIN;
    int of_year = 0;

    for (int i = 0; i < count; i++, instant += SECONDS_PER_HOUR) {
        utc_s middle = instant + SECONDS_PER_HOUR / 2;
        int64_t day = utc_day(middle);
        double share =
            (double)(middle - day * SECONDS_PER_DAY) / SECONDS_PER_DAY;

        if (day != last)
            of_year = civil_day_of_year(civil_date_from_day_number(day));
        last = day;
        hours->of_year[i] = ((double)of_year - 1.0 + share) / 365.0;
        hours->of_day[i] =
            (double)(((instant % SECONDS_PER_DAY) + SECONDS_PER_DAY) %
                     SECONDS_PER_DAY) /
            SECONDS_PER_DAY;
    }
}

/* As sun_in_year, hour_angle and sun_sin_elevation; sine and cosine of twice
 * and three times an angle, and of the hour's points, by their sums. */
CLONES
static void shine(const struct sun_hours *hours, int count, double latitude_deg,
                  double longitude_deg, double *out)
{
    static const double along[POINTS_AN_HOUR] = {
        1,
        0.99904822158185780, /* cosine and sine of 2.5 degrees, and so on */
        0.99619469809174555,
        0.99144486137381038,
        0.98480775301220802,
        0.97629600711993336};
    static const double across[POINTS_AN_HOUR] = {0,
                                                  0.043619387365336000,
                                                  0.087155742747658173,
                                                  0.13052619222005157,
                                                  0.17364817766693036,
                                                  0.21643961393810288};
    double latitude = radians(latitude_deg);
    double sine = sin(latitude), cosine = cos(latitude);
    double meridian = longitude_deg / 360 - 0.5 + 0.5 / 24 / POINTS_AN_HOUR;

    for (int i = 0; i < count; i++) {
        double c, s, up, down, sum = 0, share, declination, equation;

        closed_turn(hours->of_year[i], &c, &s);
        declination = 0.006918 - 0.399912 * c + 0.070257 * s -
                      0.006758 * (2 * c * c - 1) + 0.000907 * (2 * s * c) -
                      0.002697 * (4 * c * c - 3) * c +
                      0.00148 * (3 - 4 * s * s) * s;
        equation = 0.000075 + 0.001868 * c - 0.032077 * s -
                   0.014615 * (2 * c * c - 1) - 0.040849 * (2 * s * c);
        share = hours->of_day[i] + meridian + equation / (2 * PI);
        share -= (share + 0x1.8p52) - 0x1.8p52;
        share += share < 0 ? 1 : 0;
        closed_turn(declination / (2 * PI), &down, &up);
        closed_turn(share, &c, &s);
        for (int k = 0; k < POINTS_AN_HOUR; k++) {
            double shines =
                910.0 * (sine * up +
                         cosine * down * (c * along[k] - s * across[k])) -
                30.0;

            sum += shines > 0 ? shines : 0;
        }
        out[i] = sum / POINTS_AN_HOUR;
    }
}

double sun_through_cloud(double cloud_fraction)
{
    double cloud = fmin(1.0, fmax(0.0, cloud_fraction));

    return 1.0 - 0.75 * pow(cloud, 3.4);
}

void sun_shortwave_hours(double latitude_deg, double longitude_deg, utc_s start,
                         int hours, double cloud_fraction, double *out)
{
    double through = sun_through_cloud(cloud_fraction);

    for (int from = 0; from < hours; from += ABREAST) {
        int some = hours - from < ABREAST ? hours - from : ABREAST;
        struct sun_hours places;

        place_hours(&places, start + (utc_s)from * SECONDS_PER_HOUR, some);
        shine(&places, some, latitude_deg, longitude_deg, out + from);
        for (int i = from; i < from + some; i++)
            out[i] *= through;
    }
}

double sun_shortwave_w_m2(double latitude_deg, double longitude_deg,
                          utc_s instant, double cloud_fraction)
{
    double shortwave_w_m2;

    sun_shortwave_hours(latitude_deg, longitude_deg, instant, 1, cloud_fraction,
                        &shortwave_w_m2);
    return shortwave_w_m2;
}
