/* The plan in the bulletin: its actions with a sentence that says why and one
 * that says what would change it, and what there is to know if there is
 * nothing to do. */
#ifndef PUBLISH_PLAN_ACTIONS_H
#define PUBLISH_PLAN_ACTIONS_H

#include "plan/plan.h"
#include "publish/bulletin.h"

/* What is told beside the plan. */
struct plan_told {
    const struct plan_rules *rules; /* that it was made by; borrowed */
    double syrup_l_per_sap_l;       /* 0: not told */
    double syrup_brix;              /* to draw off at; 0: not told */
    bool logged;    /* what is in buckets and tanks comes from the log */
    bool has_sugar; /* the syrup is reckoned by sugar of the log, else by the
                       usual */
    utc_s sugar_at; /* when that was measured */
};

/* Adds the plan's actions and levels, and notes on waiting, on loss averted
 * and on sap that must be given up. Draw-off temperatures are for the pressure
 * that the bulletin's pan knows in the boil's hours. */
void bulletin_add_plan(struct bulletin *bulletin, const struct plan *plan,
                       const struct plan_told *told);

#endif
