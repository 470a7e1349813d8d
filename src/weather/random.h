/* Random numbers that are the same for the same seed on every run: the
 * generator xoshiro256** of Blackman and Vigna (2021, ACM Transactions on
 * Mathematical Software 47(4):36), its state filled by SplitMix64 (Steele,
 * Lea and Flood 2014, OOPSLA); normal deviates after Box and Muller (1958,
 * Annals of Mathematical Statistics 29:610-611). Not for secrets. */
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

#endif
