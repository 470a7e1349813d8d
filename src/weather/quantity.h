/* The quantities of the normalised weather, each with its one unit.
 *
 * The hour that a row of the series stands for begins at its time stamp.
 * Instant quantities (temperature, humidity, pressure, wind, cloud) are the
 * value at the stamp; mean and sum quantities (short-wave radiation,
 * precipitation) belong to the hour from the stamp to the next. Decoders
 * shift what a service counts to the hour that ends at its stamp. */
#ifndef WEATHER_QUANTITY_H
#define WEATHER_QUANTITY_H

#include <stdbool.h>

#include "base/error.h"

enum quantity {
    AIR_TEMP_C,
    SHORTWAVE_W_M2, /* mean of the hour, global horizontal */
    WIND_M_S,       /* 10 m above ground */
    REL_HUMIDITY_PCT,
    PRESSURE_HPA, /* at the station or the bush, not reduced */
    PRECIP_MM,    /* sum of the hour */
    SEA_LEVEL_PRESSURE_HPA,
    CLOUD_PCT,
    DEW_POINT_C,
    QUANTITY_COUNT
};

/* Column name in CSV ("air_temp_c"), borrowed. */
const char *quantity_name(enum quantity quantity);
int quantity_from_name(const char *name); /* or -1 */
/* True for a sum over the hour (precipitation). */
bool quantity_is_sum(enum quantity quantity);
/* True for what belongs to the hour from its stamp (sum or mean). */
bool quantity_is_over_hour(enum quantity quantity);

/* The plausible range, outside of which a value is refused: air temperature
 * -60..60 C, and so on (see quantity.c for each with its reason). */
void quantity_range(enum quantity quantity, double *min, double *max);
/* 0, or -1 with "air_temp_c 148.89 is outside -60..60". */
int quantity_check(enum quantity quantity, double value, struct error *err);
/* Brings what an instrument or a packing scheme puts just past a bound back to
 * it: sun of -20..0 W/m2 (a pyranometer's offset at night) to 0, precipitation
 * of -0.1..0 mm to 0, humidity and cloud of 100..105 % to 100. All else is
 * returned as it came, for quantity_check to judge. */
double quantity_settle(enum quantity quantity, double value);
/* Largest change from one hour to the next that is believed, or 0 for no
 * limit: air temperature 25 K. */
double quantity_max_jump(enum quantity quantity);

#endif
