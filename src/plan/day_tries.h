/* Every choice of a day tried from where the day before left the members.
 * Inside plan/ only.
 *
 * Choices that do the same up to an hour share the hours up to it, and a
 * branch is left as soon as it has cost more than is of use: nothing that is
 * done later makes a cost less. */
#ifndef PLAN_DAY_TRIES_H
#define PLAN_DAY_TRIES_H

#include "plan/stock.h"

struct day_tries {
    const struct plan_rules *rules;
    const struct plan_costs *costs;
    const struct plan_time *time;
    const struct plan_flow *flow;
    /* The caller's: beyond which expected cost a try is of no use, and what
     * to do with one that is done. Its cost is that of a course up to the
     * day's end, with what is held there; `stocks` has one a member. */
    double (*most_cost)(const void *self);
    void (*take)(void *self, int choice, double cost,
                 const struct plan_stock *stocks);
    void *self;
    /* Of its own. */
    struct plan_stock *stocks; /* [level * members + member]; owned */
    bool *rounds;              /* likewise */
    const struct plan_day_choice *choices;
    int day;
};

/* Fills what is its own, after rules and flow are set. */
void day_tries_begin(struct day_tries *tries);
void day_tries_end(struct day_tries *tries);
/* Each of the choices (at least 1, at most PLAN_MAX_CHOICES, all different)
 * from these stocks, one a member. */
void day_tries_run(struct day_tries *tries, int day,
                   const struct plan_stock *stocks,
                   const struct plan_day_choice *choices, int count);

#endif
