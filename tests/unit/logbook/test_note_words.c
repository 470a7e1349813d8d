/* Notes out of a command line's words, also on the days of the clock's
 * change. */
#include "unit_test.h"

#include "logbook/log_time.h"
#include "logbook/note_words.h"
#include "logbook_bench.h"

#define LITRES 3.785411784 /* a US gallon, NIST SP 811 (2008), B.8 */

static const char *const two_bushes[] = {"north", "brook"};
static const char *const long_names[] = {"north", "north slope", "all out"};

struct bench {
    struct zone *zone;
    struct note_context context;
    struct log_note note;
    struct error err;
};

static int set_up(void **state)
{
    struct bench *bench = test_calloc(1, sizeof *bench);

    bench->zone = bench_zone();
    bench->context =
        (struct note_context){BENCH_NOW, bench->zone, two_bushes, 2};
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    zone_free(bench->zone);
    test_free(bench);
    return 0;
}

/* The words as a shell would cut them at blanks. */
static int parse(struct bench *bench, enum log_kind kind, const char *line)
{
    static char copy[256];
    const char *words[32];
    int count = 0;

    snprintf(copy, sizeof copy, "%s", line);
    for (char *at = copy; *at != '\0';) {
        size_t length = strcspn(at, " ");
        bool last = at[length] == '\0';

        at[length] = '\0';
        if (length > 0)
            words[count++] = at;
        at += length + !last;
    }
    if (bench->note.at == 0)
        bench->note = (struct log_note){.kind = kind};
    return note_words_parse(&bench->context, words, count, &bench->note,
                            &bench->err);
}

static void good(struct bench *bench, enum log_kind kind, const char *line)
{
    bench->note = (struct log_note){.kind = kind};
    if (parse(bench, kind, line) != 0)
        fail_msg("%s: %s", line, bench->err.text);
}

static void bad(struct bench *bench, enum log_kind kind, const char *line,
                const char *says)
{
    bench->note = (struct log_note){.kind = kind};
    if (parse(bench, kind, line) == 0)
        fail_msg("%s: taken", line);
    if (strstr(bench->err.text, says) == NULL)
        fail_msg("%s: \"%s\" does not say \"%s\"", line, bench->err.text, says);
}

static utc_s local(const struct bench *bench, int year, int month, int day,
                   int hour, int minute)
{
    return zone_instant(bench->zone, (struct civil_date){year, month, day},
                        hour, minute, 0);
}

static void test_collected(void **state)
{
    struct bench *bench = *state;

    good(bench, LOG_COLLECTED, "42 gal at 2.1 Brix from north yesterday 17:00");
    assert_near(bench->note.figure[LOG_SAP_L], 42 * LITRES, 1e-9);
    assert_near(bench->note.figure[LOG_SAP_BRIX], 2.1, 0);
    assert_string_equal(bench->note.bush, "north");
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 5, 17, 0));
    good(bench, LOG_COLLECTED, "brook 5pm 2.1% 160L");
    assert_near(bench->note.figure[LOG_SAP_L], 160, 0);
    assert_near(bench->note.figure[LOG_SAP_BRIX], 2.1, 0);
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 6, 17, 0));
    good(bench, LOG_COLLECTED, "brook 160,5 l 2,1% 7am");
    assert_near(bench->note.figure[LOG_SAP_L], 160.5, 0);
    assert_near(bench->note.figure[LOG_SAP_BRIX], 2.1, 0);
    good(bench, LOG_COLLECTED, "4 gal all");
    assert_string_equal(bench->note.bush, "");
    assert_int_equal(bench->note.at, BENCH_NOW);
    assert_false(bench->note.has[LOG_SAP_BRIX]);
}

static void test_boiled_and_drew(void **state)
{
    struct bench *bench = *state;

    good(bench, LOG_BOILED, "200 gal 7.5 h");
    assert_near(bench->note.figure[LOG_HOURS], 7.5, 0);
    good(bench, LOG_BOILED, "5,5 h 80 gal 2.1 brix");
    assert_near(bench->note.figure[LOG_HOURS], 5.5, 0);
    assert_near(bench->note.figure[LOG_SAP_BRIX], 2.1, 0);
    good(bench, LOG_BOILED, "6hours");
    assert_false(bench->note.has[LOG_SAP_L]);
    good(bench, LOG_DREW, "1.5 gal 66.9 Brix 62 % light");
    assert_near(bench->note.figure[LOG_SYRUP_L], 1.5 * LITRES, 1e-9);
    assert_near(bench->note.figure[LOG_SYRUP_BRIX], 66.9, 0);
    assert_near(bench->note.figure[LOG_LIGHT_PCT], 62, 0);
    good(bench, LOG_DREW, "62% light 2 qt very dark processing");
    assert_int_equal(bench->note.grade, GRADE_PROCESSING);
    good(bench, LOG_DREW, "3 L very dark");
    assert_int_equal(bench->note.grade, GRADE_VERY_DARK);
    good(bench, LOG_DREW, "3 L dark");
    assert_int_equal(bench->note.grade, GRADE_DARK);
    good(bench, LOG_OFF_FLAVOUR, "north milky");
    assert_int_equal(bench->note.sign, LOG_SIGN_MILKY);
    good(bench, LOG_OFF_FLAVOUR, "north dark");
    assert_int_equal(bench->note.sign, LOG_SIGN_DARK);
    good(bench, LOG_OFF_FLAVOUR, "brook");
    assert_int_equal(bench->note.sign, LOG_SIGN_OFF_TASTE);
    good(bench, LOG_OFF_FLAVOUR, "north buddy yesterday");
    assert_int_equal(bench->note.sign, LOG_SIGN_OFF_TASTE);
    good(bench, LOG_OFF_FLAVOUR, "buddy brook");
    assert_int_equal(bench->note.sign, LOG_SIGN_OFF_TASTE);
    good(bench, LOG_PULLED, "all");
    good(bench, LOG_TAPPED, "north 2026-03-01");
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 1, 12, 0));
}

/* Capitals count only where the word would be something else. */
static void test_capitals(void **state)
{
    static const char *const names[] = {"North", "Dark"};
    struct bench *bench = *state;

    bench->context.bushes = names;
    good(bench, LOG_COLLECTED, "4 gal north");
    assert_string_equal(bench->note.bush, "North");
    good(bench, LOG_COLLECTED, "4 gal NORTH");
    assert_string_equal(bench->note.bush, "North");
    good(bench, LOG_COLLECTED, "4 gal All");
    assert_string_equal(bench->note.bush, "");
    good(bench, LOG_DREW, "3 L dark");
    assert_int_equal(bench->note.grade, GRADE_DARK);
}

static void test_messages(void **state)
{
    struct bench *bench = *state;

    bad(bench, LOG_COLLECTED, "40 north", "\"40\" has no unit known here");
    bad(bench, LOG_COLLECTED, "40 gal",
        "of which bush? Name one of north, brook, or all");
    bad(bench, LOG_COLLECTED, "40 gal nroth", "did you mean north?");
    bad(bench, LOG_COLLECTED, "40 gal north yestreday",
        "did you mean yesterday?");
    bad(bench, LOG_COLLECTED, "40 gal north 30 gal", "told twice");
    bad(bench, LOG_COLLECTED, "north", "needs an amount");
    bad(bench, LOG_COLLECTED, "40 gal north 500 Brix", "0.1 to 40 Brix");
    bad(bench, LOG_COLLECTED, "40 gal north tomorow", "not understood");
    bad(bench, LOG_COLLECTED, "40 gal north golden", "only \"drew\"");
    bad(bench, LOG_COLLECTED, "40 gal north 23:00", "lies ahead");
    bad(bench, LOG_COLLECTED, "40 gal north 2027-01-01", "lies ahead");
    bad(bench, LOG_COLLECTED, "40 gal north 2026-02-30", "is no time");
    bad(bench, LOG_COLLECTED, "40 gal north 25:00",
        "\"25:00\" is no time of the day");
    bad(bench, LOG_COLLECTED, "1,900 l north", "\"1,900\" has no unit");
    bad(bench, LOG_DREW, "2 gal 62 %", "62 % light");
    bad(bench, LOG_DREW, "2 gal 62 % light golden", "is amber, not golden");
    bad(bench, LOG_TAPPED, "north 4 gal", "takes no amount");
    bad(bench, LOG_TAPPED, "north 4 Brix", "takes no sugar");
    bad(bench, LOG_TAPPED, "north 4 h", "takes no hours");
    bad(bench, LOG_BOILED, "", "the sap boiled or the hours");
}

static void test_one_bush_goes_without_saying(void **state)
{
    struct bench *bench = *state;

    bench->context.bush_count = 1;
    good(bench, LOG_COLLECTED, "40 gal");
    assert_string_equal(bench->note.bush, "north");
    good(bench, LOG_DREW, "1 gal");
    assert_string_equal(bench->note.bush, "");
}

static void test_names_of_several_words(void **state)
{
    struct bench *bench = *state;

    bench->context.bushes = long_names;
    bench->context.bush_count = 3;
    good(bench, LOG_COLLECTED, "40 gal north slope");
    assert_string_equal(bench->note.bush, "north slope");
    good(bench, LOG_COLLECTED, "40 gal all out");
    assert_string_equal(bench->note.bush, "all out");
}

/* 8 March 2026, summer time begins: 02:30 does not exist, and is read with
 * the offset before it (RFC 5545, 3.3.5): 03:30 EDT, 07:30Z. */
static void test_spring_day(void **state)
{
    struct bench *bench = *state;

    bench->context.now = local(bench, 2026, 3, 9, 8, 0);
    good(bench, LOG_COLLECTED, "40 gal north 2026-03-08 02:30");
    assert_int_equal(bench->note.at, 1772955000);
    good(bench, LOG_COLLECTED, "40 gal north 2026-03-08T02:30");
    assert_int_equal(bench->note.at, 1772955000);
    good(bench, LOG_COLLECTED, "40 gal north yesterday 01:30");
    assert_int_equal(bench->note.at, 1772951400);
    good(bench, LOG_COLLECTED, "40 gal north yesterday 17:00");
    assert_int_equal(bench->note.at, 1773003600); /* 21:00Z */
    good(bench, LOG_COLLECTED, "40 gal north 2026-03-07 17:00");
    assert_int_equal(bench->note.at, 1772920800); /* 22:00Z */
}

/* 1 November 2026: 01:30 comes twice and is its first coming, 05:30Z; just
 * after midnight "yesterday" is the day before. */
static void test_autumn_day(void **state)
{
    struct bench *bench = *state;

    bench->context.now = local(bench, 2026, 11, 2, 0, 10);
    good(bench, LOG_BOILED, "4 h yesterday 01:30");
    assert_int_equal(bench->note.at, 1793511000);
    good(bench, LOG_BOILED, "4 h 2026-11-01T01:30-05:00");
    assert_int_equal(bench->note.at, 1793514600);
}

/* A day without an hour is its noon, today's no later than now. */
static void test_day_alone(void **state)
{
    struct bench *bench = *state;

    good(bench, LOG_TAPPED, "all today");
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 6, 12, 0));
    bench->context.now = local(bench, 2026, 3, 6, 9, 0);
    good(bench, LOG_TAPPED, "all today");
    assert_int_equal(bench->note.at, bench->context.now);
    good(bench, LOG_TAPPED, "all yesterday");
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 5, 12, 0));
}

/* A correction changes what it says and keeps the rest. */
static void test_correction(void **state)
{
    struct bench *bench = *state;

    good(bench, LOG_DREW, "2 gal 80% light golden yesterday 20:15");
    assert_int_equal(parse(bench, LOG_DREW, "3 gal"), 0);
    assert_near(bench->note.figure[LOG_SYRUP_L], 3 * LITRES, 1e-9);
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 5, 20, 15));
    assert_int_equal(parse(bench, LOG_DREW, "21:00"), 0);
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 5, 21, 0));
    assert_int_equal(parse(bench, LOG_DREW, "2026-03-04"), 0);
    assert_int_equal(bench->note.at, local(bench, 2026, 3, 4, 21, 0));
    /* A new light makes the old class void, and the other way round. */
    assert_int_equal(parse(bench, LOG_DREW, "40% light"), 0);
    assert_false(bench->note.has_grade);
    assert_int_equal(parse(bench, LOG_DREW, "amber"), 0);
    assert_false(bench->note.has[LOG_LIGHT_PCT]);
    assert_int_equal(bench->note.grade, GRADE_AMBER);
    good(bench, LOG_COLLECTED, "2 gal brook");
    assert_int_equal(parse(bench, LOG_COLLECTED, "3 gal"), 0);
    assert_string_equal(bench->note.bush, "brook");
}

static void test_clocks(void **state)
{
    static const struct {
        const char *word;
        int hour, minute;
    } rows[] = {{"17:00", 17, 0}, {"7:05", 7, 5},     {"12am", 0, 0},
                {"12pm", 12, 0},  {"5:30pm", 17, 30}, {"00:00", 0, 0}};
    static const char *const none[] = {
        "17", "24:00", "17:60", "13pm", "0am", "17:0", "5:30xm", "", "017:00"};
    int hour, minute;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_true(log_clock_parse(rows[i].word, &hour, &minute));
        assert_int_equal(hour * 60 + minute,
                         rows[i].hour * 60 + rows[i].minute);
    }
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        if (log_clock_parse(none[i], &hour, &minute))
            fail_msg("%s: taken as %d:%d", none[i], hour, minute);
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

/* "62 % light" in a shell's quotes is one argument. */
static void test_quoted(void **state)
{
    static const char *const words[] = {"1.5 gal", " 62 % light "};
    struct bench *bench = *state;

    bench->note = (struct log_note){.kind = LOG_DREW};
    assert_int_equal(
        note_words_parse(&bench->context, words, 2, &bench->note, &bench->err),
        0);
    assert_near(bench->note.figure[LOG_SYRUP_L], 1.5 * LITRES, 1e-9);
    assert_near(bench->note.figure[LOG_LIGHT_PCT], 62, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_collected),
        ROW(test_boiled_and_drew),
        ROW(test_quoted),
        ROW(test_capitals),
        ROW(test_messages),
        ROW(test_one_bush_goes_without_saying),
        ROW(test_names_of_several_words),
        ROW(test_spring_day),
        ROW(test_autumn_day),
        ROW(test_day_alone),
        ROW(test_correction),
        cmocka_unit_test(test_clocks),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
