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
    size_t cells = (size_t)LEVELS * (size_t)tries->flow->members;

    tries->stocks = mem_alloc(cells, sizeof *tries->stocks);
    tries->rounds = mem_alloc(cells, sizeof *tries->rounds);
}

void day_tries_end(struct day_tries *tries)
{
    free(tries->stocks);
    free(tries->rounds);
}

/* What of a choice begins at this row: a round, a fire, both or none. */
static int begins_at(const struct plan_day_choice *choice, int row)
{
    bool round = choice->collect_at[0] == row || choice->collect_at[1] == row;

    return (round ? 1 : 0) + (choice->boil_from == row ? 2 : 0);
}

/* The first row after `row` at which one of the choices begins something, or
 * the day's end. */
static int next_event(const struct day_tries *tries, const short *which,
                      int count, int row)
{
    int next = tries->time->day_first[tries->day + 1];

    for (int i = 0; i < count; i++) {
        const struct plan_day_choice *choice = &tries->choices[which[i]];
        const int rows[] = {choice->collect_at[0], choice->collect_at[1],
                            choice->boil_from};

        for (int k = 0; k < 3; k++)
            if (rows[k] > row && rows[k] < next)
                next = rows[k];
    }
    return next;
}

static void run_member(const struct day_tries *tries, size_t at, int member,
                       int choice, int from, int to)
{
    plan_stock_run(&tries->stocks[at], tries->rules, tries->costs, tries->time,
                   from, to, &tries->choices[choice], tries->flow, member,
                   &tries->rounds[at]);
}

static double spent(const struct day_tries *tries, size_t at)
{
    double sum = 0;

    for (int member = 0; member < tries->flow->members; member++)
        sum += tries->stocks[at + (size_t)member].cost;
    return sum;
}

static bool of_use(const struct day_tries *tries, double sum)
{
    return sum / tries->flow->members * (1 - rounding) <=
           tries->most_cost(tries->self);
}

/* The rest of the day of a choice that stands alone. */
static void finish(struct day_tries *tries, int choice, int level, int row)
{
    int members = tries->flow->members;
    size_t at = (size_t)level * (size_t)members;
    double ahead = spent(tries, at), sum = 0;

    for (int member = 0; member < members; member++, at++) {
        ahead -= tries->stocks[at].cost;
        run_member(tries, at, member, choice, row,
                   tries->time->day_first[tries->day + 1]);
        sum += tries->stocks[at].cost + plan_stock_held_cost(&tries->stocks[at],
                                                             tries->rules,
                                                             tries->costs);
        if (!of_use(tries, sum + ahead))
            return;
    }
    tries->take(tries->self, choice, sum / members,
                &tries->stocks[(size_t)level * (size_t)members]);
}

static void follow(struct day_tries *tries, const short *which, int count,
                   int level, int row);

/* Each kind of choices that do the same at `row` goes on by itself. */
/* NOLINTNEXTLINE(misc-no-recursion): as deep as choices differ in a day */
static void part(struct day_tries *tries, const short *which, int count,
                 int level, int row)
{
    size_t members = (size_t)tries->flow->members;
    size_t at = (size_t)level * members;

    for (int kind = 0; kind < KINDS; kind++) {
        short same[PLAN_MAX_CHOICES];
        int same_count = 0;

        for (int i = 0; i < count; i++)
            if (begins_at(&tries->choices[which[i]], row) == kind)
                same[same_count++] = which[i];
        if (same_count == 0)
            continue;
        memcpy(&tries->stocks[at + members], &tries->stocks[at],
               members * sizeof *tries->stocks);
        memcpy(&tries->rounds[at + members], &tries->rounds[at],
               members * sizeof *tries->rounds);
        follow(tries, same, same_count, level + 1, row);
    }
}

/* Choices that have done the same so far, and do so at `row`. */
/* NOLINTNEXTLINE(misc-no-recursion): as above */
static void follow(struct day_tries *tries, const short *which, int count,
                   int level, int row)
{
    size_t at = (size_t)level * (size_t)tries->flow->members;
    int next = next_event(tries, which, count, row);

    if (!of_use(tries, spent(tries, at)))
        return;
    if (count == 1) {
        finish(tries, which[0], level, row);
        return;
    }
    for (int member = 0; member < tries->flow->members; member++)
        run_member(tries, at + (size_t)member, member, which[0], row, next);
    part(tries, which, count, level, next);
}

void day_tries_run(struct day_tries *tries, int day,
                   const struct plan_stock *stocks,
                   const struct plan_day_choice *choices, int count)
{
    size_t members = (size_t)tries->flow->members;
    short which[PLAN_MAX_CHOICES];

    for (int i = 0; i < count; i++)
        which[i] = (short)i;
    tries->day = day;
    tries->choices = choices;
    memcpy(tries->stocks, stocks, members * sizeof *stocks);
    memset(tries->rounds, 0, members * sizeof *tries->rounds);
    part(tries, which, count, 0, tries->time->day_first[day]);
}
