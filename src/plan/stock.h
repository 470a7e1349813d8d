/* The sap at hand, and one hour of it: what runs in, is carried, is boiled,
 * spills and spoils. Nothing is made or lost on the way: in = held + boiled +
 * spilled + spoiled. */
#ifndef PLAN_STOCK_H
#define PLAN_STOCK_H

#include "plan/rules.h"

/* Sap in one place. */
struct plan_sap {
    double l;
    double aged_l; /* by the share of its life that is used: 0 fresh … l
                      spoiled, so that mixing and growing older are sums */
    double ice_l;  /* of these, frozen: cannot be carried or drawn */
};

struct plan_stock {
    struct plan_sap buckets[PLAN_MAX_GROUPS];
    struct plan_sap tanks[PLAN_MAX_TANKS];
    bool lit;    /* the fire burns */
    int keeping; /* the way in which its sap keeps, of PLAN_KEEPINGS: its
                    member's number, taken round */
    /* Sums since the stock was begun. */
    double ran_l, boiled_l, overflow_l, spoiled_l;
    double cost;
    int lit_count, trips;
    double night_h, fire_h;
};

/* What is done in a civil day: hours as rows of the plan's time, -1 for not.
 * Each happens only if there is something to do: a bucket round when the
 * buckets hold anything, a fire when the tanks hold the smallest boil. */
struct plan_day_choice {
    short collect_at[2]; /* rows at which a round begins */
    short boil_from;     /* row from which the fire may be lit */
    short unlit[2];      /* rows [from, to) in which it is not lit */
};

/* What was done in an hour. */
struct plan_deed {
    bool collecting, boiling;
    double collected_l, boiled_l;
};

/* One hour. `left` holds what is left to collect of the round under way and
 * is the caller's to keep through a day (start at 0). */
struct plan_deed plan_stock_hour(struct plan_stock *stock,
                                 const struct plan_rules *rules,
                                 const struct plan_costs *costs,
                                 const struct plan_time *time, int row,
                                 const struct plan_day_choice *choice,
                                 const double *inflow_l, bool *round);

/* The rows [from, to) of a civil day for one member, from its start on, with
 * what was done in each hour. deeds may be NULL, else it has a row an hour. */
void plan_stock_rows(struct plan_stock *stock, const struct plan_rules *rules,
                     const struct plan_costs *costs,
                     const struct plan_time *time, int from, int to,
                     const struct plan_day_choice *choice,
                     const struct plan_flow *flow, int member,
                     struct plan_deed *deeds);

double plan_stock_in_buckets_l(const struct plan_stock *stock,
                               const struct plan_rules *rules);
double plan_stock_in_tanks_l(const struct plan_stock *stock,
                             const struct plan_rules *rules);

/* What the sap still held will cost on average: the older the more; sap
 * short of a boil may never be boiled, nor sap that is more than a day's fire
 * takes. */
double plan_stock_held_cost(const struct plan_stock *stock,
                            const struct plan_rules *rules,
                            const struct plan_costs *costs);

#endif
