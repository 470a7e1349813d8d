/* What in a bulletin is worth an alert: conditions that hold at an instant,
 * each with its words. Pure; when to send is the daemon's (post_decide.h). */
#ifndef PUBLISH_MAIL_WATCH_H
#define PUBLISH_MAIL_WATCH_H

#include "publish/bulletin.h"

/* In the order of the configuration's bits. */
enum mail_kind {
    MAIL_RUN_STARTING,
    MAIL_OVERFLOW,
    MAIL_SPOILAGE,
    MAIL_FREEZE_UP,
    MAIL_PLAN_CHANGED,
    MAIL_BUDDING,
    MAIL_FORECAST_STALE,
    MAIL_KINDS
};

/* "run-starting", "overflow", …; borrowed. */
const char *mail_kind_word(enum mail_kind kind);
int mail_kind_from_word(const char *word); /* or -1 */

enum { MAIL_LINES = 3, MAIL_LINE_SIZE = 640 };

struct mail_condition {
    enum mail_kind kind;
    utc_s best_before; /* an alert is worthless from then on */
    char subject[MAIL_LINE_SIZE];
    char lines[MAIL_LINES][MAIL_LINE_SIZE]; /* sentences; "" for none */
};

/* What was said to be done, to tell whether it has changed. */
struct mail_told {
    enum action_kind kind;
    struct civil_date date;
    utc_s start, end; /* 0 for a whole day */
};

enum {
    MAIL_MAX_TOLD = 32,
    MAIL_AHEAD_S = 24 * SECONDS_PER_HOUR, /* a loss is told so early */
    MAIL_RUN_AHEAD_S = 2 * SECONDS_PER_HOUR,
    MAIL_MOVED_S = 90 * 60, /* an action that moves by less has not changed */
    MAIL_BUDS_DAYS = 3      /* an alert of the buds is good for so long */
};

/* What the bulletin says is to be done from `now` to the end of tomorrow:
 * what a reader of the morning mail will rely on. Returns the count. */
int mail_tell(const struct bulletin *bulletin, utc_s now,
              struct mail_told told[MAIL_MAX_TOLD]);

/* The conditions that hold, at most one a kind, in the order of the kinds.
 * `told` is what was told last (may be NULL: then no plan has changed).
 * Returns the count. */
int mail_watch(const struct bulletin *bulletin, utc_s now,
               const struct mail_told *told, int told_count,
               struct mail_condition out[MAIL_KINDS]);

#endif
