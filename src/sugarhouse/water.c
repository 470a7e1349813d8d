#include "sugarhouse/water.h"

#include <math.h>

/* IAPWS R7-97(2012), table 34. */
static const double n[] = {0,
                           0.11670521452767e4,
                           -0.72421316703206e6,
                           -0.17073846940092e2,
                           0.12020824702470e5,
                           -0.32325550322333e7,
                           0.14915108613530e2,
                           -0.48232657361591e4,
                           0.40511340542057e6,
                           -0.23855557567849,
                           0.65017534844798e3};

static const double kelvin_at_0_c = 273.15;
static const double hpa_per_mpa = 1e4;
static const double lowest_k = 273.15, highest_k = 647.096;

static double clamp(double value, double low, double high)
{
    return value < low ? low : value > high ? high : value;
}

double water_saturation_hpa(double temp_c)
{
    double temp_k = clamp(temp_c + kelvin_at_0_c, lowest_k, highest_k);
    double v = temp_k + n[9] / (temp_k - n[10]);
    double a = v * v + n[1] * v + n[2];
    double b = n[3] * v * v + n[4] * v + n[5];
    double c = n[6] * v * v + n[7] * v + n[8];

    return pow(2 * c / (-b + sqrt(b * b - 4 * a * c)), 4) * hpa_per_mpa;
}

double water_boiling_c(double station_pressure_hpa)
{
    double low = water_saturation_hpa(lowest_k - kelvin_at_0_c);
    double high = water_saturation_hpa(highest_k - kelvin_at_0_c);
    double b = pow(clamp(station_pressure_hpa, low, high) / hpa_per_mpa, 0.25);
    double e = b * b + n[3] * b + n[6];
    double f = n[1] * b * b + n[4] * b + n[7];
    double g = n[2] * b * b + n[5] * b + n[8];
    double d = 2 * g / (-f - sqrt(f * f - 4 * e * g));
    double sum = n[10] + d;

    return (sum - sqrt(sum * sum - 4 * (n[9] + n[10] * d))) / 2 - kelvin_at_0_c;
}

double water_latent_heat_kj_kg(double temp_c)
{
    return 2257.0 - 2.64 * (temp_c - 100);
}

double water_density_kg_m3(double temp_c)
{
    double t = temp_c;

    return (999.83952 +
            t * (16.945176 +
                 t * (-7.9870401e-3 +
                      t * (-46.170461e-6 +
                           t * (105.56302e-9 + t * -280.54253e-12))))) /
           (1 + 16.879850e-3 * t);
}

/* Constants of the 1951 tables. */
static const double altimeter_n = 0.190284;
static const double sea_level_hpa = 1013.25;
static const double lapse_k_m = 0.0065, standard_k = 288.0;

static double altimeter_drop(double height_m)
{
    return pow(sea_level_hpa, altimeter_n) * lapse_k_m * height_m / standard_k;
}

double pressure_station_from_altimeter_hpa(double altimeter_hpa,
                                           double height_m)
{
    return pow(pow(altimeter_hpa, altimeter_n) - altimeter_drop(height_m),
               1 / altimeter_n) +
           0.3;
}
