/* What is to be mailed now: pure, on the clock and the memory it is given.
 *
 * The morning mail goes once a civil day at its hour: late rather than lost,
 * and not at all once noon has passed, unless it waited over noon for a turn.
 * An alert goes when a condition starts, not while it lasts; in the quiet hours
 * it is held, and if it no longer holds at their end it is never sent. A
 * morning mail tells all that holds then. */
#ifndef DAEMON_POST_DECIDE_H
#define DAEMON_POST_DECIDE_H

#include "base/civil_time.h"
#include "publish/mail_watch.h"

enum { POST_MORNING_END_MIN = 12 * 60 };

struct post_rules {
    unsigned alerts; /* bits by enum mail_kind */
    int morning_min; /* minute of the civil day */
    bool has_quiet;
    int quiet_from_min, quiet_to_min; /* may go over midnight */
    utc_s due; /* of a decision that waited for a turn; 0: it did not wait */
};

/* A condition between two looks at it. */
struct post_condition {
    bool active;
    utc_s since; /* when it started */
    utc_s seen;  /* when it last held, to the hour */
    utc_s told;  /* 0: not yet */
};

/* Kept in the store, in the same transaction as the outbox. */
struct post_memory {
    struct civil_date morning; /* the last one that was dealt with */
    struct post_condition conditions[MAIL_KINDS];
    bool has_told; /* what the reader was told to do */
    struct mail_told told[MAIL_MAX_TOLD];
    int told_count;
};

struct post_decision {
    bool morning;           /* send it */
    bool missed;            /* it is too late for it */
    struct civil_date date; /* of the morning mail */
    struct mail_condition alerts[MAIL_KINDS];
    utc_s since[MAIL_KINDS]; /* when each of them started */
    int alert_count;
};

/* bulletin may be NULL: nothing was ever published; then there is nothing to
 * tell, and the morning is not counted as dealt with until noon. */
void post_decide(const struct post_rules *rules, const struct zone *zone,
                 const struct bulletin *bulletin, utc_s now,
                 struct post_memory *memory, struct post_decision *out);

bool post_is_quiet(const struct post_rules *rules, const struct zone *zone,
                   utc_s now);
/* When to look again without a new bulletin: the next morning mail, the end
 * of the quiet hours. */
utc_s post_decide_next(const struct post_rules *rules, const struct zone *zone,
                       utc_s now);

/* JSON of the memory, the caller frees; and back. A text that cannot be read
 * gives the empty memory and -1 with a sentence. */
char *post_memory_to_json(const struct post_memory *memory);
int post_memory_from_json(const char *words, struct post_memory *out,
                          struct error *err);

#endif
