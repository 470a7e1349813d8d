#include "sugarhouse/keeping.h"

#include <math.h>
#include <stddef.h>

static const double growth_slope = 0.033, growth_zero_c = -7.6;
static const double doublings_to_spoil = 10;
static const double reference_l = 1000, reference_h = 20;
static const double sun_k_m2_w = 0.01;
static const double inside_least_c = 2;

double keeping_used_per_h(double sap_temp_c)
{
    double temp_c = sap_temp_c > 0 ? sap_temp_c : 0;
    double root = growth_slope * (temp_c - growth_zero_c);

    return root * root / doublings_to_spoil;
}

static double air_around_c(enum keeping_site site, double air_temp_c,
                           double shortwave_w_m2)
{
    if (site == KEEPING_SUN)
        return air_temp_c + sun_k_m2_w * shortwave_w_m2;
    if (site == KEEPING_INSIDE && air_temp_c < inside_least_c)
        return inside_least_c;
    return air_temp_c;
}

double keeping_next_temp_c(double sap_temp_c, double volume_l,
                           enum keeping_site site, double air_temp_c,
                           double shortwave_w_m2)
{
    double around_c = air_around_c(site, air_temp_c, shortwave_w_m2);
    double volume = volume_l > 1 ? volume_l : 1;
    double hours = reference_h * cbrt(volume / reference_l);
    double next_c = around_c + (sap_temp_c - around_c) * exp(-1 / hours);

    return next_c > 0 ? next_c : 0;
}

double keeping_light_share(double life_used)
{
    double used = life_used < 0 ? 0 : life_used > 1 ? 1 : life_used;

    return 1 - used / 3;
}

/* Hours from `hour` until the life used reaches the mark, at this rate. */
static double reach_h(int hour, double life_used, double mark, double per_h)
{
    double left = mark - life_used;

    return hour + (left > 0 ? left / per_h : 0);
}

struct keeping_course keeping_follow(double temp_c, double life_used,
                                     double volume_l, enum keeping_site site,
                                     const double *air_temp_c,
                                     const double *shortwave_w_m2, int hours)
{
    struct keeping_course course = {.boil_by_h = -1, .hours_left = -1};
    double used = life_used, per_h = keeping_used_per_h(temp_c);

    for (int hour = 0; hour < hours; hour++) {
        double sun = shortwave_w_m2 != NULL ? shortwave_w_m2[hour] : 0;

        temp_c =
            keeping_next_temp_c(temp_c, volume_l, site, air_temp_c[hour], sun);
        per_h = keeping_used_per_h(temp_c);
        if (course.boil_by_h < 0 && used + per_h >= KEEPING_BOIL_BY_LIFE)
            course.boil_by_h = reach_h(hour, used, KEEPING_BOIL_BY_LIFE, per_h);
        if (course.hours_left < 0 && used + per_h >= 1)
            course.hours_left = reach_h(hour, used, 1, per_h);
        used += per_h;
    }
    if (course.boil_by_h < 0)
        course.boil_by_h = reach_h(hours, used, KEEPING_BOIL_BY_LIFE, per_h);
    if (course.hours_left < 0)
        course.hours_left = reach_h(hours, used, 1, per_h);
    course.life_used_end = used < 1 ? used : 1;
    course.temp_c_end = temp_c;
    return course;
}
