/* From the configuration, the outlooks and the log to a plan in the bulletin.
 */
#ifndef TURN_MAKE_PLAN_H
#define TURN_MAKE_PLAN_H

#include "config/config.h"
#include "logbook/logbook.h"
#include "plan/plan.h"
#include "publish/bulletin.h"
#include "turn/plan_rules.h"

/* Plans from bulletin->made on and adds actions, levels and notes to the
 * bulletin; its days, bushes and season must be in place. Nothing is planned
 * without a sugarhouse (plan_rules.h), and only for the bushes whose taps are
 * in, or were until a week ago: sap may be held yet. What is in buckets and
 * tanks comes from the log (log_stock.h); without an entry, buckets are taken
 * as emptied at 17:00 yesterday and the tanks as empty, and a note says so.
 * Weather: the air of the first bush, half-clouded sun. */
void make_plan(const struct config *config, const struct log_view *log,
               struct bulletin *bulletin);

#endif
