/* The day's numbers at the pan, from the air's pressure and what is boiled. */
#ifndef SUGARHOUSE_PAN_H
#define SUGARHOUSE_PAN_H

#include <stdbool.h>

#include "sugarhouse/boil.h"
#include "sugarhouse/syrup.h"

enum { PAN_MAX_CUPS = 12 };

/* Pressure over the hours of the boil, at the pan. */
struct pan_air {
    double mean_hpa, min_hpa, max_hpa;
};

struct pan_order {
    struct pan_air air;
    struct evaporator evaporator;
    double syrup_brix;
    double sap_l, sap_brix, sap_temp_c;
    double syrup_l_per_m3_wood; /* 0: not told */
    double smallest_boil_l;     /* the fire is lit for no less; 0: not known */
    const double *cups_c;       /* heats of the cup to tell; borrowed */
    int cup_count;
};

/* A temperature over the hours: at the mean pressure and at its extremes. */
struct pan_heat {
    double c, min_c, max_c;
};

/* What the hydrometer (set at 60 F) reads in finished syrup of the heat. */
struct pan_cup {
    double cup_c, brix, baume;
};

struct pan_numbers {
    struct pan_heat water, draw_off;
    double rise_k; /* of the syrup above water */
    double baume;  /* of the syrup, cold */
    struct pan_cup cups[PAN_MAX_CUPS];
    int cup_count;
    struct boil boil; /* with as much sweet at the end as at the start */
    double ratio;     /* sap for one of syrup; 0 without sugar */
    const struct sap_rule *rule; /* of thumb; borrowed; NULL: no sugar */
    double rule_syrup_l;         /* by it */
    /* Sap that makes syrup of all that lies in the pans and leaves them
     * covered (smallest_boil_l in boil.h); with less, sweet stays in them.
     * 0: the pans are not known. */
    double finish_l;
    struct pan_sweet sweet; /* in the pans while they run; 0: not known */
    double dry_start_l;     /* syrup less, if the pans are dry at the start */
};

/* One cup, for a heat told by itself. */
struct pan_cup pan_cup_at(double syrup_brix, double cup_c);

void pan_numbers_make(const struct pan_order *order, struct pan_numbers *out);

#endif
