/* The sap of every member, hour by hour. Inside outlook/ only. */
#ifndef OUTLOOK_FLOW_H
#define OUTLOOK_FLOW_H

#include "tree/tree.h"
#include "weather/members.h"
#include "weather/series.h"

struct flow {
    int hours;                 /* those of the series */
    struct tree_hour *control; /* owned: the tree under the merged series */
    int member_count;
    int first;         /* before this row all members are the control */
    double *by_member; /* owned: [member * (hours - first) + row - first] */
};

/* Runs the tree under the series and under each member (members may be NULL:
 * the series is then the only one). Members differ from `now` on. */
struct flow *flow_run(const struct tree_model *model,
                      const struct tree_site *site, const struct series *series,
                      const struct members *members, utc_s now);
void flow_free(struct flow *flow);

/* Litres per tap of a member in the hour. */
double flow_at(const struct flow *flow, int member, int row);
/* In the rows [from, to). */
double flow_sum(const struct flow *flow, int member, int from, int to);
/* Sorts the values and gives their quantile, share 0..1 (type 7), 0 of none. */
void flow_sort(double *values, int count);
double flow_quantile(const double *sorted, int count, double share);

#endif
