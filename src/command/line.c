/* thawbell: one line of today and tonight; with -o all, one of each
 * operation. */
#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "command/published.h"

enum { LINE_MAX_BYTES = 1024, FEWEST_COLUMNS = 40 };

static void print_line(const struct published *published, utc_s now)
{
    struct text out;

    text_init(&out, LINE_MAX_BYTES);
    show_line(published->bulletin, now, &published->style, &out);
    puts(out.bytes);
    text_free(&out);
}

/* Under its name, as wide together as the line alone, if that leaves room. */
static void print_named(struct published *published, utc_s now)
{
    const char *name = published->bulletin->operation;
    int columns = published->style.columns - utf8_columns(name) - 2;

    published->style.columns =
        columns > FEWEST_COLUMNS ? columns : FEWEST_COLUMNS;
    printf("%s: ", name);
    print_line(published, now);
}

static int print_one(const struct options *options, const char *file, utc_s now)
{
    struct options one = *options;
    struct published published;
    const char *before = words_language();
    int code;

    one.config = file;
    one.operation = NULL;
    code = published_read(&one, &published);
    if (code == EXIT_DONE && options->json)
        fwrite(published.bytes, 1, published.length, stdout);
    else if (code == EXIT_DONE)
        print_named(&published, now);
    published_free(&published);
    words_use(before);
    return code;
}

/* What is wrong with one does not silence the others. */
static int print_all(const struct options *options)
{
    struct error err = {""};
    char **files;
    int count, code = EXIT_DONE;

    if (config_find(options->config, &files, &count, &err) != 0) {
        fprintf(stderr, "thawbell: %s\n", err.text);
        return EXIT_USAGE;
    }
    for (int i = 0; i < count; i++) {
        int one = print_one(options, files[i], options_now(options));

        code = one != EXIT_DONE ? one : code;
    }
    config_files_free(files, count);
    return code;
}

int command_line(const struct options *options)
{
    struct published published;
    int code;

    if (options->operation != NULL && strcmp(options->operation, "all") == 0)
        return print_all(options);
    code = published_read(options, &published);
    if (code == EXIT_DONE && options->json)
        fwrite(published.bytes, 1, published.length, stdout);
    else if (code == EXIT_DONE)
        print_line(&published, options_now(options));
    published_free(&published);
    return code;
}
