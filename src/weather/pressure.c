#include "weather/pressure.h"

#include <math.h>

static const double GRAVITY_M_S2 = 9.80665;
static const double DRY_AIR_J_KG_K = 287.05;
static const double SEA_LEVEL_HPA = 1013.25;
static const double SEA_LEVEL_K = 288.15;
static const double ZERO_C_IN_K = 273.15;

double pressure_standard_hpa(double elevation_m)
{
    double exponent = GRAVITY_M_S2 / (DRY_AIR_J_KG_K * STANDARD_LAPSE_K_M);

    return SEA_LEVEL_HPA *
           pow(1.0 - STANDARD_LAPSE_K_M * elevation_m / SEA_LEVEL_K, exponent);
}

double temperature_standard_c(double elevation_m)
{
    return SEA_LEVEL_K - ZERO_C_IN_K - STANDARD_LAPSE_K_M * elevation_m;
}

double pressure_move_hpa(double pressure_hpa, double from_m, double to_m,
                         double air_temp_c_there)
{
    double rise_m = to_m - from_m;
    double layer_k =
        air_temp_c_there + ZERO_C_IN_K + STANDARD_LAPSE_K_M * rise_m / 2.0;

    return pressure_hpa *
           exp(-GRAVITY_M_S2 * rise_m / (DRY_AIR_J_KG_K * layer_k));
}
