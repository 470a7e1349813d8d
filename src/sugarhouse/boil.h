/* The boil: how fast, how hot, how much wood, how long. */
#ifndef SUGARHOUSE_BOIL_H
#define SUGARHOUSE_BOIL_H

#include <stdbool.h>

enum pan { PAN_KIND_FLAT, PAN_KIND_RAISED_FLUE, PAN_KIND_DROP_FLUE };

struct evaporator {
    double rate_l_h; /* water driven off; 0: from the pan, below */
    double area_m2;  /* of the pans, seen from above */
    enum pan kind;
    bool preheater, hood;
    double sweet_l; /* what the pans hold at working depth; 0: from area */
};

/* Water driven off, litres an hour: as told, else area times 1.0 gal an hour
 * and square foot for a flat pan, 1.7 for a flue pan (the middle of what
 * makers' size tables give: common practice, no source); with a preheater 8 %
 * more (Parsons, US DOE final report, OSTI 5036199), with a hood that heats
 * the feed by its steam 15 % (USDA Forest Service, heat exchangers on
 * evaporators); the two do not add up beyond 15 %, the most that feed from
 * 40 F to the boil can save. */
double evaporator_rate_l_h(const struct evaporator *evaporator);

/* Litres in the pans at a depth; the working depth is 2 in and the least that
 * does not scorch 0.75 in (common practice, no source). */
double pan_volume_l(double area_m2, double depth_m);
#define PAN_WORKING_DEPTH_M (2 * 0.0254)
#define PAN_LEAST_DEPTH_M (0.75 * 0.0254)

/* The least sap worth lighting a fire for: from dry pans at working depth
 * down to the least depth when it is syrup at the draw, that is area times
 * least depth times the concentration (common practice, no source); less the
 * sugar that is in the pans already (sweet_l at sweet_brix). */
double smallest_boil_l(const struct evaporator *evaporator, double sap_brix,
                       double syrup_brix, double sweet_l, double sweet_brix);

/* What lies in the pans, measured cold. */
struct pan_sweet {
    double l, brix;
};

/* Mean Brix of what lies in the pans while they run: sap comes in at one end,
 * syrup leaves at the other, water goes off evenly on the way, so that the
 * mean is sap_brix ln(R) / (1 - 1/R), R = syrup_brix / sap_brix (plug flow, a
 * balance of ours). */
double pan_sweet_brix(double sap_brix, double syrup_brix);

/* A boil to reckon: sap, and the sweet in the pans at start and end, which
 * gives syrup or keeps it back. */
struct boil_order {
    double sap_l, sap_brix, sap_temp_c;
    double syrup_brix;
    double station_pressure_hpa;
    double syrup_l_per_m3_wood; /* as told, or 0 */
    struct pan_sweet start, end;
};

struct boil {
    double sap_l, syrup_l, water_l; /* in, out, driven off */
    double hours;   /* with half an hour to start and half to finish; 0 where
                       the evaporator's rate is not known */
    double heat_mj; /* into the water */
    double wood_m3; /* stacked */
};

/* Heat: each kilogram of water from the sap's temperature to the boil and
 * into steam. Wood by the heat: `syrup_l_per_m3_wood` as told of sap
 * of 2 Brix (sweeter sap of as much water takes as much wood), else 23.2
 * million BTU a cord of air-dry hardwood (common practice, no source) at 40 %
 * in the pan. A preheater or a hood warms the feed by heat that would be lost:
 * what it adds to the rate (8 % and 15 %, sources above) comes of the same
 * wood, so a cord does that much more; a told yield has it in it. Start and
 * finish of half an hour each: an assumption of ours. */
struct boil boil_reckon(const struct evaporator *evaporator,
                        const struct boil_order *order);
/* The same with as much sweet in the pans at the end as at the start. */
struct boil boil_plan(const struct evaporator *evaporator, double sap_l,
                      double sap_brix, double sap_temp_c, double syrup_brix,
                      double station_pressure_hpa, double syrup_l_per_m3_wood);

#endif
