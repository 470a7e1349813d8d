/* The plan: when to collect, when to boil, or that it can wait, and why.
 *
 * Chosen by the search over the members (search.h); then told as actions that
 * most members carry out, each with the loss that leaving it out would bring.
 */
#ifndef PLAN_PLAN_H
#define PLAN_PLAN_H

#include "plan/stock.h"

enum plan_kind { PLAN_COLLECT, PLAN_BOIL };

/* Why it is to be done, from what happens if this one action is left out and
 * all else stays. */
enum plan_reason {
    PLAN_REASON_OVERFLOW,  /* sap would run over */
    PLAN_REASON_SPOILAGE,  /* sap would spoil */
    PLAN_REASON_FREEZE_UP, /* the tank would freeze hard */
    PLAN_REASON_FULL_FIRE  /* enough is there for a fire, and room is made */
};

struct plan_action {
    enum plan_kind kind;
    int day;          /* of the plan's time */
    utc_s start, end; /* median over the members that do it */
    double share;     /* of the members that do it */
    double sap_l_p10, sap_l_p50, sap_l_p90;
    enum plan_reason reason;
    double loss_l;      /* mean loss if left out: run over and spoiled */
    double loss_chance; /* share of members that would lose over 5 % of it */
    utc_s loss_at;      /* median hour at which that loss begins, or 0 */
    /* Of a boil: the day at whose end there was enough for a fire already,
     * and it waited; -1 if it does not. */
    int waits_from;
    bool goes_on; /* one day does not take it all: the next day's fire does */
    bool is_last; /* neither boil nor a run to boil follows in sight */
};

struct plan {
    struct plan_time time;
    struct plan_day_choice course[PLAN_MAX_DAYS];
    struct plan_action *actions; /* owned, by start */
    int action_count;
    /* What is to be expected under the plan, means over the members. */
    double ran_l, boiled_l, overflow_l, spoiled_l, held_l;
    double overflow_chance; /* share of members that lose over 2 % */
    /* Median sap in buckets and in tanks at each hour's end. */
    double *buckets_l, *tanks_l; /* owned, time.hour_count each */
    /* Without any action: the first median hour by which a tenth of a
     * smallest boil is lost, and by which way; 0 if never in the time
     * planned. */
    utc_s idle_loss_at;
    bool idle_loss_is_overflow;
};

/* Never NULL; freed with plan_free. flow is read from the first hour of
 * `time` on and has at least its hours. */
struct plan *plan_make(const struct plan_rules *rules,
                       const struct plan_costs *costs,
                       const struct plan_time *time,
                       const struct plan_flow *flow,
                       const struct plan_stock *stock);
void plan_free(struct plan *plan);

/* The boil of the action's day that begins once it is done, or NULL. */
const struct plan_action *plan_boil_after(const struct plan *plan,
                                          const struct plan_action *action);

#endif
