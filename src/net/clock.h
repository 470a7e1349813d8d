/* Time for waiting: steady, whatever is done to the machine's clock. */
#ifndef NET_CLOCK_H
#define NET_CLOCK_H

#include <stdint.h>

int64_t net_clock_ms(void); /* CLOCK_MONOTONIC */

#endif
