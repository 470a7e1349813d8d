#include "outlook/flow.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "weather/forcing.h"

enum { FEW = 64 };

/* The row of `now`, and one before it: the tree may look from an hour to the
 * next between its steps. */
static int first_row_apart(const struct series *series, utc_s now)
{
    int64_t row = (now - series_start(series)) / SECONDS_PER_HOUR - 1;

    if (row < 0)
        return 0;
    return row < series_hours(series) ? (int)row : series_hours(series);
}

static void keep_control(struct flow *flow)
{
    for (int row = flow->first; row < flow->hours; row++)
        flow->by_member[row - flow->first] = flow->control[row].sap_l_per_tap;
}

/* Each member's air on the forcing's rows from `first` on: their own, or, where
 * they do not reach all of these, copies, which the caller frees. */
static double *member_airs(const struct members *members,
                           const struct forcing *forcing, int first,
                           const double **air_c)
{
    int64_t row = (forcing->start - members->start) / SECONDS_PER_HOUR + first;
    int rows = forcing->hours - first;
    bool reach = row >= 0 && row + rows <= members->hours;
    double *all_c = NULL;

    if (!reach)
        all_c = mem_resize(NULL, (size_t)members->count * (size_t)rows + 1,
                           sizeof *all_c);
    for (int i = 0; i < members->count; i++) {
        if (reach) {
            air_c[i] = members->air_temp_c +
                       (size_t)i * (size_t)members->hours + row;
        } else {
            double *copy_c = all_c + (size_t)i * (size_t)rows;

            forcing_member_air(forcing, members, i, first, copy_c);
            air_c[i] = copy_c;
        }
    }
    return all_c;
}

/* Control and members from where they part, at which `shared` stands: beside
 * each other, the control first. */
static void run_apart(struct flow *flow, const struct tree_course *shared,
                      const struct members *members,
                      const struct forcing *forcing)
{
    size_t count = (size_t)members->count;
    size_t kept = (size_t)(flow->hours - flow->first);
    const double **air_c = mem_alloc(count + 1, sizeof *air_c);
    double *copied_c = member_airs(members, forcing, flow->first, air_c + 1);
    double **out = mem_alloc(count + 1, sizeof *out);
    struct tree_air air = {members->count + 1, air_c};

    air_c[0] = forcing->air_temp_c + flow->first;
    for (size_t i = 0; i < count; i++)
        out[i + 1] = flow->by_member + i * kept;
    tree_course_run_airs(shared, forcing, &air, flow->hours, out,
                         flow->control + flow->first);
    free(out);
    free(air_c);
    free(copied_c);
}

struct flow *flow_run(const struct tree_model *model,
                      const struct tree_site *site, const struct series *series,
                      const struct members *members, utc_s now)
{
    struct flow *flow = mem_alloc(1, sizeof *flow);
    struct forcing *forcing =
        forcing_from_series(series, site->latitude, site->longitude);
    struct tree_course *course = tree_course_begin(model, site, forcing);

    flow->hours = series_hours(series);
    flow->member_count = members ? members->count : 1;
    flow->first = first_row_apart(series, now);
    flow->control = mem_alloc((size_t)flow->hours, sizeof *flow->control);
    flow->by_member = mem_alloc((size_t)flow->member_count *
                                    (size_t)(flow->hours - flow->first + 1),
                                sizeof *flow->by_member);
    tree_course_run(course, forcing, flow->first, flow->control);
    if (members) {
        run_apart(flow, course, members, forcing);
    } else {
        tree_course_run(course, forcing, flow->hours,
                        flow->control + flow->first);
        keep_control(flow);
    }
    tree_course_free(course);
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

/* Few numbers are sorted sooner by hand than through calls. */
static void sort_few(double *values, int count)
{
    for (int i = 1; i < count; i++) {
        double value = values[i];
        int place = i;

        for (; place > 0 && values[place - 1] > value; place--)
            values[place] = values[place - 1];
        values[place] = value;
    }
}

void flow_sort(double *values, int count)
{
    if (count <= FEW) {
        sort_few(values, count);
        return;
    }
    qsort(values, (size_t)count, sizeof *values, compare);
}

double flow_quantile(const double *sorted, int count, double share)
{
    double place = share * (count - 1);
    int below = (int)floor(place);

    if (count == 0)
        return 0;
    if (below >= count - 1)
        return sorted[count - 1];
    return sorted[below] +
           (place - below) * (sorted[below + 1] - sorted[below]);
}
