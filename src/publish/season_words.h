/* The season in sentences, for the line, the tables and the calendar. Inside
 * publish/ only. */
#ifndef PUBLISH_SEASON_WORDS_H
#define PUBLISH_SEASON_WORDS_H

#include "base/text.h"
#include "publish/bulletin.h"

enum { SEASON_WORDS_MAX = 2000 };

/* Stage, the buds' next date, when to tap or to pull, the last good run:
 * sentences one after another, for the reader of `today`. Nothing where the
 * bush has no season. */
void season_words(const struct bulletin_bush *bush, struct civil_date today,
                  struct text *out);
/* All of it, and the risk on a day the bulletin holds. */
void season_words_of_day(const struct bulletin_bush *bush,
                         struct civil_date date, struct text *out);

/* What of the season matters today in the line. */
enum season_matter {
    SEASON_MATTERS_NOT,
    SEASON_MATTERS_LAST_RUN, /* the run in sight is likely the last good one */
    SEASON_MATTERS_BUDS,     /* an off-flavour is near */
    SEASON_MATTERS_OVER      /* the taps are past their time */
};
/* Of the bush with the most taps that has something to say; *bush is it. */
enum season_matter season_matter(const struct bulletin *bulletin,
                                 struct civil_date today,
                                 const struct bulletin_bush **bush);

#endif
