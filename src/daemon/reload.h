/* SIGHUP: the new configuration is read whole before the old one is let go. */
#ifndef DAEMON_RELOAD_H
#define DAEMON_RELOAD_H

#include "daemon/loop.h"

/* Reads it. One that is wrong is told, error by error, and the old one stays;
 * a good one waits until no turn is under way. */
void reload_begin(struct daemon *daemon);
/* Puts a waiting one in its place, once that can be done. */
void reload_finish(struct daemon *daemon);

#endif
