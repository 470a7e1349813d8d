/* Hours that a tree model has given. */
#ifndef SUPPORT_TREE_HOURS_H
#define SUPPORT_TREE_HOURS_H

#include "tree/tree.h"
#include "unit_test.h"

/* The sap of the hours from `from` up to `to`, each of which holds what an
 * hour may. */
static inline double sound_sap_l(const struct tree_hour *hours, int from,
                                 int to)
{
    double sum = 0;

    for (int hour = from; hour < to; hour++) {
        assert_true(hours[hour].sap_l_per_tap >= 0);
        assert_true(hours[hour].charge >= 0 && hours[hour].charge <= 1);
        assert_true(hours[hour].branch_ice >= 0 && hours[hour].branch_ice <= 1);
        assert_true(hours[hour].trunk_ice >= 0 && hours[hour].trunk_ice <= 1);
        assert_true(hours[hour].taphole > 0 && hours[hour].taphole <= 1);
        sum += hours[hour].sap_l_per_tap;
    }
    return sum;
}

#endif
