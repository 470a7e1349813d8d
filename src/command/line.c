/* thawbell: one line of today and tonight. */
#include <stdio.h>

#include "command/published.h"

enum { LINE_MAX_BYTES = 1024 };

static void print_line(const struct published *published, utc_s now)
{
    struct text out;

    text_init(&out, LINE_MAX_BYTES);
    show_line(published->bulletin, now, &published->style, &out);
    puts(out.bytes);
    text_free(&out);
}

int command_line(const struct options *options)
{
    struct published published;
    int code = published_read(options, &published);

    if (code == EXIT_DONE && options->json)
        fwrite(published.bytes, 1, published.length, stdout);
    else if (code == EXIT_DONE)
        print_line(&published, options_now(options));
    published_free(&published);
    return code;
}
