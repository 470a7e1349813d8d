#include "plan/day_tries.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "plan/search.h"

/* A level for each hour at which something may begin, and the day's start. */
enum { LEVELS = 2 * PLAN_MAX_STARTS + 2, KINDS = 4 };

/* The sum of a try's parts in another order may err by its rounding. */
static const double rounding = 1e-12;

void day_tries_begin(struct day_tries *tries)
{
    size_t count = (size_t)tries->teams->count;

    tries->levels = team_alloc(LEVELS * count, &tries->memory);
    tries->held_cost = mem_alloc(count * TEAM, sizeof *tries->held_cost);
}

void day_tries_end(struct day_tries *tries)
{
    free(tries->held_cost);
    free(tries->memory);
}

static struct team *at_level(const struct day_tries *tries, int level)
{
    return tries->levels + (size_t)level * (size_t)tries->teams->count;
}

static int day_end(const struct day_tries *tries)
{
    return tries->teams->time->day_first[tries->day + 1];
}

/* What of a choice begins at this row: a round, a fire, both or none. */
static int begins_at(const struct plan_day_choice *choice, int row)
{
    bool round = choice->collect_at[0] == row || choice->collect_at[1] == row;

    return (round ? 1 : 0) + (choice->boil_from == row ? 2 : 0);
}

/* The first row after `row` at which it begins something, or `next` if that
 * comes before. */
static int next_event(const struct plan_day_choice *choice, int row, int next)
{
    const int rows[] = {choice->collect_at[0], choice->collect_at[1],
                        choice->boil_from};

    for (int k = 0; k < 3; k++)
        if (rows[k] > row && rows[k] < next)
            next = rows[k];
    return next;
}

static double spent(const struct day_tries *tries, int level)
{
    const struct team *at = at_level(tries, level);
    double sum = 0;

    for (int number = 0; number < tries->teams->count; number++)
        sum += team_sum(at[number].cost);
    return sum;
}

static double held(const struct day_tries *tries)
{
    double sum = 0;

    for (int number = 0; number < tries->teams->count; number++)
        sum += team_sum(tries->held_cost + (size_t)number * TEAM);
    return sum;
}

static bool of_use(const struct day_tries *tries, double sum)
{
    return sum * (1 - rounding) <=
           tries->most_cost(tries->self) * tries->teams->members;
}

/* The rest of the day of a choice that stands alone. */
static void finish(struct day_tries *tries, int choice, int level, int row)
{
    const struct teams *teams = tries->teams;
    double sum;

    teams->pass(teams, at_level(tries, level), row, day_end(tries),
                &tries->choices[choice], NULL, tries->held_cost);
    sum = spent(tries, level) + held(tries);
    if (of_use(tries, sum))
        tries->take(tries->self, choice, sum / teams->members,
                    at_level(tries, level));
}

/* Choices that do the same so far. */
struct alike {
    short which[PLAN_MAX_CHOICES];
    int count, next; /* the row at which the first of them does something */
};

static void follow(struct day_tries *tries, const struct alike *alike,
                   int level, int row);

/* Each kind of choices that do the same at `row` goes on by itself, the last
 * of them from where all are. */
/* NOLINTNEXTLINE(misc-no-recursion): as deep as choices differ in a day */
static void part(struct day_tries *tries, const short *which, int count,
                 int level, int row)
{
    struct alike kinds[KINDS];
    int last = 0;

    for (int kind = 0; kind < KINDS; kind++) {
        kinds[kind].count = 0;
        kinds[kind].next = day_end(tries);
    }
    for (int i = 0; i < count; i++) {
        const struct plan_day_choice *choice = &tries->choices[which[i]];
        int kind = begins_at(choice, row);

        kinds[kind].which[kinds[kind].count++] = which[i];
        kinds[kind].next = next_event(choice, row, kinds[kind].next);
        last = kind > last ? kind : last;
    }
    for (int kind = 0; kind < last; kind++) {
        if (kinds[kind].count == 0)
            continue;
        teams_copy(tries->teams, at_level(tries, level + 1),
                   at_level(tries, level));
        follow(tries, &kinds[kind], level + 1, row);
    }
    follow(tries, &kinds[last], level, row);
}

/* They do the same at `row` as well. */
/* NOLINTNEXTLINE(misc-no-recursion): as above */
static void follow(struct day_tries *tries, const struct alike *alike,
                   int level, int row)
{
    const struct teams *teams = tries->teams;
    const short *which = alike->which;

    if (!of_use(tries, spent(tries, level)))
        return;
    if (alike->count == 1) {
        finish(tries, which[0], level, row);
        return;
    }
    teams->pass(teams, at_level(tries, level), row, alike->next,
                &tries->choices[which[0]], NULL, NULL);
    part(tries, which, alike->count, level, alike->next);
}

void day_tries_run(struct day_tries *tries, int day,
                   const struct team *at_start,
                   const struct plan_day_choice *choices, int count)
{
    short which[PLAN_MAX_CHOICES];

    for (int i = 0; i < count; i++)
        which[i] = (short)i;
    tries->day = day;
    tries->choices = choices;
    teams_copy(tries->teams, tries->levels, at_start);
    teams_wake(tries->teams, tries->levels);
    part(tries, which, count, 0, tries->teams->time->day_first[day]);
}
