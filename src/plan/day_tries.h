/* Every choice of a day tried from where the day before left the members.
 * Inside plan/ only.
 *
 * Choices that do the same up to an hour share the hours up to it, and a
 * branch is left as soon as it has cost more than is of use: nothing that is
 * done later makes a cost less. */
#ifndef PLAN_DAY_TRIES_H
#define PLAN_DAY_TRIES_H

#include "plan/team.h"

struct day_tries {
    const struct teams *teams;
    /* The caller's: beyond which expected cost a try is of no use, and what
     * to do with one that is done. Its cost is that of a course up to the
     * day's end, with what is held there, and `at_end` the members there. */
    double (*most_cost)(const void *self);
    void (*take)(void *self, int choice, double cost,
                 const struct team *at_end);
    void *self;
    /* Of its own. */
    struct team *levels; /* [level * teams->count + team] */
    double *held_cost;   /* a value a member; owned */
    void *memory;        /* owned */
    const struct plan_day_choice *choices;
    int day;
};

/* Fills what is its own, after teams is set. */
void day_tries_begin(struct day_tries *tries);
void day_tries_end(struct day_tries *tries);
/* Each of the choices (at least 1, at most PLAN_MAX_CHOICES, all different)
 * for members as they stand at the day's start. */
void day_tries_run(struct day_tries *tries, int day,
                   const struct team *at_start,
                   const struct plan_day_choice *choices, int count);

#endif
