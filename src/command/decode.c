/* A recorded answer of a weather service as the hourly table. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/trade.h"
#include "base/words.h"
#include "command/options.h"
#include "source/source.h"

static const char station[] = "station";

typedef int decode_fn(const char *bytes, size_t length, utc_s fetched,
                      struct source_answer *out, struct error *err);

static decode_fn *find_decoder(const char *name)
{
    const struct source *source = source_find(name);

    if (source)
        return source->decode;
    return strcmp(name, station) == 0 ? station_decode : NULL;
}

/* All services, for messages; owned by the caller. */
static char *list_services(void)
{
    struct text text;

    text_init(&text, 512);
    for (int i = 0; i < source_count(); i++)
        text_addf(&text, "%s, ", source_at(i)->name);
    text_add(&text, station);
    return text.bytes;
}

static int refuse_service(const char *name)
{
    int count = source_count();
    const char **known = mem_alloc((size_t)count + 1, sizeof *known);
    const char *nearest;
    char *all = list_services();

    for (int i = 0; i < count; i++)
        known[i] = source_at(i)->name;
    known[count] = station;
    nearest = nearest_word(name, known, count + 1);
    if (nearest)
        fprintf(stderr,
                _("thawbell: the service \"%s\" is not known; did you "
                  "mean %s?\n"),
                name, nearest);
    else
        fprintf(stderr,
                _("thawbell: the service \"%s\" is not known; there "
                  "are %s\n"),
                name, all);
    free(known);
    free(all);
    return EXIT_USAGE;
}

static void tell_refused(const struct source_answer *answer, const char *path)
{
    for (int i = 0; i < answer->refused.count; i++)
        fprintf(stderr, "%s: %s\n", path, answer->refused.items[i]);
    if (answer->members)
        fprintf(stderr, _("%s: members: %d, hours of each: %d\n"), path,
                answer->members->count, answer->members->hours);
}

static int print_series(const struct source_answer *answer, const char *path)
{
    char *csv;
    int result;

    if (!answer->series) {
        fprintf(stderr,
                _("thawbell: %s: holds members alone, no series to "
                  "print\n"),
                path);
        return EXIT_FAILED;
    }
    csv = series_to_csv(answer->series);
    result =
        fputs(csv, stdout) < 0 || fflush(stdout) != 0 ? EXIT_FAILED : EXIT_DONE;
    free(csv);
    if (result == EXIT_FAILED)
        fprintf(stderr, _("thawbell: the table could not be written whole\n"));
    return result;
}

static int decode_file(decode_fn *decode, const char *path, utc_s fetched)
{
    struct source_answer answer = {0};
    struct error err;
    char *bytes;
    size_t length;
    int result = EXIT_FAILED;

    if (file_read(path, SOURCE_MAX_BYTES, &bytes, &length, &err) < 0) {
        fprintf(stderr, "thawbell: %s\n", err.text);
        return EXIT_FAILED;
    }
    if (decode(bytes, length, fetched, &answer, &err) == 0) {
        tell_refused(&answer, path);
        result = print_series(&answer, path);
    } else {
        tell_refused(&answer, path);
        fprintf(stderr, "thawbell: %s: %s\n", path, err.text);
    }
    source_answer_free(&answer);
    free(bytes);
    return result;
}

/* When the answer was obtained is known only if --at tells it. */
int command_decode(const struct options *options)
{
    decode_fn *decode;
    char *all;

    if (options->word_count != 2) {
        all = list_services();
        fprintf(stderr,
                _("thawbell: write decode SERVICE FILE, with - for "
                  "standard input; services: %s\n"),
                all);
        free(all);
        return EXIT_USAGE;
    }
    decode = find_decoder(options->words[0]);
    if (!decode)
        return refuse_service(options->words[0]);
    return decode_file(decode, options->words[1],
                       options->has_at ? options->at : 0);
}
