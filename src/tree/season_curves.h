/* Curves over all days of a season at once, in closed forms that go into
 * vectors. Inside tree/ only. */
#ifndef TREE_SEASON_CURVES_H
#define TREE_SEASON_CURVES_H

/* 1 / (1 + exp(-x)), x taken within -700 and 700. In place. */
void curve_logistic(double *values, int count);
/* Probability that a normal variate lies below x standard deviations, within
 * 1e-7: Abramowitz and Stegun, "Handbook of Mathematical Functions" (1964),
 * 7.1.26. In place. */
void curve_normal_below(double *values, int count);

#endif
