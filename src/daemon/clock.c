#include "daemon/clock.h"

#include <time.h>

/* <linux/time.h>; other systems go without. */
#ifndef CLOCK_BOOTTIME
#define CLOCK_BOOTTIME CLOCK_MONOTONIC
#endif

void daemon_clock_read(struct daemon_clock *clock)
{
    struct timespec real = {0, 0}, steady = {0, 0};

    clock_gettime(CLOCK_REALTIME, &real);
    clock_gettime(CLOCK_BOOTTIME, &steady);
    clock->now = (utc_s)real.tv_sec;
    clock->steady_ms = (int64_t)steady.tv_sec * 1000 + steady.tv_nsec / 1000000;
}

int64_t daemon_clock_jump_s(const struct daemon_clock *before,
                            const struct daemon_clock *after)
{
    int64_t steady_s = (after->steady_ms - before->steady_ms) / 1000;
    int64_t jump_s = after->now - before->now - steady_s;

    return jump_s < CLOCK_JUMP_S && jump_s > -CLOCK_JUMP_S ? 0 : jump_s;
}
