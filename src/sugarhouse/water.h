/* Boiling water under the day's barometer.
 *
 * Saturation line of water: IAPWS-IF97 region 4 (IAPWS R7-97(2012), section
 * 8), backward equation 31 and basic equation 30. Valid from 6.11 hPa
 * (273.15 K) to the critical point; outside, the nearest end is used. */
#ifndef SUGARHOUSE_WATER_H
#define SUGARHOUSE_WATER_H

/* Temperature at which water boils under a station pressure. */
double water_boiling_c(double station_pressure_hpa);
/* Saturation pressure of water at a temperature. */
double water_saturation_hpa(double temp_c);

/* Latent heat of vaporisation, kJ/kg, from the slope of the saturation line
 * is not taken; a fit of the steam tables from 60 to 120 C, 2257.0 kJ/kg at
 * 100 C and -2.64 kJ/kg per kelvin (IAPWS-95 values from memory). */
double water_latent_heat_kj_kg(double temp_c);

/* Density of water, kg/m3 (Kell 1975, J. Chem. Eng. Data 20:97-105), 0 to
 * 100 C. */
double water_density_kg_m3(double temp_c);

/* Station pressure from an altimeter setting ("QNH", what airports tell) at a
 * height, Smithsonian Meteorological Tables (1951), as the US weather service
 * uses it: p = (A^n - p0^n a H / T0)^(1/n) + 0.3 hPa, n = 0.190284. */
double pressure_station_from_altimeter_hpa(double altimeter_hpa,
                                           double height_m);

#endif
