/* One line for `systemctl status`: how old the weather is, what is wrong. */
#ifndef DAEMON_STATUS_H
#define DAEMON_STATUS_H

#include "base/text.h"
#include "daemon/loop.h"

/* Writes the line into out. */
void status_line(const struct daemon *daemon, struct text *out);
/* Tells the service manager, at most once a minute unless it is about
 * something else than an age. */
void status_tell(struct daemon *daemon);

#endif
