#include "sugarhouse/pan.h"

#include <string.h>

#include "sugarhouse/syrup.h"
#include "sugarhouse/water.h"

struct pan_cup pan_cup_at(double syrup_brix, double cup_c)
{
    double brix = hydrometer_reading_brix(syrup_brix, cup_c, HYDROMETER_SET_C);

    return (struct pan_cup){cup_c, brix, baume_of_brix(brix)};
}

static void fill_heat(const struct pan_order *order, struct pan_numbers *out)
{
    const struct pan_air *air = &order->air;

    out->water = (struct pan_heat){water_boiling_c(air->mean_hpa),
                                   water_boiling_c(air->min_hpa),
                                   water_boiling_c(air->max_hpa)};
    out->draw_off =
        (struct pan_heat){syrup_draw_off_c(order->syrup_brix, air->mean_hpa),
                          syrup_draw_off_c(order->syrup_brix, air->min_hpa),
                          syrup_draw_off_c(order->syrup_brix, air->max_hpa)};
    out->rise_k = out->draw_off.c - out->water.c;
    out->baume = baume_of_brix(order->syrup_brix);
}

/* What the pans hold at work: as told, else their area at working depth. */
static double sweet_l(const struct evaporator *evaporator)
{
    return evaporator->sweet_l > 0
               ? evaporator->sweet_l
               : pan_volume_l(evaporator->area_m2, PAN_WORKING_DEPTH_M);
}

static void fill_sweet(const struct pan_order *order,
                       const struct boil_order *even, struct pan_numbers *out)
{
    struct boil_order dry = *even;

    if (out->sweet.l <= 0)
        return;
    dry.start.l = 0;
    out->dry_start_l =
        out->boil.syrup_l - boil_reckon(&order->evaporator, &dry).syrup_l;
}

static void fill_boil(const struct pan_order *order, struct pan_numbers *out)
{
    struct boil_order even = {.sap_l = order->sap_l,
                              .sap_brix = order->sap_brix,
                              .sap_temp_c = order->sap_temp_c,
                              .syrup_brix = order->syrup_brix,
                              .station_pressure_hpa = order->air.mean_hpa,
                              .syrup_l_per_m3_wood =
                                  order->syrup_l_per_m3_wood};

    out->sweet =
        (struct pan_sweet){sweet_l(&order->evaporator),
                           pan_sweet_brix(order->sap_brix, order->syrup_brix)};
    even.start = even.end = out->sweet;
    out->boil = boil_reckon(&order->evaporator, &even);
    fill_sweet(order, &even, out);
    if (order->sap_brix <= 0)
        return;
    out->ratio = sap_for_syrup_l(1, order->sap_brix, order->syrup_brix);
    out->rule = sap_rule_for(order->syrup_brix);
    out->rule_syrup_l =
        order->sap_l / sap_rule_ratio(out->rule, order->sap_brix);
}

static void fill_finish(const struct pan_order *order, struct pan_numbers *out)
{
    if (order->evaporator.area_m2 > 0 && order->sap_brix > 0)
        out->finish_l =
            smallest_boil_l(&order->evaporator, order->sap_brix,
                            order->syrup_brix, out->sweet.l, out->sweet.brix);
}

void pan_numbers_make(const struct pan_order *order, struct pan_numbers *out)
{
    memset(out, 0, sizeof *out);
    fill_heat(order, out);
    for (int i = 0; i < order->cup_count && i < PAN_MAX_CUPS; i++)
        out->cups[out->cup_count++] =
            pan_cup_at(order->syrup_brix, order->cups_c[i]);
    fill_boil(order, out);
    fill_finish(order, out);
}
