/* thawbell week: a table of the coming days. */
#include <stdio.h>
#include <stdlib.h>

#include "command/published.h"

enum { WEEK_MAX_BYTES = 256 * 1024 };

static void print_json(const struct published *published, utc_s now)
{
    char *json = bulletin_week_json(published->bulletin, now);

    fputs(json, stdout);
    free(json);
}

static void print_week(const struct published *published, utc_s now)
{
    struct text out;

    text_init(&out, WEEK_MAX_BYTES);
    show_week(published->bulletin, now, &published->style, &out);
    fputs(out.bytes, stdout);
    text_free(&out);
}

int command_week(const struct options *options)
{
    struct published published;
    int code = published_read(options, &published);

    if (code == EXIT_DONE && options->json)
        print_json(&published, options_now(options));
    else if (code == EXIT_DONE)
        print_week(&published, options_now(options));
    published_free(&published);
    return code;
}
