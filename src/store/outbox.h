/* Mail that must not be lost: written in the same transaction as what it
 * tells, one row a recipient, and each row kept until a server has taken it
 * or it is given up.
 *
 *     waiting --claim--> sending --settle--> sent | waiting | dead
 *        ^                  |
 *        +----- recover ----+        waiting --expire--> dead
 *
 * A claim is a transaction of its own, before the connection: a program that
 * dies while it sends leaves a row that says so, and the next one tries again
 * with the same bytes, so with the same Message-ID and Date. */
#ifndef STORE_OUTBOX_H
#define STORE_OUTBOX_H

#include "store/store.h"

struct outbox_recipient {
    const char *address;
    const char *message_id;
    const char *head; /* header lines of this copy alone, each with CR LF */
};

/* One mail to all its recipients. */
struct outbox_mail {
    const char *operation;
    /* Tells it apart from all others of the operation: "morning 2026-03-07".
     */
    const char *name;
    const char *kind;   /* "morning", "overflow", … */
    const char *sender; /* bare address */
    utc_s made;
    utc_s best_before; /* worthless from then on */
    const char *body;  /* the other header lines, an empty one, the text */
    size_t length;
    const struct outbox_recipient *recipients;
    int recipient_count;
};

/* Part of the transaction that the caller holds, or one of its own. A mail of
 * that name that is there already stays as it is: *added (may be NULL) is
 * then false. */
int outbox_put(struct store *store, const struct outbox_mail *mail, bool *added,
               struct error *err);

/* A row as claimed; freed with outbox_row_free. */
struct outbox_row {
    int64_t id;
    char *kind, *name, *sender, *recipient, *message_id;
    char *message; /* head and body */
    size_t length;
    int attempts; /* this one included */
    utc_s made, best_before;
};

void outbox_row_free(struct outbox_row *row);

/* At the start of the program: what was left sending waits again, at once.
 * *count (may be NULL): how many rows. */
int outbox_recover(struct store *store, utc_s now, int *count,
                   struct error *err);

/* Takes the row of the operation that is due longest; *found is false if none
 * is. */
int outbox_claim(struct store *store, const char *operation, utc_s now,
                 struct outbox_row *row, bool *found, struct error *err);

enum outbox_end { OUTBOX_SENT, OUTBOX_RETRY, OUTBOX_DEAD };

/* What became of an attempt: the server's answer in words, without secrets.
 * next counts for OUTBOX_RETRY alone. The Message-ID as claimed: a store that
 * has taken the place of a damaged one counts its rows anew, and the outcome
 * of a mail of the old one must not settle one of the new. */
int outbox_settle(struct store *store, int64_t id, const char *message_id,
                  utc_s now, enum outbox_end end, utc_s next, int reply,
                  const char *words, struct error *err);

/* Nothing of the operation that waits is due before `until`; `words` say why
 * not, NULL leaves what is known of each. */
int outbox_hold(struct store *store, const char *operation, utc_s until,
                const char *words, struct error *err);

/* What waits for longer than any wait of ours was put off by a wrong clock: it
 * is due now. */
int outbox_unstick(struct store *store, utc_s now, struct error *err);

/* When to try again after so many attempts: after 5, 15, 30 minutes, then
 * hourly, a tenth earlier or later by `seed` (the row's id). Not under five
 * minutes: a server that greylists wants that. */
utc_s outbox_next_attempt(utc_s now, int attempts, int64_t seed);

/* When the next waiting row of the operation is due or past its time; 0 if
 * none waits. */
int outbox_due(struct store *store, const char *operation, utc_s *due,
               struct error *err);

/* A row as it is told of. */
struct outbox_letter {
    char *kind, *name, *recipient, *words;
    int attempts, reply;
    utc_s made, settled;
};

struct outbox_letters {
    struct outbox_letter *items; /* owned */
    int count;
};

void outbox_letters_free(struct outbox_letters *letters);

/* Gives up what waits past its time, and tells which rows these are. */
int outbox_expire(struct store *store, const char *operation, utc_s now,
                  struct outbox_letters *given_up, struct error *err);

/* For so long `thawbell check` fails and the page tells of one given up. */
enum { OUTBOX_TOLD_S = 3 * SECONDS_PER_DAY };

/* How it stands with the mail of an operation. */
struct outbox_summary {
    int waiting, sending, sent, dead; /* rows there are */
    utc_s oldest; /* when the oldest that waits was written, 0: none */
    utc_s next;   /* when the next is due, 0: none waits */
    int attempts; /* of the one that was tried most */
    int reply;    /* the last answer to one that waits, 0: none */
    char *words;  /* … in words, or NULL; owned */
    /* Those given up since `since`, the newest first; at most 50. */
    struct outbox_letters given_up;
};

void outbox_summary_free(struct outbox_summary *summary);
int outbox_sum(struct store *store, const char *operation, utc_s since,
               struct outbox_summary *out, struct error *err);

/* Drops the mails all of whose rows were settled before that. */
int outbox_prune(struct store *store, utc_s before, struct error *err);

#endif
