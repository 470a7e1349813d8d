/* What a person reads in the shell, from a bulletin. */
#ifndef PUBLISH_SHOW_H
#define PUBLISH_SHOW_H

#include "base/text.h"
#include "publish/bulletin.h"

/* From this age on the forecast's age is told; from the second on it is told
 * first. Ours: the services renew theirs every one to six hours. */
enum {
    SHOW_OLD_S = 6 * SECONDS_PER_HOUR,
    SHOW_VERY_OLD_S = 24 * SECONDS_PER_HOUR
};

struct show_style {
    enum unit_system units;
    int columns; /* of the terminal; 80 if unknown */
    bool colour; /* only on a terminal; never alone to carry meaning */
};

/* The line: today and tonight, at most 80 columns, with the age when the
 * data are old. No newline. */
void show_line(const struct bulletin *bulletin, utc_s now,
               const struct show_style *style, struct text *out);
/* Words for a status bar; none of them is ever empty. */
enum { SHOW_BAR_SIZE = 1200 };
struct show_bar {
    char words[SHOW_BAR_SIZE]; /* at most 40 columns */
    char fewer[SHOW_BAR_SIZE]; /* at most 24 */
    char more[SHOW_BAR_SIZE];  /* the line and the next days, each on a line */
    const char *state;         /* of today: "none" to "big-run", "unknown" */
    bool old;                  /* from SHOW_OLD_S on, or run out */
    int chance_percent;        /* of a run today; 0 where it is not known */
};
void show_bar(const struct bulletin *bulletin, utc_s now,
              enum unit_system units, struct show_bar *out);
/* The same where there is no bulletin; why: one sentence. */
void show_bar_nothing(const char *why, struct show_bar *out);
/* The table of the coming days, from the civil day of `now`, with what the
 * columns mean and what is wrong below. Columns come in as the width allows:
 * it fits 80 and uses 120. */
void show_week(const struct bulletin *bulletin, utc_s now,
               const struct show_style *style, struct text *out);
/* What drives a day's score; -1 if the bulletin does not hold the day. */
int show_why(const struct bulletin *bulletin, utc_s now, struct civil_date date,
             const struct show_style *style, struct text *out,
             struct error *err);

#endif
