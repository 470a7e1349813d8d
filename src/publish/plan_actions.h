/* The plan in the bulletin: its actions with a sentence that says why and one
 * that says what would change it, and what there is to know if there is
 * nothing to do. */
#ifndef PUBLISH_PLAN_ACTIONS_H
#define PUBLISH_PLAN_ACTIONS_H

#include "plan/plan.h"
#include "publish/bulletin.h"

/* Adds the plan's actions, and notes on waiting and on sap that must be given
 * up. The syrup to expect is told where syrup_l_per_sap_l is above 0. */
void bulletin_add_plan(struct bulletin *bulletin, const struct plan *plan,
                       double smallest_boil_l, double syrup_l_per_sap_l);

#endif
