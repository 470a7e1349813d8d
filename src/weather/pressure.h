/* Air pressure and height. */
#ifndef WEATHER_PRESSURE_H
#define WEATHER_PRESSURE_H

/* Lapse rate of the standard atmosphere (ISO 2533), K/m. */
#define STANDARD_LAPSE_K_M 0.0065

/* Pressure of the standard atmosphere (ISO 2533:1975; 1013.25 hPa and 15 C at
 * sea level) at a height in metres. */
double pressure_standard_hpa(double elevation_m);
/* Its temperature there, C. */
double temperature_standard_c(double elevation_m);

/* Brings a pressure from one height to another with the hypsometric equation
 * p2 = p1 exp(-g dh / (R T)), g 9.80665 m/s2, R 287.05 J/(kg K) of dry air,
 * T the mean temperature of the layer between, from the air temperature at
 * the height it is brought to and the standard lapse rate. Humidity is left
 * out (at 0 C about 0.1 hPa in 450 m). Heights in m, from 0 for a pressure
 * reduced to sea level. */
double pressure_move_hpa(double pressure_hpa, double from_m, double to_m,
                         double air_temp_c_there);

#endif
