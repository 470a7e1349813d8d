/* The hours between coarser steps of a forecast.
 *
 * A step of six hours gives the temperature at both ends and the highest and
 * lowest within. The extremes are put on whole hours, as near as may be to
 * 15 h (the highest) and 6 h (the lowest) of local solar time, and all are
 * joined by the monotone cubic of Fritsch and Carlson (1980, SIAM Journal on
 * Numerical Analysis 17:238-246), which never passes its knots. */
#ifndef SOURCE_SHAPE_H
#define SOURCE_SHAPE_H

#include <stdbool.h>

#include "base/civil_time.h"

struct shape_instant {
    utc_s time; /* on the hour */
    double value;
    bool shaped_after; /* the hours up to the next instant are wanted */
    double min, max;   /* of those hours, if so */
};

struct shape_hour {
    utc_s time;
    double value;
};

/* `instants` sorted, no time twice. *hours (owned by the caller) gets the
 * hours strictly between the instants that are shaped_after and their next
 * ones. Extremes that the ends pass are widened to the ends. Returns how
 * many. */
int shape_hours(const struct shape_instant *instants, int count,
                double longitude_deg, struct shape_hour **hours);

/* Monotone cubic through the knots (x strictly rising) at `at`, which lies
 * between the first and the last. slopes as shape_slopes gives them. */
void shape_slopes(const double *x, const double *y, int count, double *slopes);
double shape_value(const double *x, const double *y, const double *slopes,
                   int left, double at);

#endif
