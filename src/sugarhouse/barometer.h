/* What a barometer says, brought to the pressure at the pan.
 *
 * Three figures go by the name of pressure. Station pressure is the air's own
 * where it is read, and alone decides at what heat water boils. Sea-level
 * pressure is what forecasts and most home barometers tell: reduced by height
 * and by the temperature of the air. The altimeter setting (QNH) is what
 * airports tell: reduced by height alone, with the standard atmosphere. */
#ifndef SUGARHOUSE_BAROMETER_H
#define SUGARHOUSE_BAROMETER_H

#include <stdbool.h>

enum barometer {
    BAROMETER_STATION,
    BAROMETER_SEA_LEVEL,
    BAROMETER_ALTIMETER,
    BAROMETER_COUNT
};

/* Station pressure at height_m from what is told. Sea level: the hypsometric
 * equation (weather/pressure.h) with the air's temperature at the height,
 * best the mean of now and twelve hours before, as stations reduce theirs
 * (WMO-No. 8, Guide to Instruments and Methods of Observation, chapter on
 * pressure; from memory). Altimeter: see water.h. The temperature counts for
 * the sea-level kind alone. */
double barometer_station_hpa(enum barometer kind, double told_hpa,
                             double height_m, double air_temp_c);

/* Farther from the standard atmosphere of the height than weather goes: 45
 * hPa (records of sea-level pressure at middle latitudes lie some 50 hPa
 * around 1013; from memory). */
bool barometer_unlikely(double station_hpa, double height_m);

/* True for a figure that is unlikely as a station pressure at the height, or
 * nearly (25 hPa), and likelier one reduced to sea level. */
bool barometer_looks_reduced(double told_hpa, double height_m);

#endif
