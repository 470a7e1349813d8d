/* thawbell note: the logbook. What is noted goes into the spool, where it
 * waits until the daemon takes it in. */
#include "command/note.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/trade.h"
#include "base/words.h"
#include "command/published.h"
#include "logbook/log_csv.h"
#include "logbook/note_words.h"
#include "logbook/spool.h"

enum { OUT_MAX_BYTES = 32 * 1024 * 1024 };

/* All that a subcommand works with. */
struct noting {
    const struct options *options;
    struct operation operation;
    struct logbook book;
    const char *bushes[CONFIG_MAX_BUSHES];
    struct show_style style;
};

static int complain(int code, const char *sentence)
{
    fprintf(stderr, "thawbell: %s\n", sentence);
    return code;
}

/* Later than all that is in the book, so that its number will hold, whatever
 * this machine's clock says. */
static utc_s written_now(const struct logbook *book)
{
    utc_s now = options_clock();

    for (int i = 0; i < book->count; i++)
        if (book->records[i].written >= now)
            now = book->records[i].written + 1;
    return now;
}

static int sign(struct noting *noting, struct log_record *record,
                struct error *err)
{
    uint64_t random;

    if (getrandom(&random, sizeof random, 0) != (ssize_t)sizeof random)
        return error_set(err, _("no random number for the note: %s"),
                         words_errno(errno));
    record->written = written_now(&noting->book);
    record->waiting = true;
    log_uid_make(record->written, random, record->uid);
    return 0;
}

static int put_in_spool(struct noting *noting, const struct logbook *records,
                        struct error *err)
{
    char *folder = config_spool_folder(noting->operation.config);
    int result =
        spool_write(folder, noting->operation.config->slug, records, err);

    if (result != 0 && file_exists(folder) && access(folder, W_OK) != 0)
        error_set(err,
                  _("%s: you may not write there; the notes of others go "
                    "through a group, see spool in thawbell.conf(5)"),
                  folder);
    free(folder);
    return result;
}

static int write_record(struct noting *noting, struct log_record *record,
                        struct error *err)
{
    struct logbook alone = {0};
    int result = -1;

    if (sign(noting, record, err) == 0) {
        logbook_add(&alone, record);
        result = put_in_spool(noting, &alone, err);
    }
    logbook_free(&alone);
    if (result == 0) {
        logbook_add(&noting->book, record);
        logbook_settle(&noting->book);
    }
    return result;
}

enum said { SAID_NOTED, SAID_CHANGED, SAID_REMOVED };

/* "noted as 12: collected 42 gal, north, 2026-03-06 17:00" */
static void say(const struct noting *noting, enum said said, int number,
                const struct log_note *note)
{
    char moment[24];
    struct text what;

    if (noting->options->verbosity < 0)
        return;
    text_init(&what, 4096);
    note_phrase(note, noting->style.units, &what);
    if (note->bush[0] != '\0')
        text_addf(&what, ", %s", note->bush);
    note_moment(noting->operation.zone, note->at, moment);
    if (said == SAID_NOTED)
        printf(_("noted as %d: %s, %s\n"), number, what.bytes, moment);
    else if (said == SAID_CHANGED)
        printf(_("number %d is now: %s, %s\n"), number, what.bytes, moment);
    else
        printf(_("removed number %d: %s, %s\n"), number, what.bytes, moment);
    text_free(&what);
}

static void doubt(const struct noting *noting, int number,
                  const struct log_note *note)
{
    struct log_view view;

    log_view_make(&noting->book, false, &view);
    note_doubt(&view, &noting->operation, number, note, noting->style.units);
    log_view_free(&view);
}

static struct note_context context_of(const struct noting *noting)
{
    return (struct note_context){.now = options_now(noting->options),
                                 .zone = noting->operation.zone,
                                 .bushes = noting->bushes,
                                 .bush_count =
                                     noting->operation.config->bush_count};
}

static int take_remark(const struct noting *noting, struct log_note *note,
                       struct error *err)
{
    const char *remark = noting->options->own[NOTE_REMARK];

    if (remark == NULL)
        return 0;
    if (strlen(remark) >= sizeof note->remark)
        return error_set(err, _("--remark is longer than %zu bytes"),
                         sizeof note->remark - 1);
    snprintf(note->remark, sizeof note->remark, "%s", remark);
    return 0;
}

static int note_new(struct noting *noting, enum log_kind kind)
{
    struct log_record record = {.change = LOG_NEW, .note = {.kind = kind}};
    struct note_context context = context_of(noting);
    struct error err = {""};

    if (take_remark(noting, &record.note, &err) != 0 ||
        note_words_parse(&context, noting->options->words + 1,
                         noting->options->word_count - 1, &record.note,
                         &err) != 0)
        return complain(EXIT_USAGE, err.text);
    if (write_record(noting, &record, &err) != 0)
        return complain(EXIT_FAILED, err.text);
    for (int i = 0; i < noting->book.count; i++)
        if (strcmp(noting->book.records[i].uid, record.uid) == 0)
            record.number = noting->book.records[i].number;
    say(noting, SAID_NOTED, record.number, &record.note);
    doubt(noting, record.number, &record.note);
    return EXIT_DONE;
}

/* The entry whose number is the second word. */
static int find_entry(const struct noting *noting, struct log_entry *out,
                      struct error *err)
{
    const struct options *options = noting->options;
    const struct log_entry *entry;
    struct log_view view;
    long number;
    int result = 0;

    if (options->word_count < 2 ||
        !integer_parse(options->words[1], 1, 1000000000, &number))
        return error_set(err,
                         _("which entry? Give its number, as \"thawbell note "
                           "list\" shows it: thawbell note %s 12"),
                         options->words[0]);
    log_view_make(&noting->book, true, &view);
    entry = log_view_find(&view, (int)number);
    if (entry == NULL)
        result = error_set(err, _("there is no entry of number %ld"), number);
    else if (entry->removed)
        result = error_set(err, _("number %ld is removed already"), number);
    else
        *out = *entry;
    log_view_free(&view);
    return result;
}

static bool same_note(const struct log_note *a, const struct log_note *b)
{
    for (int i = 0; i < LOG_FIGURE_COUNT; i++)
        if (a->has[i] != b->has[i] ||
            (a->has[i] &&
             (a->figure[i] < b->figure[i] || a->figure[i] > b->figure[i])))
            return false;
    return a->at == b->at && a->sign == b->sign &&
           a->has_grade == b->has_grade &&
           (!a->has_grade || a->grade == b->grade) &&
           strcmp(a->bush, b->bush) == 0 && strcmp(a->remark, b->remark) == 0;
}

static int parse_correction(const struct noting *noting,
                            const struct log_note *before,
                            struct log_note *note, struct error *err)
{
    struct note_context context = context_of(noting);

    *note = *before;
    if (take_remark(noting, note, err) != 0 ||
        note_words_parse(&context, noting->options->words + 2,
                         noting->options->word_count - 2, note, err) != 0)
        return -1;
    if (same_note(before, note))
        return error_set(err, "%s",
                         _("nothing is changed by that: say what is right, "
                           "such as: thawbell note correct 12 45 gal"));
    return 0;
}

static int note_correct(struct noting *noting)
{
    struct log_record record = {.change = LOG_CORRECTION};
    struct log_entry entry = {0};
    struct error err = {""};

    if (find_entry(noting, &entry, &err) != 0 ||
        parse_correction(noting, &entry.note, &record.note, &err) != 0)
        return complain(EXIT_USAGE, err.text);
    snprintf(record.target, sizeof record.target, "%s", entry.uid);
    if (write_record(noting, &record, &err) != 0)
        return complain(EXIT_FAILED, err.text);
    say(noting, SAID_CHANGED, entry.number, &record.note);
    doubt(noting, entry.number, &record.note);
    return EXIT_DONE;
}

static int note_remove(struct noting *noting)
{
    struct log_record record = {.change = LOG_REMOVAL};
    struct log_entry entry = {0};
    struct error err = {""};

    if (find_entry(noting, &entry, &err) != 0)
        return complain(EXIT_USAGE, err.text);
    if (noting->options->word_count > 2)
        return complain(EXIT_USAGE,
                        _("one number at a time: thawbell note remove 12"));
    snprintf(record.target, sizeof record.target, "%s", entry.uid);
    if (write_record(noting, &record, &err) != 0)
        return complain(EXIT_FAILED, err.text);
    say(noting, SAID_REMOVED, entry.number, &entry.note);
    return EXIT_DONE;
}

static void print_text(struct text *out)
{
    fputs(out->bytes, stdout);
    text_free(out);
}

/* The season of the second word, else this one; -1 for a word that is none. */
static int season_of_word(const struct noting *noting)
{
    const struct options *options = noting->options;
    long year;

    if (options->word_count < 2)
        return log_season_of(noting->operation.zone, options_now(options));
    return integer_parse(options->words[1], 1900, 2999, &year) ? (int)year : -1;
}

static int no_season(const struct noting *noting)
{
    struct error err;

    error_set(&err, _("\"%.40s\" is no year of a season, such as 2026"),
              noting->options->words[1]);
    return complain(EXIT_USAGE, err.text);
}

static int note_list(struct noting *noting)
{
    bool all = noting->options->own[NOTE_ALL] != NULL;
    int season = season_of_word(noting);
    struct text out;

    if (season < 0)
        return no_season(noting);
    if (noting->options->json) {
        char *json =
            note_list_json(&noting->book, &noting->operation, season, all);

        fputs(json, stdout);
        free(json);
        return EXIT_DONE;
    }
    text_init(&out, OUT_MAX_BYTES);
    note_list_show(&noting->book, &noting->operation, season, all,
                   noting->style.units, &out);
    print_text(&out);
    return EXIT_DONE;
}

static int note_season(struct noting *noting)
{
    struct log_bush bushes[CONFIG_MAX_BUSHES];
    const struct config *config = noting->operation.config;
    struct log_season *season = mem_alloc(1, sizeof *season);
    struct log_view view;
    struct text out;
    int year = season_of_word(noting);

    for (int i = 0; i < config->bush_count; i++)
        bushes[i] =
            (struct log_bush){config->bushes[i].name, config->bushes[i].taps};
    log_view_make(&noting->book, false, &view);
    log_season_make(&view, noting->operation.zone, year, bushes,
                    config->bush_count, season);
    text_init(&out, OUT_MAX_BYTES);
    if (year >= 0 && noting->options->json) {
        char *json = note_season_json(season, bushes, config->bush_count,
                                      &noting->operation);

        text_add(&out, json);
        free(json);
    } else if (year >= 0 &&
               !note_season_empty(&view, noting->operation.zone, year, &out)) {
        note_season_show(season, bushes, config->bush_count,
                         noting->operation.zone, &noting->style, &out);
    }
    print_text(&out);
    log_view_free(&view);
    free(season);
    return year < 0 ? no_season(noting) : EXIT_DONE;
}

static int note_export(struct noting *noting)
{
    char *csv = log_csv_write(&noting->book, noting->operation.zone,
                              noting->options->own[NOTE_ALL] != NULL);

    fputs(csv, stdout);
    free(csv);
    return EXIT_DONE;
}

/* What is in the file and not in the book. */
static int read_new(struct noting *noting, const char *path,
                    struct logbook *fresh, int *known, struct error *err)
{
    struct logbook all = {0};
    char *bytes = NULL;
    size_t length;
    int result = file_read(path, SPOOL_MAX_BYTES / 2, &bytes, &length, err);
    int before = noting->book.count;

    for (int i = 0; i < before; i++)
        logbook_add(&all, &noting->book.records[i]);
    if (result == 0 &&
        log_csv_read(bytes, length, noting->operation.zone,
                     written_now(&noting->book), &all, known, err) != 0)
        result = error_prefix(err, "%s: ", path);
    for (int i = before; result == 0 && i < all.count; i++)
        logbook_add(fresh, &all.records[i]);
    logbook_free(&all);
    free(bytes);
    return result;
}

static void doubt_all(struct noting *noting, const struct logbook *fresh)
{
    struct log_view view;

    for (int i = 0; i < fresh->count; i++)
        logbook_add(&noting->book, &fresh->records[i]);
    logbook_settle(&noting->book);
    log_view_make(&noting->book, false, &view);
    note_doubt_all(&view, &noting->operation, fresh, noting->style.units);
    log_view_free(&view);
}

static int note_import(struct noting *noting)
{
    const struct options *options = noting->options;
    struct logbook fresh = {0};
    struct error err = {""};
    int known = 0, code = EXIT_DONE;

    if (options->word_count != 2)
        return complain(EXIT_USAGE,
                        _("which file? thawbell note import FILE (- is "
                          "standard input)"));
    if (read_new(noting, options->words[1], &fresh, &known, &err) != 0 ||
        (fresh.count > 0 && put_in_spool(noting, &fresh, &err) != 0))
        code = complain(EXIT_FAILED, err.text);
    else if (options->verbosity >= 0)
        printf(_("%d noted, %d were there already\n"), fresh.count, known);
    if (code == EXIT_DONE && fresh.count > 0)
        doubt_all(noting, &fresh);
    logbook_free(&fresh);
    return code;
}

static const struct {
    const char *word;
    int (*run)(struct noting *noting);
} acts[] = {
    {"list", note_list},     {"season", note_season}, {"correct", note_correct},
    {"remove", note_remove}, {"export", note_export}, {"import", note_import},
};

enum { ACT_COUNT = sizeof acts / sizeof acts[0] };

static int unknown_word(const char *word)
{
    const char *known[ACT_COUNT + LOG_KIND_COUNT], *near;
    struct error err;
    int count = 0;

    for (int i = 0; i < LOG_KIND_COUNT; i++)
        known[count++] = log_kind_word((enum log_kind)i);
    for (int i = 0; i < ACT_COUNT; i++)
        known[count++] = acts[i].word;
    near = nearest_word(word, known, count);
    if (near != NULL)
        error_set(&err, _("\"%.40s\" cannot be noted; did you mean %s?"), word,
                  near);
    else
        error_set(&err,
                  _("\"%.40s\" cannot be noted. What can: tapped, collected, "
                    "boiled, drew, off-flavour, pulled; and list, season, "
                    "correct, remove, export, import"),
                  word);
    return complain(EXIT_USAGE, err.text);
}

static int run(struct noting *noting)
{
    const char *word = noting->options->words[0];
    int kind = log_kind_from_word(word);

    if (kind >= 0)
        return note_new(noting, (enum log_kind)kind);
    for (int i = 0; i < ACT_COUNT; i++)
        if (strcmp(acts[i].word, word) == 0)
            return acts[i].run(noting);
    return unknown_word(word);
}

int command_note(const struct options *options)
{
    struct noting noting = {.options = options};
    int code = operation_open(options, &noting.operation);

    if (code == EXIT_DONE) {
        const struct config *config = noting.operation.config;

        for (int i = 0; i < config->bush_count; i++)
            noting.bushes[i] = config->bushes[i].name;
        noting.style = published_style(options, config->units);
        code = operation_read_log(&noting.operation, &noting.book) == 0
                   ? run(&noting)
                   : EXIT_FAILED;
    }
    logbook_free(&noting.book);
    operation_close(&noting.operation);
    return code;
}
