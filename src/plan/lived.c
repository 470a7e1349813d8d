#include "plan/lived.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "outlook/flow.h"

void lived_alloc(struct lived *lived, const struct teams *teams, bool whole)
{
    size_t count = (size_t)teams->count, stride = count * TEAM;
    size_t cells = stride * (size_t)teams->rows;
    size_t days = whole ? (size_t)teams->time->day_count : 0;
    double *told = mem_alloc((whole ? 6 : 2) * cells, sizeof *told);

    *lived = (struct lived){.teams = teams};
    lived->memory[1] = told;
    lived->now = team_alloc(count * (1 + days), &lived->memory[0]);
    lived->tale.overflow_l = told;
    lived->tale.lost_l = told + cells;
    lived->tale.stride = stride;
    if (!whole)
        return;
    lived->starts = lived->now + count;
    lived->tale.buckets_l = told + 2 * cells;
    lived->tale.tanks_l = told + 3 * cells;
    lived->tale.collected_l = told + 4 * cells;
    lived->tale.boiled_l = told + 5 * cells;
}

void lived_free(struct lived *lived)
{
    free(lived->memory[0]);
    free(lived->memory[1]);
}

void lived_begin(struct lived *lived, const struct plan_stock *stock)
{
    teams_set(lived->teams, lived->now, stock);
}

static double *told_from(double *cells, size_t at)
{
    return cells != NULL ? cells + at : NULL;
}

/* The tale from this row on. */
static struct team_tale tale_at(const struct lived *lived, int row)
{
    const struct team_tale *tale = &lived->tale;
    size_t at = (size_t)row * tale->stride;

    return (struct team_tale){.collected_l = told_from(tale->collected_l, at),
                              .boiled_l = told_from(tale->boiled_l, at),
                              .buckets_l = told_from(tale->buckets_l, at),
                              .tanks_l = told_from(tale->tanks_l, at),
                              .overflow_l = tale->overflow_l + at,
                              .lost_l = tale->lost_l + at,
                              .stride = tale->stride};
}

void lived_day(struct lived *lived, int day,
               const struct plan_day_choice *choice)
{
    const struct teams *teams = lived->teams;
    const int *first = &teams->time->day_first[day];
    struct team_tale tale = tale_at(lived, first[0]);
    size_t count = (size_t)teams->count;

    if (lived->starts != NULL)
        memcpy(lived->starts + (size_t)day * count, lived->now,
               count * sizeof *lived->now);
    teams_wake(teams, lived->now);
    teams->pass(teams, lived->now, first[0], first[1], choice, &tale, NULL);
}

void lived_run(struct lived *lived, const struct plan_stock *stock,
               const struct plan_day_choice *course)
{
    lived_begin(lived, stock);
    for (int day = 0; day < lived->teams->time->day_count; day++)
        lived_day(lived, day, &course[day]);
}

void lived_run_from(struct lived *lived, const struct lived *with, int day,
                    const struct plan_day_choice *course)
{
    size_t count = (size_t)lived->teams->count;

    memcpy(lived->now, with->starts + (size_t)day * count,
           count * sizeof *lived->now);
    for (; day < lived->teams->time->day_count; day++)
        lived_day(lived, day, &course[day]);
}

utc_s lived_row_start(const struct lived *lived, double row)
{
    return lived->teams->time->hours[(int)(row + 0.5)].start;
}

short *lived_order(int members)
{
    short *order = mem_alloc((size_t)members, sizeof *order);

    for (int i = 0; i < members; i++)
        order[i] = (short)i;
    return order;
}

double lived_median(const double *cells, int members, short *order)
{
    double middle[2];

    for (int i = 1; i < members; i++) {
        short member = order[i];
        int place = i;

        for (; place > 0 && cells[order[place - 1]] > cells[member]; place--)
            order[place] = order[place - 1];
        order[place] = member;
    }
    middle[0] = cells[order[(members - 1) / 2]];
    middle[1] = cells[order[members / 2]];
    return flow_quantile(middle, 2, 0.5);
}

double *lived_medians(const struct lived *lived, const double *cells)
{
    int members = lived->teams->members;
    double *out = mem_alloc((size_t)lived->teams->rows + 1, sizeof *out);
    short *order = lived_order(members);
    const double *before = NULL;

    for (int row = 0; row < lived->teams->rows; row++) {
        if (before != NULL &&
            memcmp(before, cells, (size_t)members * sizeof *cells) == 0)
            out[row] = out[row - 1];
        else
            out[row] = lived_median(cells, members, order);
        before = cells;
        cells += lived->tale.stride;
    }
    free(order);
    return out;
}
