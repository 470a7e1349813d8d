/* The daemon from its start to its end. */
#ifndef DAEMON_RUN_H
#define DAEMON_RUN_H

#include "command/options.h"

/* In the foreground, until SIGTERM or SIGINT. Exit status: 0 after those; 2
 * for a configuration that is wrong at the start; 75 when another thawbelld
 * is at work with the same state folder; 1 for the rest. */
int daemon_run(const struct options *options);

#endif
