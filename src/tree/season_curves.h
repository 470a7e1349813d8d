/* Curves over all days of a season at once, in closed forms that go into
 * vectors. Inside tree/ only. */
#ifndef TREE_SEASON_CURVES_H
#define TREE_SEASON_CURVES_H

/* exp(x) to 1e-14 of itself: 2^k times the series of 12 terms at most
 * ln 2 / 2 from nought; x is taken within -700 and 700. In place. */
void curve_exp(double *values, int count);
/* 1 / (1 + exp(-x)). In place. */
void curve_logistic(double *values, int count);
/* Probability that a normal variate lies below x standard deviations, within
 * 1e-7: Abramowitz and Stegun, "Handbook of Mathematical Functions" (1964),
 * 7.1.26. In place. */
void curve_normal_below(double *values, int count);

#endif
