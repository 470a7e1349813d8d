/* A course of choices lived through by every member. Inside plan/ only. */
#ifndef PLAN_LIVED_H
#define PLAN_LIVED_H

#include "plan/stock.h"

struct lived {
    const struct plan_rules *rules;
    const struct plan_costs *costs;
    const struct plan_time *time;
    const struct plan_flow *flow;
    struct plan_stock *ends;   /* [member]; owned */
    struct plan_stock *starts; /* of each day, [member * days + day]; owned */
    struct plan_deed *deeds;   /* [member * hours + row]; owned */
    /* [member * hours + row], at the hour's end; owned */
    double *buckets_l, *tanks_l, *lost_l, *overflow_l;
    int hours;
};

/* Fills what is owned, for the members and hours set before. */
void lived_alloc(struct lived *lived);
void lived_free(struct lived *lived);
/* Lives the course (a choice a day) from the stock on. */
void lived_run(struct lived *lived, const struct plan_stock *stock,
               const struct plan_day_choice *course);
/* Lives on from the day's start as `with` left it; the hours before are left
 * as they are. */
void lived_run_from(struct lived *lived, const struct lived *with, int day,
                    const struct plan_day_choice *course);

/* Median over the members, an hour each, of cells [member * hours + row]; the
 * caller frees. */
double *lived_medians(const struct lived *lived, const double *cells);
void lived_sort(double *values, int count);
/* Of sorted values, share 0..1; 0 of none. */
double lived_quantile(const double *sorted, int count, double share);

#endif
