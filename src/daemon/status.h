/* One line for `systemctl status`: how old the weather is, what is wrong. */
#ifndef DAEMON_STATUS_H
#define DAEMON_STATUS_H

#include "base/text.h"
#include "daemon/loop.h"

/* Tells the service manager, at most once a minute unless it is about
 * something else than an age. */
void status_tell(struct daemon *daemon);

#endif
