/* Quantiles over members, many hours at once. Inside outlook/ only. */
#ifndef OUTLOOK_QUANTILES_H
#define OUTLOOK_QUANTILES_H

#include <stddef.h>

/* Of `count` members the values of `rows` hours each: member i's hour r is
 * values[i * stride + r]. The 10, 50 and 90 % quantiles (type 7) of each hour;
 * `middle` may be NULL. count >= 1, values without NaN. */
void quantiles_of_hours(const double *values, size_t stride, int count,
                        int rows, double *low, double *middle, double *high);

#endif
