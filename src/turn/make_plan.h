/* From the configuration, the outlooks and the log to a plan in the bulletin.
 */
#ifndef TURN_MAKE_PLAN_H
#define TURN_MAKE_PLAN_H

#include "config/config.h"
#include "plan/plan.h"
#include "publish/bulletin.h"
#include "weather/series.h"

/* Fills the rules from the configuration; false where no sugarhouse is
 * configured or it tells no storage. What is not told: carrying 570 L/h (150
 * gal/h), one pair of hands, attended 06:00 to 22:00, a smallest boil of two
 * hours' sap (assumptions of ours). */
bool plan_rules_from_config(const struct config *config,
                            struct plan_rules *rules);
/* The stream of the rules that a bush's sap runs into: a group of buckets, or
 * group_count for tubing. */
int plan_stream_of(const struct config *config, int bush);

/* Plans from bulletin->made on and adds actions and notes to the bulletin.
 * `weather` is the merged series of the first bush. Without a log, buckets are
 * taken as emptied at 17:00 yesterday and the tanks as empty. */
void make_plan(const struct config *config, struct bulletin *bulletin,
               const struct series *weather);

#endif
