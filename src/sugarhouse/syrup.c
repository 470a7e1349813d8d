#include "sugarhouse/syrup.h"

#include <math.h>
#include <stddef.h>

#include "sugarhouse/water.h"

/* ICUMSA SPS-4 (1994): rows by power of the temperature term, columns by
 * power of the mass fraction. */
static const double density_terms[5][6] = {
    {385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890},
    {-46.2720, -7.1720, 1.1597, 5.1126, 17.5254, 0},
    {59.7712, 7.2491, 12.3630, -35.4791, 0, 0},
    {-47.2207, -21.6977, 27.6301, 0, 0, 0},
    {18.3184, 12.3081, 0, 0, 0, 0},
};

static const double boiling_scale = 1.015;
static const double one_atmosphere_hpa = 1013.25;
static const double kelvin_at_0_c = 273.15;
/* Where the trade measures: sap cold from the tank, syrup at room warmth. */
static const double sap_temp_c = 4, syrup_temp_c = 20;

double sugar_density_kg_m3(double brix, double temp_c)
{
    double x = brix / 100, theta = (temp_c - 20) / 100;
    double sum = 0, temp_power = 1;

    for (int k = 0; k < 5; k++) {
        double share_power = x;

        for (int i = 0; i < 6; i++) {
            sum += density_terms[k][i] * temp_power * share_power;
            share_power *= x;
        }
        temp_power *= theta;
    }
    return water_density_kg_m3(temp_c) + sum;
}

static double rise_at_one_atmosphere_k(double brix)
{
    double x = brix / 100;

    return boiling_scale * (1.78 * x + 6.22 * x * x);
}

double sugar_boiling_rise_k(double brix, double station_pressure_hpa)
{
    double here_c = water_boiling_c(station_pressure_hpa);
    double there_c = water_boiling_c(one_atmosphere_hpa);
    double ratio = (here_c + kelvin_at_0_c) / (there_c + kelvin_at_0_c);

    return rise_at_one_atmosphere_k(brix) * ratio * ratio *
           water_latent_heat_kj_kg(there_c) / water_latent_heat_kj_kg(here_c);
}

double syrup_draw_off_c(double brix, double station_pressure_hpa)
{
    return water_boiling_c(station_pressure_hpa) +
           sugar_boiling_rise_k(brix, station_pressure_hpa);
}

/* The Brix between 0 and 90 of that density. */
static double brix_of_density(double density_kg_m3, double temp_c)
{
    double low = 0, high = 90;

    for (int i = 0; i < 60; i++) {
        double middle = (low + high) / 2;

        if (sugar_density_kg_m3(middle, temp_c) < density_kg_m3)
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

static double glass(double temp_c, double set_temp_c)
{
    return 1 + HYDROMETER_GLASS_PER_K * (temp_c - set_temp_c);
}

/* A floating hydrometer displaces its own mass: warm glass is larger, so the
 * liquid seems denser by as much. */
double hydrometer_reading_brix(double brix, double temp_c, double set_temp_c)
{
    double seeming =
        sugar_density_kg_m3(brix, temp_c) * glass(temp_c, set_temp_c);

    return brix_of_density(seeming, set_temp_c);
}

double baume_of_brix(double brix)
{
    return 145 -
           145 * sugar_density_kg_m3(0, 20) / sugar_density_kg_m3(brix, 20);
}

static double sugar_kg_l(double brix, double temp_c)
{
    return brix / 100 * sugar_density_kg_m3(brix, temp_c) / 1000;
}

double syrup_from_sap_l(double sap_l, double sap_brix, double syrup_brix)
{
    return sap_l * sugar_kg_l(sap_brix, sap_temp_c) /
           sugar_kg_l(syrup_brix, syrup_temp_c);
}

double sap_for_syrup_l(double syrup_l, double sap_brix, double syrup_brix)
{
    return syrup_l * sugar_kg_l(syrup_brix, syrup_temp_c) /
           sugar_kg_l(sap_brix, sap_temp_c);
}

const struct sap_rule *sap_rule_for(double syrup_brix)
{
    static const struct sap_rule rules[] = {
        {65.5, 86, 0}, {66.0, 87.1, 0.32}, {66.9, 88.2, 0}};
    const struct sap_rule *nearest = &rules[0];

    for (size_t i = 1; i < sizeof rules / sizeof *rules; i++)
        if (fabs(rules[i].syrup_brix - syrup_brix) <
            fabs(nearest->syrup_brix - syrup_brix))
            nearest = &rules[i];
    return nearest;
}

double sap_rule_ratio(const struct sap_rule *rule, double sap_brix)
{
    return rule->over / sap_brix - rule->less;
}
