/* The hours of a run. Inside outlook/ only. */
#ifndef OUTLOOK_WINDOW_H
#define OUTLOOK_WINDOW_H

#include <stdbool.h>

#include "base/trade.h"

struct window {
    int first, end; /* rows [first, end) */
    int peak;       /* row of the largest flow */
};

/* Flow that counts as running, litres per tap and hour: 0.02 for buckets and
 * gravity tubing (a drop of 0.05 ml every 9 s), twice that on pumped vacuum,
 * which draws a trickle at all hours of a thaw. Our choice. */
double window_floor_l_h(enum gathering gathering);

/* The stretch with the most sap in the rows [from, to) of hourly flow in
 * which the flow stays at or above the floor and a tenth of its peak; lulls of
 * up to 2 h are part of it. False if nothing reaches the floor. */
bool window_find(const double *flow_l_h, int from, int to, double floor_l_h,
                 struct window *out);

#endif
