/* The clocks of the loop, read in one place, so that a test may turn them.
 *
 * Civil time and all that is published or due at an hour follow the machine's
 * clock. Delays are counted on a steady one that goes on while the machine
 * sleeps and that nobody can set. */
#ifndef DAEMON_CLOCK_H
#define DAEMON_CLOCK_H

#include <stdint.h>

#include "base/civil_time.h"

struct daemon_clock {
    utc_s now;         /* UTC, CLOCK_REALTIME */
    int64_t steady_ms; /* since some instant, CLOCK_BOOTTIME */
};

void daemon_clock_read(struct daemon_clock *clock);

enum { CLOCK_JUMP_S = 5 };

/* By how many seconds the machine's clock was set between two readings: 0 for
 * less than CLOCK_JUMP_S, negative for set back. */
int64_t daemon_clock_jump_s(const struct daemon_clock *before,
                            const struct daemon_clock *after);

#endif
