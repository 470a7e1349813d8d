#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/units.h"
#include "base/words.h"

void number_mark(char *number)
{
    char *point = strchr(number, '.');

    if (point != NULL)
        *point = words_in("decimal mark", ".")[0];
}

/* Rounds first, so that nothing is shown as "-0". */
void number_format(double value, int decimals, char out[QUANTITY_SIZE])
{
    double scale = pow(10, decimals);
    double rounded = round(value * scale) / scale;
    snprintf(out, QUANTITY_SIZE, "%.*f", decimals, rounded == 0 ? 0 : rounded);
    number_mark(out);
}

void volume_format(double volume_l, enum unit_system units,
                   char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    double value = us ? volume_l / L_PER_US_GALLON : volume_l;
    char number[QUANTITY_SIZE];
    number_format(value, fabs(value) < 9.95 ? 1 : 0, number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s gal") : _("%.30s L"), number);
}

void temperature_format(double temp_c, enum unit_system units,
                        char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    char number[QUANTITY_SIZE];
    number_format(us ? f_from_c(temp_c) : temp_c, 0, number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s F") : _("%.30s C"), number);
}

void height_format(double height_m, enum unit_system units,
                   char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    char number[QUANTITY_SIZE];
    number_format(us ? height_m / M_PER_FOOT : height_m, 0, number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s ft") : _("%.30s m"), number);
}

void pressure_format(double pressure_hpa, enum unit_system units,
                     char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    char number[QUANTITY_SIZE];
    number_format(us ? pressure_hpa / 10 / KPA_PER_INHG : pressure_hpa,
                  us ? 2 : 0, number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s inHg") : _("%.30s hPa"), number);
}

void per_tap_format(double volume_l, enum unit_system units,
                    char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    char number[QUANTITY_SIZE];
    number_format(us ? volume_l / L_PER_US_GALLON : volume_l, 1, number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s gal") : _("%.30s L"), number);
}
