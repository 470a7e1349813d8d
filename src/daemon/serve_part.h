/* The feed and page server as a part of the daemon: what turns publish is
 * served on the addresses that the operations' configurations name, from the
 * last good files on before the first turn. */
#ifndef DAEMON_SERVE_PART_H
#define DAEMON_SERVE_PART_H

#include "daemon/loop.h"

/* Plugs it in. A socket that the service manager hands over serves the first
 * operation that listens, and those of the same address. What cannot be served
 * is told, and tried again every minute. */
void serve_plug(struct daemon *daemon);

#endif
