/* How it stands with the mail, for `thawbell check` and others who may not
 * open the store: mail.json beside the bulletin. It is neither served nor
 * uploaded; addresses in it are shortened all the same. */
#ifndef DAEMON_POST_STATUS_H
#define DAEMON_POST_STATUS_H

#include "daemon/post_queue.h"

/* Writes the file if it has changed. Nothing where no mail is configured. */
int post_status(const struct post_place *place, utc_s now, struct error *err);

/* The mail of an operation that waits though it was tried. */
struct post_wait {
    int count;
    utc_s since;  /* the oldest was made */
    char words[]; /* why, addresses shortened */
};

/* NULL: none waits, or none that was tried. Owned, for free(). */
struct post_wait *post_wait(const struct post_place *place);

/* The rows that wait and those given up, for metrics; -1 each if not known. */
void post_count(struct store *store, const char *slug, int *waiting, int *dead);

#endif
