/* Functions of the C library in closed forms without a branch, so that a loop
 * of them goes into vectors; each tells how near it comes. They are the same
 * bits on every machine: nothing but sums, products, quotients. */
#ifndef WEATHER_CLOSED_FORMS_H
#define WEATHER_CLOSED_FORMS_H

#include <math.h>
#include <stdint.h>
#include <string.h>

/* ln x, x from 2^-53 to 1, within two units in the last place: m 2^e with m
 * about 1, and the series of 2 artanh((m - 1) / (m + 1)). */
static inline double closed_log(double x)
{
    const uint64_t half_root = UINT64_C(0x3fe6a09e667f3bcd); /* sqrt(1/2) */
    const uint64_t whole = UINT64_C(0x4330000000000000);     /* 2^52 */
    const double ln2 = 0.69314718055994531;
    uint64_t bits, power, exponent;
    double m, e, s, square, sum = 1.0 / 21;

    memcpy(&bits, &x, sizeof bits);
    power = (bits - half_root + (UINT64_C(1023) << 52)) >> 52;
    exponent = power | whole;
    memcpy(&e, &exponent, sizeof e);
    e -= 0x1.0p52 + 1023;
    bits -= (power - 1023) << 52;
    memcpy(&m, &bits, sizeof m);
    s = (m - 1) / (m + 1);
    square = s * s;
    sum = sum * square + 1.0 / 19;
    sum = sum * square + 1.0 / 17;
    sum = sum * square + 1.0 / 15;
    sum = sum * square + 1.0 / 13;
    sum = sum * square + 1.0 / 11;
    sum = sum * square + 1.0 / 9;
    sum = sum * square + 1.0 / 7;
    sum = sum * square + 1.0 / 5;
    sum = sum * square + 1.0 / 3;
    return e * ln2 + (2 * s + 2 * s * square * sum);
}

/* exp(x) to 1e-14 of itself: 2^k times the series of 12 terms at most
 * ln 2 / 2 from nought; x is taken within -700 and 700. */
static inline double closed_exp(double x)
{
    const double to_whole = 0x1.8p52; /* the sum has no room for fractions */
    const double per_ln2 = 1.4426950408889634;
    const double ln2_high = 0x1.62e42fefa0000p-1;
    const double ln2_low = 0x1.cf79abc9e3b3ap-40;
    double within = x < -700 ? -700 : x > 700 ? 700 : x;
    double shifted = within * per_ln2 + to_whole;
    double whole = shifted - to_whole;
    double r = within - whole * ln2_high - whole * ln2_low;
    double sum = 1.0 / 39916800, power;
    uint64_t bits;

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
    /* 2^k: k stands in the last bits of what was added to `to_whole`. */
    memcpy(&bits, &shifted, sizeof bits);
    bits = (bits + 1023) << 52;
    memcpy(&power, &bits, sizeof power);
    return sum * power;
}

/* Cosine and sine of a share of the circle, -1/8 to 9/8, to 3e-14: within an
 * eighth of it by their series, the quarters by turning. */
static inline void closed_turn(double share, double *cosine, double *sine)
{
    const double to_whole = 0x1.8p52; /* the sum has no room for fractions */
    double quarters = (4 * share + to_whole) - to_whole;
    double angle = 2.0 * 3.14159265358979323846 * (share - quarters / 4);
    double square = angle * angle;
    double c = -1.0 / 87178291200 * square + 1.0 / 479001600;
    double s = 1.0 / 6227020800 * square - 1.0 / 39916800;
    /* 1, 0, -1, 0, 1 and 0, 1, 0, -1, 0 of the quarters 0 to 4. */
    double along = fabs(quarters - 2) - 1;
    double across = fabs(fabs(quarters - 1) - 2) - 1;

    c = c * square - 1.0 / 3628800;
    c = c * square + 1.0 / 40320;
    c = c * square - 1.0 / 720;
    c = c * square + 1.0 / 24;
    c = c * square - 0.5;
    c = c * square + 1;
    s = s * square + 1.0 / 362880;
    s = s * square - 1.0 / 5040;
    s = s * square + 1.0 / 120;
    s = s * square - 1.0 / 6;
    s = s * square * angle + angle;
    *cosine = c * along - s * across;
    *sine = c * across + s * along;
}

#endif
