/* Options, from their tables. */
#include <string.h>

#include "command/options.h"
#include "unit_test.h"

static const struct option_row own_rows[] = {
    {"--svg", 's', "FILE", "a chart"},
    {"--plan", 0, NULL, "plan too"},
    {NULL, 0, NULL, NULL},
};

enum { MAX_WORDS = 16 };

static struct options options;
static struct error err;

/* Parses the words of a line, parted by single blanks. */
static int parse(const char *line)
{
    static char copy[400];
    char *argv[MAX_WORDS] = {(char[]){"thawbell"}};
    int argc = 1;
    err.text[0] = '\0';
    strncpy(copy, line, sizeof copy - 1);
    for (char *at = copy; *at; argc++) {
        argv[argc] = at;
        at += strcspn(at, " ");
        if (*at)
            *at++ = '\0';
    }
    return options_parse(argc, argv, own_rows, &options, &err);
}

static void expect_error(const char *line, const char *sentence)
{
    assert_int_equal(parse(line), -1);
    assert_string_equal(err.text, sentence);
}

static void common_options(void **state)
{
    (void)state;
    assert_int_equal(parse("-c a.conf --operation=bend --json --units us "
                           "--lang fr --at 2026-03-07T18:00-05:00"),
                     0);
    assert_string_equal(options.config, "a.conf");
    assert_string_equal(options.operation, "bend");
    assert_true(options.json && options.has_units && options.has_at);
    assert_int_equal(options.units, UNITS_US);
    assert_string_equal(options.language, "fr");
    /* 2026-03-07T23:00:00Z by POSIX.1-2017 section 4.16: day 20519. */
    assert_true(options.at == (utc_s)20519 * 86400 + 23 * 3600);
    assert_true(options_now(&options) == options.at);
    assert_false(options.help || options.version);
}

static void letters(void **state)
{
    (void)state;
    assert_int_equal(parse("-vvca.conf"), 0);
    assert_int_equal(options.verbosity, 2);
    assert_string_equal(options.config, "a.conf");
    assert_int_equal(parse("-qh"), 0);
    assert_int_equal(options.verbosity, -1);
    assert_true(options.help);
    assert_int_equal(parse("-sc --plan"), 0);
    assert_string_equal(options.own[0], "c");
    assert_string_equal(options.own[1], "");
    assert_null(options.config);
}

static void words_and_values(void **state)
{
    (void)state;
    assert_int_equal(parse("nws - --svg -71.9 file -- --json -x"), 0);
    assert_int_equal(options.word_count, 5);
    assert_string_equal(options.words[0], "nws");
    assert_string_equal(options.words[1], "-");
    assert_string_equal(options.words[2], "file");
    assert_string_equal(options.words[3], "--json");
    assert_string_equal(options.words[4], "-x");
    assert_string_equal(options.own[0], "-71.9");
    assert_false(options.json);
    assert_int_equal(parse("--svg="), 0);
    assert_string_equal(options.own[0], "");
}

static void errors(void **state)
{
    (void)state;
    expect_error("--unit us",
                 "option --unit is not known; did you mean --units?");
    expect_error("--sgv x", "option --sgv is not known; did you mean --svg?");
    expect_error("--colour", "option --colour is not known; see --help");
    expect_error("-z", "option -z is not known; see --help");
    expect_error("--config", "--config needs a value: FILE");
    expect_error("-qc", "--config needs a value: FILE");
    expect_error("--json=yes", "--json takes no value");
    expect_error("--units imperial",
                 "--units imperial: not known; us or metric");
    expect_error("--lang de", "--lang de: not known; en or fr");
    expect_error("--at 2026-03-07T18:00",
                 "--at 2026-03-07T18:00: the offset is missing; write Z for "
                 "UTC, or one such as -05:00");
    assert_int_equal(parse("--at tomorrow"), -1);
    assert_non_null(strstr(err.text, "--at tomorrow: "));
}

static void too_many_words(void **state)
{
    (void)state;
    static char word[] = "x";
    char *argv[100];
    for (int i = 0; i < 100; i++)
        argv[i] = word;
    assert_int_equal(options_parse(65, argv, NULL, &options, &err), 0);
    assert_int_equal(options.word_count, 64);
    assert_int_equal(options_parse(66, argv, NULL, &options, &err), -1);
    assert_string_equal(err.text, "too many words, at most 64");
}

static int find(const char *a, const char *b, const char *c, const char *d)
{
    char *argv[] = {(char[]){"thawbell"}, (char *)(uintptr_t)a,
                    (char *)(uintptr_t)b, (char *)(uintptr_t)c,
                    (char *)(uintptr_t)d};
    int argc = 1;
    while (argc < 5 && argv[argc])
        argc++;
    return options_find_command(argc, argv);
}

static void command_among_options(void **state)
{
    (void)state;
    assert_int_equal(find("week", "--json", NULL, NULL), 1);
    assert_int_equal(find("-c", "week", "why", NULL), 3);
    assert_int_equal(find("--config", "week", "why", NULL), 3);
    assert_int_equal(find("--config=week", "why", NULL, NULL), 2);
    assert_int_equal(find("-vc", "week", "why", NULL), 3);
    assert_int_equal(find("--json", "-q", "why", NULL), 3);
    assert_int_equal(find("--explain", "taps", "check", NULL), 3);
    assert_int_equal(find("--json", NULL, NULL, NULL), 0);
    /* An option that is not known is the thing to tell, not its value. */
    assert_int_equal(find("--unit", "us", "week", NULL), 0);
}

/* Each row is whole, and no name or letter stands twice where both are
 * taken. */
static void tables_are_whole(void **state)
{
    (void)state;
    for (const struct command *const *command = command_table(); *command;
         command++) {
        assert_non_null((*command)->run);
        assert_true((*command)->summary[0] && (*command)->usage[0]);
        assert_true((*command)->min_words <= (*command)->max_words);
        assert_ptr_equal(command_find((*command)->name), *command);
        const struct option_row *own = (*command)->rows;
        for (; own && own->name; own++)
            for (const struct option_row *row = options_common(); row->name;
                 row++) {
                assert_string_not_equal(own->name, row->name);
                assert_true(own->letter == 0 || own->letter != row->letter);
            }
    }
    assert_null(command_find("wek"));
    assert_string_equal(command_nearest("wek"), "week");
    assert_null(command_nearest("transmogrify"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(common_options),
        cmocka_unit_test(letters),
        cmocka_unit_test(words_and_values),
        cmocka_unit_test(errors),
        cmocka_unit_test(too_many_words),
        cmocka_unit_test(command_among_options),
        cmocka_unit_test(tables_are_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
