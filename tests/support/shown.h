/* What the shell shows of a fake bulletin in US units, as a text that the
 * caller frees. */
#ifndef SUPPORT_SHOWN_H
#define SUPPORT_SHOWN_H

#include "base/text.h"
#include "fake_bulletin.h"
#include "publish/show.h"

enum { SHOWN_MAX_BYTES = 100000 };

static inline char *shown_line(const struct bulletin *bulletin, utc_s now,
                               int columns)
{
    struct show_style style = {UNITS_US, columns, false};
    struct text out;

    text_init(&out, SHOWN_MAX_BYTES);
    show_line(bulletin, now, &style, &out);
    return text_steal(&out);
}

static inline char *shown_week(const struct bulletin *bulletin, utc_s now,
                               int columns)
{
    struct show_style style = {UNITS_US, columns, false};
    struct text out;

    text_init(&out, SHOWN_MAX_BYTES);
    show_week(bulletin, now, &style, &out);
    return text_steal(&out);
}

/* Of a day in March, read when the bulletin was made. */
static inline char *shown_why(const struct bulletin *bulletin, int day)
{
    struct show_style style = {UNITS_US, 80, false};
    struct error err = {""};
    struct text out;

    text_init(&out, SHOWN_MAX_BYTES);
    if (show_why(bulletin, FAKE_MADE, (struct civil_date){2026, 3, day}, &style,
                 &out, &err) != 0) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    return text_steal(&out);
}

#endif
