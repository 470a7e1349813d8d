#include "outlook/flow.h"

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "weather/forcing.h"

/* The row of `now`, and one before it: the tree may look from an hour to the
 * next between its steps. */
static int first_row_apart(const struct series *series, utc_s now)
{
    int64_t row = (now - series_start(series)) / SECONDS_PER_HOUR - 1;

    if (row < 0)
        return 0;
    return row < series_hours(series) ? (int)row : series_hours(series);
}

static void keep_member(struct flow *flow, int member,
                        const struct tree_hour *hours)
{
    int kept = flow->hours - flow->first;
    double *out = flow->by_member + (size_t)member * (size_t)kept;

    for (int i = 0; i < kept; i++)
        out[i] = hours[flow->first + i].sap_l_per_tap;
}

struct flow *flow_run(const struct tree_model *model,
                      const struct tree_site *site, const struct series *series,
                      const struct members *members, utc_s now)
{
    struct flow *flow = mem_alloc(1, sizeof *flow);
    struct forcing *forcing =
        forcing_from_series(series, site->latitude, site->longitude);
    struct tree_hour *hours;

    flow->hours = series_hours(series);
    flow->member_count = members ? members->count : 1;
    flow->first = first_row_apart(series, now);
    flow->control = mem_alloc((size_t)flow->hours, sizeof *flow->control);
    flow->by_member = mem_alloc((size_t)flow->member_count *
                                    (size_t)(flow->hours - flow->first + 1),
                                sizeof *flow->by_member);
    tree_run(model, site, forcing, flow->control);
    if (!members)
        keep_member(flow, 0, flow->control);
    hours = mem_alloc((size_t)flow->hours, sizeof *hours);
    for (int member = 0; members && member < members->count; member++) {
        forcing_set_member(forcing, members, member);
        tree_run(model, site, forcing, hours);
        keep_member(flow, member, hours);
    }
    free(hours);
    forcing_free(forcing);
    return flow;
}

void flow_free(struct flow *flow)
{
    if (!flow)
        return;
    free(flow->control);
    free(flow->by_member);
    free(flow);
}

double flow_at(const struct flow *flow, int member, int row)
{
    size_t kept = (size_t)(flow->hours - flow->first);

    if (row < flow->first)
        return flow->control[row].sap_l_per_tap;
    return flow->by_member[(size_t)member * kept + (size_t)(row - flow->first)];
}

double flow_sum(const struct flow *flow, int member, int from, int to)
{
    double sum = 0;

    for (int row = from; row < to; row++)
        sum += flow_at(flow, member, row);
    return sum;
}

static int compare(const void *a, const void *b)
{
    double left = *(const double *)a, right = *(const double *)b;

    return (left > right) - (left < right);
}

void flow_sort(double *values, int count)
{
    qsort(values, (size_t)count, sizeof *values, compare);
}

double flow_quantile(const double *sorted, int count, double share)
{
    double place = share * (count - 1);
    int below = (int)floor(place);

    if (below >= count - 1)
        return sorted[count - 1];
    return sorted[below] +
           (place - below) * (sorted[below + 1] - sorted[below]);
}
