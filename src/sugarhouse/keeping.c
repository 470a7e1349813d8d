#include "sugarhouse/keeping.h"

#include <math.h>

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

double keeping_hours(double sap_temp_c)
{
    return 1 / keeping_used_per_h(sap_temp_c);
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
