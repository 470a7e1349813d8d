/* Day rules as they are published: yes or no from a day's extremes. They know
 * no volume, so a run day is worth what an ordinary collecting day brought a
 * tap in buckets at MacLeish Field Station in 2013 (CC0). */
#include "tree/tree.h"

#define ORDINARY_RUN_L 1.76

double day_rule_a_l_per_tap(double min_c, double max_c)
{
    return min_c < -1.1 && max_c > 2.2 ? ORDINARY_RUN_L : 0;
}

double day_rule_b_l_per_tap(double min_c, double max_c)
{
    const double threshold_c = 3;
    return min_c < threshold_c && max_c > threshold_c ? ORDINARY_RUN_L : 0;
}
