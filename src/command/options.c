/* Options from tables. */
#include "command/options.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/memory.h"
#include "base/trade.h"
#include "base/words.h"

/* How a common option is taken; those without are set by name below. */
static const struct option_row common[] = {
    {"--config", 'c', N_("FILE"),
     N_("configuration file, or a folder of them, in place of the usual "
        "ones")},
    {"--operation", 'o', N_("OPERATION"),
     N_("the operation meant, if there are several")},
    {"--at", 0, N_("TIME"),
     N_("pretend that it is this time, such as 2026-03-07T18:00-05:00")},
    {"--json", 0, NULL, N_("JSON for programs")},
    {"--units", 0, N_("us|metric"), N_("units to show")},
    {"--lang", 0, N_("en|fr"), N_("language to show")},
    {"--quiet", 'q', NULL, N_("errors only")},
    {"--verbose", 'v', NULL, N_("tell more; twice for still more")},
    {"--version", 0, NULL, N_("print the version and exit")},
    {"--help", 'h', NULL, N_("print this help and exit")},
    {NULL, 0, NULL, NULL},
};

const struct option_row *options_common(void)
{
    return common;
}

/* What is being parsed, and where. */
struct parsing {
    int argc, at;
    char **argv;
    const struct option_row *own;
    struct options *out;
    struct error *err;
};

static const struct option_row *row_by_name(const struct option_row *rows,
                                            const char *name, size_t length)
{
    for (; rows && rows->name; rows++)
        if (strlen(rows->name) == length &&
            strncmp(rows->name, name, length) == 0)
            return rows;
    return NULL;
}

static const struct option_row *row_by_letter(const struct option_row *rows,
                                              char letter)
{
    for (; rows && rows->name; rows++)
        if (rows->letter == letter)
            return rows;
    return NULL;
}

static int take_at(struct options *out, const char *value, struct error *err)
{
    utc_s other = 0;
    /* Without an offset the answer would hang on this machine's clock. */
    if (iso_time_parse(value, 0, &out->at, err))
        return error_prefix(err, "--at %s: ", value);
    iso_time_parse(value, SECONDS_PER_HOUR, &other, NULL);
    if (other != out->at)
        return error_set(err,
                         _("--at %s: the offset is missing; write Z for UTC, "
                           "or one such as -05:00"),
                         value);
    out->has_at = true;
    return 0;
}

static int take_units(struct options *out, const char *value, struct error *err)
{
    bool us = strcmp(value, "us") == 0;
    if (!us && strcmp(value, "metric") != 0)
        return error_set(err, _("--units %s: not known; us or metric"), value);
    out->has_units = true;
    out->units = us ? UNITS_US : UNITS_METRIC;
    return 0;
}

static int take_language(struct options *out, const char *value,
                         struct error *err)
{
    if (strcmp(value, "en") != 0 && strcmp(value, "fr") != 0)
        return error_set(err, _("--lang %s: not known; en or fr"), value);
    out->language = value;
    return 0;
}

static int take_common(struct options *out, const char *name, const char *value,
                       struct error *err)
{
    if (strcmp(name, "--at") == 0)
        return take_at(out, value, err);
    if (strcmp(name, "--units") == 0)
        return take_units(out, value, err);
    if (strcmp(name, "--lang") == 0)
        return take_language(out, value, err);
    if (strcmp(name, "--config") == 0)
        out->config = value;
    else if (strcmp(name, "--operation") == 0)
        out->operation = value;
    else if (strcmp(name, "--json") == 0)
        out->json = true;
    else if (strcmp(name, "--quiet") == 0)
        out->verbosity = -1;
    else if (strcmp(name, "--verbose") == 0)
        out->verbosity = out->verbosity < 0 ? 1 : out->verbosity + 1;
    else if (strcmp(name, "--version") == 0)
        out->version = true;
    else if (strcmp(name, "--help") == 0)
        out->help = true;
    return 0;
}

static int take_row(struct parsing *parsing, const struct option_row *row,
                    bool is_own, const char *value)
{
    if (!is_own)
        return take_common(parsing->out, row->name, value, parsing->err);
    parsing->out->own[row - parsing->own] = value;
    return 0;
}

/* Finds the value of an option: given with it, or the next word; "" for one
 * that has none. */
static int find_value(struct parsing *parsing, const struct option_row *row,
                      const char *given, const char **value)
{
    *value = given != NULL ? given : "";
    if (!row->value && given)
        return error_set(parsing->err, _("%s takes no value"), row->name);
    if (!row->value || given)
        return 0;
    if (parsing->at + 1 >= parsing->argc)
        return error_set(parsing->err, _("%s needs a value: %s"), row->name,
                         _(row->value));
    *value = parsing->argv[++parsing->at];
    return 0;
}

static int unknown_option(const struct parsing *parsing, const char *word,
                          size_t length)
{
    enum { MOST = 64 };
    const char *known[MOST];
    int count = 0;
    for (const struct option_row *row = common; row->name; row++)
        known[count++] = row->name;
    for (const struct option_row *row = parsing->own;
         row && row->name && count < MOST; row++)
        known[count++] = row->name;
    char *name = mem_copy_bytes(word, length);
    const char *near = nearest_word(name, known, count);
    if (near)
        error_set(parsing->err,
                  _("option %.60s is not known; did you mean %s?"), name, near);
    else
        error_set(parsing->err, _("option %.60s is not known; see --help"),
                  name);
    free(name);
    return -1;
}

static int parse_long(struct parsing *parsing, const char *word)
{
    size_t length = strcspn(word, "=");
    const char *given = word[length] == '=' ? word + length + 1 : NULL;
    const struct option_row *own = row_by_name(parsing->own, word, length);
    const struct option_row *row =
        own ? own : row_by_name(common, word, length);
    const char *value = "";
    if (!row)
        return unknown_option(parsing, word, length);
    if (find_value(parsing, row, given, &value))
        return -1;
    return take_row(parsing, row, own, value);
}

/* "-v", "-vv", "-qc FILE", "-cFILE". */
static int parse_letters(struct parsing *parsing, const char *word)
{
    for (const char *letter = word + 1; *letter; letter++) {
        const struct option_row *own = row_by_letter(parsing->own, *letter);
        const struct option_row *row =
            own ? own : row_by_letter(common, *letter);
        const char *value = "";
        if (!row)
            return unknown_option(parsing, word, strlen(word));
        bool joined = row->value && letter[1];
        if (find_value(parsing, row, joined ? letter + 1 : NULL, &value) ||
            take_row(parsing, row, own, value))
            return -1;
        if (joined)
            break;
    }
    return 0;
}

static int take_word(struct parsing *parsing, const char *word)
{
    struct options *out = parsing->out;
    int most = (int)(sizeof out->words / sizeof out->words[0]);
    if (out->word_count == most)
        return error_set(parsing->err, _("too many words, at most %d"), most);
    out->words[out->word_count++] = word;
    return 0;
}

int options_parse(int argc, char **argv, const struct option_row *own,
                  struct options *out, struct error *err)
{
    *out = (struct options){0};
    struct parsing parsing = {
        .argc = argc, .argv = argv, .own = own, .out = out, .err = err};
    bool options_end = false;
    for (parsing.at = 1; parsing.at < argc; parsing.at++) {
        const char *word = argv[parsing.at];
        int result;
        if (options_end || word[0] != '-' || word[1] == '\0')
            result = take_word(&parsing, word);
        else if (strcmp(word, "--") == 0)
            options_end = true, result = 0;
        else if (word[1] == '-')
            result = parse_long(&parsing, word);
        else
            result = parse_letters(&parsing, word);
        if (result)
            return -1;
    }
    return 0;
}

/* The row of an option word such as "--units", "--units=us" or "-c", among
 * the common ones and those of all commands; NULL if there is none. */
static const struct option_row *row_anywhere(const char *word)
{
    bool is_long = word[1] == '-';
    size_t length = strcspn(word, "=");
    char letter = word[strlen(word) - 1];
    const struct option_row *row = is_long ? row_by_name(common, word, length)
                                           : row_by_letter(common, letter);
    const struct command *const *command = command_table();
    for (; !row && *command; command++)
        row = is_long ? row_by_name((*command)->rows, word, length)
                      : row_by_letter((*command)->rows, letter);
    return row;
}

int options_find_command(int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        const char *word = argv[i];
        if (word[0] != '-' || word[1] == '\0')
            return i;
        const struct option_row *row = row_anywhere(word);
        bool is_long = word[1] == '-';
        if (strcmp(word, "--") == 0 || (is_long && !row))
            return 0;
        if (row && row->value && !(is_long && strchr(word, '=')))
            i++;
    }
    return 0;
}

const char *options_language(int argc, char **argv)
{
    static const char name[] = "--lang";
    size_t length = sizeof name - 1;

    for (int i = 1; i < argc; i++) {
        if (strncmp(argv[i], name, length) != 0)
            continue;
        if (argv[i][length] == '=')
            return argv[i] + length + 1;
        if (argv[i][length] == '\0' && i + 1 < argc)
            return argv[i + 1];
    }
    return words_of_environment();
}

utc_s options_clock(void)
{
    return (utc_s)time(NULL);
}

utc_s options_now(const struct options *options)
{
    return options->has_at ? options->at : options_clock();
}
