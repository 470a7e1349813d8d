/* One line for `systemctl status`: how old the weather is, what is wrong. */
#ifndef DAEMON_STATUS_H
#define DAEMON_STATUS_H

#include "base/text.h"
#include "daemon/loop.h"

/* For a part's status(): how many of its rows are in trouble, and the one that
 * has been longest. Begins as {0}. */
struct status_worst {
    int count;
    const char *name; /* of the operation */
    utc_s since;
    char since_words[ISO_TIME_SIZE];
    const char *why;
};

void status_note(struct status_worst *worst, const struct daemon *daemon,
                 const char *slug, utc_s since, const char *why);

/* Tells the service manager, at most once a minute unless it is about
 * something else than an age. */
void status_tell(struct daemon *daemon);

#endif
