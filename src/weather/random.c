#include "weather/random.h"

#include <math.h>
#include <string.h>

#include "weather/vectors.h"

#define INLINE static inline __attribute__((always_inline))
enum { ABREAST = 64 };

static uint64_t rotate_left(uint64_t word, int bits)
{
    return (word << bits) | (word >> (64 - bits));
}

/* SplitMix64: the next of its words. */
static uint64_t split_mix(uint64_t *seed)
{
    uint64_t word = *seed += UINT64_C(0x9e3779b97f4a7c15);

    word = (word ^ (word >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    word = (word ^ (word >> 27)) * UINT64_C(0x94d049bb133111eb);
    return word ^ (word >> 31);
}

void random_seed(struct random *random, uint64_t seed)
{
    for (int i = 0; i < 4; i++)
        random->state[i] = split_mix(&seed);
    random->has_spare = false;
    random->spare = 0;
}

uint64_t random_bits(struct random *random)
{
    uint64_t *s = random->state;
    uint64_t result = rotate_left(s[1] * 5, 7) * 9;
    uint64_t shifted = s[1] << 17;

    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= shifted;
    s[3] = rotate_left(s[3], 45);
    return result;
}

static double even_of(uint64_t bits)
{
    return (double)(bits >> 11) * 0x1.0p-53;
}

double random_even(struct random *random)
{
    return even_of(random_bits(random));
}

/* ln x, x from 2^-53 to 1: m 2^e with m about 1, and the series of
 * 2 artanh((m - 1) / (m + 1)). */
INLINE double log_of(double x)
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

/* Cosine and sine of a share of the circle, 0 to 1: within an eighth of it by
 * their series, the quarters by turning. */
INLINE void turn_by(double share, double *cosine, double *sine)
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

/* Two even numbers in [0, 1) become two normal ones. */
CLONES
static void make_normal(double *one, double *other, int count)
{
    double lengths[ABREAST];

    for (int i = 0; i < count; i++)
        lengths[i] = -2.0 * log_of(1.0 - one[i]);
    for (int i = 0; i < count; i++)
        lengths[i] = sqrt(lengths[i] > 0 ? lengths[i] : 0);
    for (int i = 0; i < count; i++) {
        double cosine, sine;

        turn_by(other[i], &cosine, &sine);
        one[i] = lengths[i] * cosine;
        other[i] = lengths[i] * sine;
    }
}

void random_normals(struct random *random, double *out, int count)
{
    int done = 0;

    if (random->has_spare && count > 0) {
        out[done++] = random->spare;
        random->has_spare = false;
    }
    while (done < count) {
        double one[ABREAST], other[ABREAST];
        int pairs = (count - done + 1) / 2;

        if (pairs > ABREAST)
            pairs = ABREAST;
        for (int i = 0; i < pairs; i++) {
            one[i] = random_even(random);
            other[i] = random_even(random);
        }
        make_normal(one, other, pairs);
        for (int i = 0; i < pairs; i++) {
            out[done++] = one[i];
            if (done < count)
                out[done++] = other[i];
            else
                random->has_spare = true;
        }
        random->spare = other[pairs - 1];
    }
}

double random_normal(struct random *random)
{
    double value;

    random_normals(random, &value, 1);
    return value;
}

void random_normals_of(const uint64_t *keys, double *out, int count)
{
    for (int from = 0; from < count; from += ABREAST) {
        int some = count - from < ABREAST ? count - from : ABREAST;
        double other[ABREAST];

        for (int i = 0; i < some; i++) {
            struct random random;

            random_seed(&random, keys[from + i]);
            out[from + i] = random_even(&random);
            other[i] = random_even(&random);
        }
        make_normal(out + from, other, some);
    }
}
