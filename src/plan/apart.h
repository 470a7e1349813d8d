/* One person, one thing at a time: the told hours of rounds and fires kept
 * apart. Inside plan/ only. */
#ifndef PLAN_APART_H
#define PLAN_APART_H

#include "plan/plan.h"

/* The row of the plan's time in which the moment lies. */
int plan_row_of(const struct plan *plan, utc_s at);

/* For one pair of hands: no round is told while a fire burns or is finished,
 * and no fire during a round. */
void plan_keep_apart(struct plan *plan);

#endif
