#include "tree/film.h"

#include <math.h>

/* Dry air at 0 C and 1013 hPa (Incropera and DeWitt, "Fundamentals of Heat
 * and Mass Transfer", table A.4, between its rows for 250 and 300 K). */
static const double AIR_VISCOSITY_M2_S = 1.35e-5;
static const double AIR_CONDUCTIVITY_W_M_K = 0.0242;
static const double AIR_PRANDTL = 0.714;
static const double STILL_AIR_M_S = 0.1;
static const double BARK_EMISSIVITY = 0.95;
static const double STEFAN_BOLTZMANN_W_M2_K4 = 5.670374419e-8;
static const double FREEZING_K = 273.15;

static double nusselt(double reynolds)
{
    double prandtl_part =
        cbrt(AIR_PRANDTL) / pow(1 + pow(0.4 / AIR_PRANDTL, 2.0 / 3.0), 0.25);
    double turbulent = pow(1 + pow(reynolds / 282000, 5.0 / 8.0), 0.8);

    return 0.3 + 0.62 * sqrt(reynolds) * prandtl_part * turbulent;
}

double film_w_m2_k(double diameter_m, double wind_m_s)
{
    double reynolds =
        fmax(wind_m_s, STILL_AIR_M_S) * diameter_m / AIR_VISCOSITY_M2_S;
    double radiation =
        4 * BARK_EMISSIVITY * STEFAN_BOLTZMANN_W_M2_K4 * pow(FREEZING_K, 3);

    return nusselt(reynolds) * AIR_CONDUCTIVITY_W_M_K / diameter_m + radiation;
}
