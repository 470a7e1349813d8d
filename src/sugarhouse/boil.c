#include "sugarhouse/boil.h"

#include <math.h>

#include "base/units.h"
#include "sugarhouse/syrup.h"
#include "sugarhouse/water.h"

static const double flat_l_h_m2 =
    1.0 * L_PER_US_GALLON / (M_PER_FOOT * M_PER_FOOT);
static const double flue_share = 1.7;
static const double preheater_gain = 0.08, hood_gain = 0.15;
static const double start_h = 0.5, finish_h = 0.5;
static const double usual_sap_brix = 2; /* a told yield of wood is of such */
static const double water_kj_kg_k = 4.19;
/* 23.2e6 BTU (1055.056 J each) a cord at 40 %. */
static const double wood_mj_m3 = 23.2e6 * 1055.056e-6 / M3_PER_CORD * 0.40;

/* What feed warmed by lost heat gives more, as a share. */
static double feed_gain(const struct evaporator *evaporator)
{
    if (evaporator->hood)
        return hood_gain;
    return evaporator->preheater ? preheater_gain : 0;
}

double evaporator_rate_l_h(const struct evaporator *evaporator)
{
    double rate = evaporator->area_m2 * flat_l_h_m2;

    if (evaporator->rate_l_h > 0)
        return evaporator->rate_l_h;
    if (evaporator->kind != PAN_KIND_FLAT)
        rate *= flue_share;
    return rate * (1 + feed_gain(evaporator));
}

double pan_volume_l(double area_m2, double depth_m)
{
    return area_m2 * depth_m * 1000;
}

double smallest_boil_l(const struct evaporator *evaporator, double sap_brix,
                       double syrup_brix, double sweet_l, double sweet_brix)
{
    double left = pan_volume_l(evaporator->area_m2, PAN_LEAST_DEPTH_M);
    double need = sap_for_syrup_l(left, sap_brix, syrup_brix);
    double have = 0;

    if (sweet_l > 0)
        have =
            sap_for_syrup_l(syrup_from_sap_l(sweet_l, sweet_brix, syrup_brix),
                            sap_brix, syrup_brix);
    return need > have ? need - have : 0;
}

double pan_sweet_brix(double sap_brix, double syrup_brix)
{
    double ratio = sap_brix > 0 ? syrup_brix / sap_brix : 0;

    if (ratio <= 1)
        return sap_brix;
    return sap_brix * log(ratio) / (1 - 1 / ratio);
}

static double sweet_kg(const struct pan_sweet *sweet)
{
    return sweet->l * sugar_density_kg_m3(sweet->brix, 20) / 1000;
}

static double sweet_sugar_kg(const struct pan_sweet *sweet)
{
    return sweet_kg(sweet) * sweet->brix / 100;
}

/* Syrup and water out of the balances of sugar and of mass. */
static void balance(const struct boil_order *order, double sap_kg,
                    struct boil *boil)
{
    double sugar_kg = sap_kg * order->sap_brix / 100 +
                      sweet_sugar_kg(&order->start) -
                      sweet_sugar_kg(&order->end);
    double syrup_kg = sugar_kg > 0 ? sugar_kg / (order->syrup_brix / 100) : 0;
    double water_kg =
        sap_kg + sweet_kg(&order->start) - sweet_kg(&order->end) - syrup_kg;

    boil->syrup_l =
        syrup_kg / sugar_density_kg_m3(order->syrup_brix, 20) * 1000;
    boil->water_l = water_kg > 0 ? water_kg / water_density_kg_m3(4) * 1000 : 0;
}

static double heat_mj(const struct boil_order *order, double sap_kg,
                      double water_kg)
{
    double boiling_c = water_boiling_c(order->station_pressure_hpa);

    return (sap_kg * water_kj_kg_k * (boiling_c - order->sap_temp_c) +
            water_kg * water_latent_heat_kj_kg(boiling_c)) /
           1000;
}

/* What the told syrup of a cubic metre of wood took, from usual sap. */
static double told_mj_m3(const struct boil_order *order)
{
    struct boil_order usual = {.sap_brix = usual_sap_brix,
                               .syrup_brix = order->syrup_brix};
    struct boil litre = {0};
    double sap_kg;

    usual.sap_l = sap_for_syrup_l(1, usual_sap_brix, order->syrup_brix);
    sap_kg = usual.sap_l * sugar_density_kg_m3(usual_sap_brix, 4) / 1000;
    balance(&usual, sap_kg, &litre);
    return order->syrup_l_per_m3_wood *
           heat_mj(order, sap_kg,
                   litre.water_l * water_density_kg_m3(4) / 1000);
}

/* The fire gives less of the heat where the feed comes warm. */
static double guessed_mj_m3(const struct evaporator *evaporator)
{
    return wood_mj_m3 * (1 + feed_gain(evaporator));
}

struct boil boil_reckon(const struct evaporator *evaporator,
                        const struct boil_order *order)
{
    struct boil boil = {.sap_l = order->sap_l};
    double sap_kg =
        order->sap_l * sugar_density_kg_m3(order->sap_brix, 4) / 1000;
    double rate_l_h = evaporator_rate_l_h(evaporator);
    double water_kg;

    balance(order, sap_kg, &boil);
    water_kg = boil.water_l * water_density_kg_m3(4) / 1000;
    if (rate_l_h > 0)
        boil.hours = boil.water_l / rate_l_h + start_h + finish_h;
    boil.heat_mj = heat_mj(order, sap_kg, water_kg);
    boil.wood_m3 = boil.heat_mj / (order->syrup_l_per_m3_wood > 0
                                       ? told_mj_m3(order)
                                       : guessed_mj_m3(evaporator));
    return boil;
}

struct boil boil_plan(const struct evaporator *evaporator, double sap_l,
                      double sap_brix, double sap_temp_c, double syrup_brix,
                      double station_pressure_hpa, double syrup_l_per_m3_wood)
{
    struct boil_order order = {.sap_l = sap_l,
                               .sap_brix = sap_brix,
                               .sap_temp_c = sap_temp_c,
                               .syrup_brix = syrup_brix,
                               .station_pressure_hpa = station_pressure_hpa,
                               .syrup_l_per_m3_wood = syrup_l_per_m3_wood};

    return boil_reckon(evaporator, &order);
}
