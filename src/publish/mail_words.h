/* Words that the parts of a mail share. Inside publish/ only. */
#ifndef PUBLISH_MAIL_WORDS_H
#define PUBLISH_MAIL_WORDS_H

#include "publish/bulletin.h"

/* Is there a fire to tend among the actions ahead? */
bool mail_tells_of_fire(const struct bulletin *bulletin, utc_s now);
const char *mail_caution_fire(void);
const char *mail_caution_all(void);

/* What the chart shows, for one who does not see it; the caller frees. */
char *mail_chart_words(const struct bulletin *bulletin, utc_s now);
/* When it was made and how old the weather is; the caller frees. */
char *mail_age_words(const struct bulletin *bulletin, utc_s now);

/* The part for those who see letters alone, and the one with pictures, NULL if
 * it would be longer than mail programs show; the caller frees. png may be
 * NULL. */
char *mail_morning_text(const struct bulletin *bulletin, utc_s now,
                        const char *page);
struct chart_png;
char *mail_morning_html(const struct bulletin *bulletin, utc_s now,
                        const char *page, const struct chart_png *png);

#endif
