#include <math.h>
#include <stdio.h>

#include "base/units.h"

/* Rounds first, so that nothing is shown as "-0". */
static void format(char out[QUANTITY_SIZE], double value, int decimals,
                   const char *unit)
{
    double scale = pow(10, decimals);
    double rounded = round(value * scale) / scale;
    snprintf(out, QUANTITY_SIZE, "%.*f %s", decimals,
             rounded == 0 ? 0.0 : rounded, unit);
}

void volume_format(double volume_l, enum unit_system units,
                   char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    double value = us ? volume_l / L_PER_US_GALLON : volume_l;
    format(out, value, fabs(value) < 9.95 ? 1 : 0, us ? "gal" : "L");
}

void temperature_format(double temp_c, enum unit_system units,
                        char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    format(out, us ? f_from_c(temp_c) : temp_c, 0, us ? "F" : "C");
}

void height_format(double height_m, enum unit_system units,
                   char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    format(out, us ? height_m / M_PER_FOOT : height_m, 0, us ? "ft" : "m");
}

void pressure_format(double pressure_hpa, enum unit_system units,
                     char out[QUANTITY_SIZE])
{
    if (units == UNITS_US)
        format(out, pressure_hpa / 10 / KPA_PER_INHG, 2, "inHg");
    else
        format(out, pressure_hpa, 0, "hPa");
}

void per_tap_format(double volume_l, enum unit_system units,
                    char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    format(out, us ? volume_l / L_PER_US_GALLON : volume_l, 1,
           us ? "gal" : "L");
}
