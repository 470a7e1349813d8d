/* What the benchmarks of tree and outlook share: a clock and a winter. */
#ifndef BENCH_INVENTED_H
#define BENCH_INVENTED_H

#include <math.h>
#include <time.h>

#include "weather/random.h"
#include "weather/series.h"

enum {
    PAST_DAYS = 92,
    AHEAD_DAYS = 11,
    START = 1767243600 /* 2026-01-01T05:00Z */
};

/* CPU time of the process. */
static inline double cpu_ns(void)
{
    struct timespec at;

    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &at);
    return (double)at.tv_sec * 1e9 + (double)at.tv_nsec;
}

/* Air of a winter that ends, from START on; the caller frees. */
static inline struct series *invent(int hours)
{
    struct series_source source = {.name = "invented"};
    struct series *series = series_new(START, hours);
    int number = series_add_source(series, &source);
    struct random random;
    double level_c = 0;

    random_seed(&random, 7);
    for (int hour = 0; hour < hours; hour++) {
        level_c = 0.98 * level_c + 0.8 * random_normal(&random);
        series_set(series, AIR_TEMP_C, hour,
                   -10 + 0.16 * hour / 24 + level_c +
                       6 * cos((hour % 24 - 15) * acos(-1) / 12),
                   ORIGIN_OBSERVED, number);
    }
    return series;
}

#endif
