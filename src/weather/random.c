#include "weather/random.h"

#include <math.h>

#include "weather/closed_forms.h"
#include "weather/vectors.h"

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

/* Two even numbers in [0, 1) become two normal ones. */
CLONES
static void make_normal(double *one, double *other, int count)
{
    double lengths[ABREAST];

    for (int i = 0; i < count; i++)
        lengths[i] = -2.0 * closed_log(1.0 - one[i]);
    for (int i = 0; i < count; i++)
        lengths[i] = sqrt(lengths[i] > 0 ? lengths[i] : 0);
    for (int i = 0; i < count; i++) {
        double cosine, sine;

        closed_turn(other[i], &cosine, &sine);
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
        double one[ABREAST] = {0}, other[ABREAST] = {0};
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
