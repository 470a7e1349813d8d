/* The sugarhouse as configured, as the plan's rules. */
#ifndef TURN_PLAN_RULES_H
#define TURN_PLAN_RULES_H

#include "config/config.h"
#include "plan/rules.h"
#include "sugarhouse/boil.h"

/* Fills the rules from the configuration; false where no sugarhouse is
 * configured, or it tells no storage or nothing of its fire. What is not told:
 * buckets of 15 L, carrying 570 L/h (150 gal/h), one pair of hands, attended
 * 06:00 to 22:00, a smallest boil as below (assumptions of ours). */
bool plan_rules_from_config(const struct config *config,
                            struct plan_rules *rules);
/* The stream of the rules that a bush's sap runs into: a group of buckets, or
 * group_count for tubing. */
int plan_stream_of(const struct config *config, int bush);
/* The pan as the formulas want it. */
struct evaporator plan_evaporator(const struct config_sugarhouse *house);
/* The least sap that the plan lights the fire for: as told, else two hours'
 * sap, at most half of what the tanks hold; 0 where neither that nor the
 * evaporator is told. */
double plan_smallest_boil_l(const struct config_sugarhouse *house);
/* Syrup from a litre of sap of this sugar, or of the usual 2 Brix (0). */
double plan_syrup_l_per_sap_l(const struct config_sugarhouse *house,
                              double sap_brix);

#endif
