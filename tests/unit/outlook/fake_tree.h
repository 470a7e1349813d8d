/* A tree of our invention in the place of the real one, so that the outlook
 * can be reckoned by hand: every hour above 0 C gives 0.05 L per tap and
 * kelvin, frost freezes all wood, each hour of frost adds 0.05 to the store
 * and each hour of thaw takes 0.02. These definitions stand in for those of
 * the library, which is then not linked. */
#ifndef FAKE_TREE_H
#define FAKE_TREE_H

#include <math.h>

#include "tree/tree.h"

struct tree_model {
    int nothing;
};

const char *tree_model_name(const struct tree_model *model)
{
    (void)model;
    return "fake";
}

const char *tree_model_version(const struct tree_model *model)
{
    (void)model;
    return "1/2/3";
}

const char *tree_model_digest(const struct tree_model *model)
{
    (void)model;
    return "abc";
}

static int fake_tree_runs; /* how often the tree was run */

void tree_run(const struct tree_model *model, const struct tree_site *site,
              const struct forcing *forcing, struct tree_hour *out)
{
    double charge = 0;

    (void)model;
    (void)site;
    fake_tree_runs++;
    for (int hour = 0; hour < forcing->hours; hour++) {
        double temp_c = forcing->air_temp_c[hour];
        bool frost = temp_c < 0;

        charge = fmin(1, fmax(0, charge + (frost ? 0.05 : -0.02)));
        out[hour].sap_l_per_tap = 0.05 * fmax(0, temp_c);
        out[hour].charge = (float)charge;
        out[hour].branch_ice = frost ? 1 : 0;
        out[hour].trunk_ice = frost ? 0.25F : 0;
        out[hour].wood_temp_c = (float)(temp_c / 2);
        out[hour].taphole = (float)(1.0 - 0.001 * hour);
    }
}

double day_rule_a_l_per_tap(double min_c, double max_c)
{
    return min_c < -1.1 && max_c > 2.2 ? 3.0 : 0.0;
}

double day_rule_b_l_per_tap(double min_c, double max_c)
{
    return max_c - min_c;
}

#endif
