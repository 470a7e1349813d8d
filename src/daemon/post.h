/* Mail as a part of the daemon (loop.h), and for `--once` and `--mail-test`.
 */
#ifndef DAEMON_POST_H
#define DAEMON_POST_H

#include "daemon/loop.h"
#include "daemon/post_queue.h"

/* Plugs the mail in. -1 with a sentence if it cannot be. */
int post_plug(struct daemon *daemon, struct error *err);

/* Decides and sends what is due now, each row once; returns the exit status:
 * EXIT_DONE, EXIT_TRY_LATER, EXIT_FAILED, with a sentence on standard error.
 * bulletin may be NULL. */
int post_once(const struct post_place *place, const struct bulletin *bulletin,
              utc_s now);

/* thawbelld --mail-test: one mail to each recipient of each operation, sent at
 * once, with what became of it on standard output. Exit status. */
int mail_test_run(const struct options *options);

#endif
