#include "tree/season_curves.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "weather/vectors.h"

#define INLINE static inline __attribute__((always_inline))

/* 2^k for the whole number k that was added to `to_whole`. */
INLINE double power_of_two(double shifted)
{
    uint64_t bits;
    double power;

    memcpy(&bits, &shifted, sizeof bits);
    bits = (bits + 1023) << 52;
    memcpy(&power, &bits, sizeof power);
    return power;
}

/* exp(x) to 1e-14 of itself: 2^k times the series of 12 terms at most
 * ln 2 / 2 from nought; x is taken within -700 and 700. */
INLINE double exp_of(double x)
{
    const double to_whole = 0x1.8p52; /* the sum has no room for fractions */
    const double per_ln2 = 1.4426950408889634;
    const double ln2_high = 0x1.62e42fefa0000p-1;
    const double ln2_low = 0x1.cf79abc9e3b3ap-40;
    double within = x < -700 ? -700 : x > 700 ? 700 : x;
    double shifted = within * per_ln2 + to_whole;
    double whole = shifted - to_whole;
    double r = within - whole * ln2_high - whole * ln2_low;
    double sum = 1.0 / 39916800;

    sum = sum * r + 1.0 / 3628800;
    sum = sum * r + 1.0 / 362880;
    sum = sum * r + 1.0 / 40320;
    sum = sum * r + 1.0 / 5040;
    sum = sum * r + 1.0 / 720;
    sum = sum * r + 1.0 / 120;
    sum = sum * r + 1.0 / 24;
    sum = sum * r + 1.0 / 6;
    sum = sum * r + 1.0 / 2;
    sum = sum * r + 1;
    sum = sum * r + 1;
    return sum * power_of_two(shifted);
}

CLONES
void curve_logistic(double *values, int count)
{
    for (int i = 0; i < count; i++)
        values[i] = 1 / (1 + exp_of(-values[i]));
}

CLONES
void curve_normal_below(double *values, int count)
{
    const double per_sqrt2 = 0.70710678118654752;

    for (int i = 0; i < count; i++) {
        double x = values[i] * per_sqrt2, above = x < 0 ? -x : x;
        double t = 1 / (1 + 0.3275911 * above);
        double sum = t * 1.061405429 - 1.453152027;

        sum = sum * t + 1.421413741;
        sum = sum * t - 0.284496736;
        sum = (sum * t + 0.254829592) * t * exp_of(-above * above);
        values[i] = 0.5 * (x < 0 ? sum : 2 - sum);
    }
}
