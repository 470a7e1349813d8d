#include "weather/random.h"

#include <math.h>

static uint64_t rotate_left(uint64_t word, int bits)
{
    return (word << bits) | (word >> (64 - bits));
}

void random_seed(struct random *random, uint64_t seed)
{
    for (int i = 0; i < 4; i++) {
        uint64_t word = seed += UINT64_C(0x9e3779b97f4a7c15);

        word = (word ^ (word >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
        word = (word ^ (word >> 27)) * UINT64_C(0x94d049bb133111eb);
        random->state[i] = word ^ (word >> 31);
    }
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

double random_even(struct random *random)
{
    return (double)(random_bits(random) >> 11) * 0x1.0p-53;
}

double random_normal(struct random *random)
{
    double length, angle;

    if (random->has_spare) {
        random->has_spare = false;
        return random->spare;
    }
    length = sqrt(-2.0 * log(1.0 - random_even(random)));
    angle = 2.0 * 3.14159265358979323846 * random_even(random);
    random->spare = length * sin(angle);
    random->has_spare = true;
    return length * cos(angle);
}
