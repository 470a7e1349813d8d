/* Random numbers that are the same for the same seed on every run: the
 * generator xoshiro256** of Blackman and Vigna (2021, ACM Transactions on
 * Mathematical Software 47(4):36), its state filled by SplitMix64 (Steele,
 * Lea and Flood 2014, OOPSLA); normal deviates after Box and Muller (1958,
 * Annals of Mathematical Statistics 29:610-611), logarithm, sine and cosine in
 * closed forms that go into vectors, within 2e-13. Not for secrets. */
#ifndef WEATHER_RANDOM_H
#define WEATHER_RANDOM_H

#include <stdbool.h>
#include <stdint.h>

struct random {
    uint64_t state[4];
    bool has_spare;
    double spare;
};

void random_seed(struct random *random, uint64_t seed);
uint64_t random_bits(struct random *random);
/* Even in [0, 1). */
double random_even(struct random *random);
/* Mean 0, standard deviation 1. */
double random_normal(struct random *random);
/* The next `count` of them, to the last bit and in a fraction of the time. */
void random_normals(struct random *random, double *out, int count);
/* One for each key, the first of a generator that is seeded with it: a deviate
 * that belongs to the key, whenever it is asked for. */
void random_normals_of(const uint64_t *keys, double *out, int count);

#endif
