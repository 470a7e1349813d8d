/* thawbell why [DATE]: what drives a day's score. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/words.h"
#include "command/published.h"

enum { WHY_MAX_BYTES = 256 * 1024 };

static int complain(int code, const struct error *err)
{
    fprintf(stderr, "thawbell: %s\n", err->text);
    return code;
}

/* "2026-03-07", "today", "tomorrow"; today without a word. */
static int read_date(const struct options *options,
                     const struct bulletin *bulletin, struct civil_date *date,
                     struct error *err)
{
    struct civil_date today = bulletin_date(bulletin, options_now(options));
    const char *word = options->word_count > 0 ? options->words[0] : "today";

    *date = today;
    if (strcmp(word, "tomorrow") == 0)
        *date = civil_date_add(today, 1);
    else if (strcmp(word, "today") != 0 &&
             iso_date_parse(word, date, NULL) != 0)
        return error_set(err,
                         _("\"%.40s\" is no day: write 2026-03-07, today or "
                           "tomorrow"),
                         word);
    return 0;
}

static int print_json(const struct published *published, struct civil_date date,
                      struct error *err)
{
    char *json = bulletin_day_json(published->bulletin, date);
    char words[ISO_DATE_SIZE];

    iso_date(date, words);
    if (json == NULL)
        return error_set(err, _("%s is not in the bulletin"), words);
    fputs(json, stdout);
    free(json);
    return 0;
}

static int print_why(const struct published *published, utc_s now,
                     struct civil_date date, struct error *err)
{
    struct text out;
    int result;

    text_init(&out, WHY_MAX_BYTES);
    result =
        show_why(published->bulletin, now, date, &published->style, &out, err);
    fputs(out.bytes, stdout);
    text_free(&out);
    return result;
}

static int tell(const struct published *published,
                const struct options *options)
{
    struct error err = {""};
    struct civil_date date;
    int result;

    if (read_date(options, published->bulletin, &date, &err) != 0)
        return complain(EXIT_USAGE, &err);
    result = options->json
                 ? print_json(published, date, &err)
                 : print_why(published, options_now(options), date, &err);
    return result == 0 ? EXIT_DONE : complain(EXIT_FAILED, &err);
}

int command_why(const struct options *options)
{
    struct published published;
    int code = published_read(options, &published);

    if (code == EXIT_DONE)
        code = tell(&published, options);
    published_free(&published);
    return code;
}
