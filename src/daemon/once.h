/* One turn for each configured operation, then the end: for cron, for a
 * first look, and for tests. */
#ifndef DAEMON_ONCE_H
#define DAEMON_ONCE_H

#include "command/options.h"

/* Exit status as of command/options.h: 0 when every operation has a bulletin
 * from a fresh forecast, 75 when only older ones were to be had, 2 for a
 * configuration that is wrong, 1 for the rest. A wrong file does not keep the
 * others from turning; of two operations of one name neither turns. */
int once(const struct options *options);

#endif
