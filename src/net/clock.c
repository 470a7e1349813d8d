#include "net/clock.h"

#include <time.h>

int64_t net_clock_ms(void)
{
    struct timespec clock = {0, 0};

    clock_gettime(CLOCK_MONOTONIC, &clock);
    return (int64_t)clock.tv_sec * 1000 + clock.tv_nsec / 1000000;
}
