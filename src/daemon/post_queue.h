/* From a decision to rows of the outbox, in one transaction with the memory
 * of what was told. */
#ifndef DAEMON_POST_QUEUE_H
#define DAEMON_POST_QUEUE_H

#include "config/config.h"
#include "daemon/post_decide.h"
#include "store/store.h"

/* An operation as the mail sees it; all borrowed. */
struct post_place {
    const struct config *config;
    const struct zone *zone;
    const char *folder; /* of its published files */
    struct store *store;
};

/* Decides by the bulletin (NULL: by what is published) and writes what is to
 * be sent, one row a recipient, together with the memory: all of it or
 * nothing. Nothing where no mail is configured. `due` as in struct post_rules.
 * *queued (may be NULL): how many rows came; *next: when to look again. */
int post_queue(const struct post_place *place, const struct bulletin *bulletin,
               utc_s now, utc_s due, int *queued, utc_s *next,
               struct error *err);

/* For others who have something to tell: one mail to all recipients of the
 * operation, in the caller's transaction or one of its own. A mail of that
 * name that is there already stays. */
struct mail_letter;
int post_put(const struct post_place *place, const char *kind, const char *name,
             const struct mail_letter *letter, utc_s now, utc_s best_before,
             int *queued, struct error *err);

#endif
