#include <math.h>

#include "tree/form.h"

static double normal_below(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

/* Mean of min(ran x, bucket) for a lognormal x of mean 1 (the limited
 * expected value of the lognormal distribution: Klugman, Panjer and Willmot,
 * "Loss Models", appendix A). */
double tree_kept_l_per_tap(const struct tree_model *model, double ran_l_per_tap,
                           double bucket_l)
{
    double spread = model->gathering.tap_spread;
    if (bucket_l <= 0 || ran_l_per_tap <= 0)
        return fmax(ran_l_per_tap, 0);
    if (spread < 1e-6)
        return fmin(ran_l_per_tap, bucket_l);
    double full = log(bucket_l / ran_l_per_tap) / spread;
    return ran_l_per_tap * normal_below(full - spread / 2) +
           bucket_l * normal_below(-full - spread / 2);
}
