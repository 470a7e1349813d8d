#include "plan/lived.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"

static void live_hour(struct lived *lived, int member, int row,
                      const struct plan_day_choice *choice,
                      struct plan_stock *stock, bool *round)
{
    const struct plan_flow *flow = lived->flow;
    const double *sap_l = flow->sap_l + (size_t)member * (size_t)flow->streams *
                                            (size_t)flow->hours;
    double inflow_l[PLAN_MAX_GROUPS + 1] = {0};
    size_t at = (size_t)member * (size_t)lived->hours + (size_t)row;

    for (int stream = 0; stream < flow->streams; stream++)
        inflow_l[stream] = sap_l[stream * flow->hours + row];
    lived->deeds[at] =
        plan_stock_hour(stock, lived->rules, lived->costs, lived->time, row,
                        choice, inflow_l, round);
    lived->buckets_l[at] = plan_stock_in_buckets_l(stock, lived->rules);
    lived->tanks_l[at] = plan_stock_in_tanks_l(stock, lived->rules);
    lived->lost_l[at] = stock->overflow_l + stock->spoiled_l;
    lived->overflow_l[at] = stock->overflow_l;
}

/* One member's days from this one on. */
static void live_days(struct lived *lived, int member, int from,
                      const struct plan_day_choice *course,
                      struct plan_stock *now)
{
    const struct plan_time *time = lived->time;

    for (int day = from; day < time->day_count; day++) {
        bool round = false;

        lived->starts[member * time->day_count + day] = *now;
        for (int row = time->day_first[day]; row < time->day_first[day + 1];
             row++)
            live_hour(lived, member, row, &course[day], now, &round);
    }
    lived->ends[member] = *now;
}

void lived_run(struct lived *lived, const struct plan_stock *stock,
               const struct plan_day_choice *course)
{
    for (int member = 0; member < lived->flow->members; member++) {
        struct plan_stock now = plan_stock_of_member(stock, member);

        live_days(lived, member, 0, course, &now);
    }
}

void lived_run_from(struct lived *lived, const struct lived *with, int day,
                    const struct plan_day_choice *course)
{
    for (int member = 0; member < lived->flow->members; member++) {
        struct plan_stock now =
            with->starts[member * lived->time->day_count + day];

        live_days(lived, member, day, course, &now);
    }
}

void lived_alloc(struct lived *lived)
{
    size_t members = (size_t)lived->flow->members;
    size_t cells = members * (size_t)lived->hours + 1;

    lived->ends = mem_alloc(members, sizeof *lived->ends);
    lived->starts = mem_alloc(members * (size_t)lived->time->day_count + 1,
                              sizeof *lived->starts);
    lived->deeds = mem_alloc(cells, sizeof *lived->deeds);
    lived->buckets_l = mem_alloc(cells, sizeof(double));
    lived->tanks_l = mem_alloc(cells, sizeof(double));
    lived->lost_l = mem_alloc(cells, sizeof(double));
    lived->overflow_l = mem_alloc(cells, sizeof(double));
}

void lived_free(struct lived *lived)
{
    free(lived->ends);
    free(lived->starts);
    free(lived->deeds);
    free(lived->buckets_l);
    free(lived->tanks_l);
    free(lived->lost_l);
    free(lived->overflow_l);
}

static int compare_numbers(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

double lived_quantile(const double *sorted, int count, double share)
{
    double place = share * (count - 1);
    int below = (int)floor(place);
    int above = below + 1 < count ? below + 1 : below;

    if (count == 0)
        return 0;
    return sorted[below] + (sorted[above] - sorted[below]) * (place - below);
}

void lived_sort(double *values, int count)
{
    qsort(values, (size_t)count, sizeof *values, compare_numbers);
}

double *lived_medians(const struct lived *lived, const double *cells)
{
    int members = lived->flow->members;
    double *out = mem_alloc((size_t)lived->hours + 1, sizeof *out);
    double *column = mem_alloc((size_t)members, sizeof *column);

    for (int row = 0; row < lived->hours; row++) {
        for (int member = 0; member < members; member++)
            column[member] = cells[member * lived->hours + row];
        lived_sort(column, members);
        out[row] = lived_quantile(column, members, 0.5);
    }
    free(column);
    return out;
}
