/* The seed of a random test, printed so that a failure can be repeated with
 * THAWBELL_TEST_SEED=… in the environment. */
#ifndef TEST_SEED_H
#define TEST_SEED_H

#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static inline uint64_t test_seed(void)
{
    const char *given = getenv("THAWBELL_TEST_SEED");
    uint64_t seed = given ? (uint64_t)strtoull(given, NULL, 10)
                          : (uint64_t)time(NULL) * UINT64_C(1000003);

    printf("THAWBELL_TEST_SEED=%" PRIu64 "\n", seed);
    return seed;
}

#endif
