/* The search for the plan: day after day, the choices that cost least over
 * the members.
 *
 * A beam search, which is dynamic programming with the likely states alone:
 * a node is the stock of every member after a day; each is continued by every
 * choice of the next day, and the cheapest (cost so far and cost of what is
 * still held) go on, none of them twice. Deterministic: ties go to the earlier
 * choice. */
#ifndef PLAN_SEARCH_H
#define PLAN_SEARCH_H

#include "plan/team.h"

enum {
    PLAN_MAX_BEAM = 64,
    PLAN_KNOWN_BEAM = 200,  /* for one member, the yardstick of trials */
    PLAN_BEAM_STOCKS = 540, /* nodes times members, so that time is bounded */
    PLAN_LEAST_BEAM = 6,
    PLAN_SEARCH_MEMBERS = 15, /* looked at; seasons planned with more come out
                                 no better (docs/plan.md) */
    PLAN_MAX_STARTS = 16,     /* of rounds in a day, and of fires */
    PLAN_MAX_CHOICES = 320
};

/* The sap that runs in a day, means over the members. */
struct plan_day_run {
    double buckets_l, tanks_l;
};
struct plan_day_run plan_day_run(const struct teams *teams, int day);

/* The choices of a day, the first of them to do nothing. Rounds begin early,
 * at noon or in the evening; the fire is lit early, at noon, in the evening
 * or as late as lets the sap at hand be boiled; today also at every other
 * hour, for that is done next. Returns their number. */
int plan_choices(const struct teams *teams, int day,
                 const struct plan_day_run *run, const struct team *at_start,
                 struct plan_day_choice out[PLAN_MAX_CHOICES]);

/* The best choice for each day of the time, from one stock that all members
 * start with. Returns the expected cost, over the members looked at. */
double plan_search(const struct plan_rules *rules,
                   const struct plan_costs *costs, const struct plan_time *time,
                   const struct plan_flow *flow, const struct plan_stock *stock,
                   struct plan_day_choice out[PLAN_MAX_DAYS]);

/* Expected cost of a given course of choices. */
double plan_course_cost(const struct plan_rules *rules,
                        const struct plan_costs *costs,
                        const struct plan_time *time,
                        const struct plan_flow *flow,
                        const struct plan_stock *stock,
                        const struct plan_day_choice choices[PLAN_MAX_DAYS]);

#endif
