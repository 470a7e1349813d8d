#include "plan/apart.h"

int plan_row_of(const struct plan *plan, utc_s at)
{
    return (int)((at - plan->time.hours[0].start) / SECONDS_PER_HOUR);
}

/* Members differ in when the fire is out: who is alone is told one thing at a
 * time, the round within the fire's hours and the fire around it. */
static void keep_apart(struct plan_action *boil, struct plan_action *round)
{
    if (boil->kind != PLAN_BOIL || round->kind != PLAN_COLLECT ||
        round->start >= boil->end || boil->start >= round->end)
        return;
    if (round->start > boil->start)
        boil->end = round->start;
    else if (round->end < boil->end)
        boil->start = round->end;
    else if (round->start < boil->start)
        round->end = boil->start;
}

static bool is_taken(const struct plan *plan, utc_s from, utc_s to)
{
    for (int i = 0; i < plan->action_count; i++)
        if (plan->actions[i].start < to && plan->actions[i].end > from)
            return true;
    return false;
}

/* A round that begins in the half hour in which the fire is finished begins
 * after it, and goes on for longer where there is time. */
static void wait_for_fire(struct plan *plan, const struct plan_action *boil,
                          struct plan_action *round)
{
    const utc_s half = SECONDS_PER_HOUR / 2;

    if (boil->kind != PLAN_BOIL || round->kind != PLAN_COLLECT ||
        round->start + half != boil->end || round->start <= boil->start)
        return;
    round->start = boil->end;
    if (plan->time.hours[plan_row_of(plan, round->end)].attended &&
        !is_taken(plan, round->end, round->end + half))
        round->end += half;
}

void plan_keep_apart(struct plan *plan)
{
    int count = plan->action_count;

    for (int i = 0; i < count; i++)
        for (int k = 0; k < count; k++)
            wait_for_fire(plan, &plan->actions[i], &plan->actions[k]);
    for (int i = 0; i < count; i++)
        for (int k = 0; k < count; k++)
            keep_apart(&plan->actions[i], &plan->actions[k]);
}
