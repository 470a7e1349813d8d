/* The logbook's order, numbers, corrections and removals; what an entry may
 * hold; JSON there and back. */
#include "unit_test.h"

#include "logbook/log_json.h"
#include "logbook_bench.h"

static void add(struct logbook *book, struct log_record record)
{
    assert_true(logbook_add(book, &record));
}

static void test_numbers_in_order_of_writing(void **state)
{
    struct logbook book = {0};

    (void)state;
    add(&book, bench_collected("c", "north", 300, 5));
    add(&book, bench_collected("a", "north", 100, 5));
    add(&book, bench_collected("b", "north", 200, 5));
    book.records[1].number = 7; /* taken in before */
    logbook_settle(&book);
    assert_string_equal(book.records[0].uid, "a");
    assert_int_equal(book.records[0].number, 7);
    assert_int_equal(book.records[1].number, 8);
    assert_int_equal(book.records[2].number, 9);
    assert_string_equal(logbook_find(&book, 9)->uid, "c");
    assert_null(logbook_find(&book, 1));
    logbook_free(&book);
}

static void test_a_uid_counts_once(void **state)
{
    struct logbook book = {0};
    struct log_record twin = bench_collected("a", "brook", 900, 8);

    (void)state;
    add(&book, bench_collected("a", "north", 100, 5));
    assert_false(logbook_add(&book, &twin));
    assert_int_equal(book.count, 1);
    logbook_free(&book);
}

static void test_corrections_keep_history(void **state)
{
    struct logbook book = {0};
    struct log_record first = bench_collected("a", "north", 100, 5);
    struct log_record later = bench_change("b", &first, LOG_CORRECTION, 300);
    struct log_record last = bench_change("c", &first, LOG_CORRECTION, 400);
    struct log_view view;

    (void)state;
    later.note.figure[LOG_SAP_L] = 6;
    last.note.figure[LOG_SAP_L] = 7;
    /* Whatever the order they came in. */
    add(&book, last);
    add(&book, first);
    add(&book, later);
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    assert_int_equal(view.count, 1);
    assert_near(view.entries[0].note.figure[LOG_SAP_L], 7, 0);
    assert_true(view.entries[0].corrected);
    assert_int_equal(view.entries[0].number, 1);
    assert_int_equal(book.count, 3);
    assert_near(logbook_find(&book, 1)->note.figure[LOG_SAP_L], 5, 0);
    log_view_free(&view);
    logbook_free(&book);
}

static void test_a_removal_stands(void **state)
{
    struct logbook book = {0};
    struct log_record first = bench_collected("a", "north", 100, 5);
    struct log_view view;

    (void)state;
    add(&book, first);
    add(&book, bench_change("b", &first, LOG_REMOVAL, 200));
    add(&book, bench_change("c", &first, LOG_CORRECTION, 300));
    add(&book, bench_collected("d", "north", 50, 9));
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    assert_int_equal(view.count, 1);
    assert_near(view.entries[0].note.figure[LOG_SAP_L], 9, 0);
    log_view_free(&view);
    log_view_make(&book, true, &view);
    assert_int_equal(view.count, 2);
    assert_true(log_view_find(&view, 2)->removed);
    assert_false(log_view_find(&view, 2)->corrected);
    log_view_free(&view);
    logbook_free(&book);
}

/* A change of what is not there, and one by a machine whose clock stood
 * before the entry was written. */
static void test_odd_changes(void **state)
{
    struct logbook book = {0};
    struct log_record first = bench_collected("a", "north", 1000, 5);
    struct log_record ghost = bench_collected("zz", "north", 1, 5);
    struct log_record early = bench_change("b", &first, LOG_CORRECTION, 2);
    struct log_view view;

    (void)state;
    early.note.figure[LOG_SAP_L] = 6;
    add(&book, first);
    add(&book, early);
    add(&book, bench_change("c", &ghost, LOG_REMOVAL, 3));
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    assert_int_equal(view.count, 1);
    assert_near(view.entries[0].note.figure[LOG_SAP_L], 6, 0);
    log_view_free(&view);
    logbook_free(&book);
}

static void test_tapping_of_the_season(void **state)
{
    struct zone *zone = bench_zone();
    struct logbook book = {0};
    struct log_record old =
        bench_record("a", LOG_TAPPED, BENCH_NOW - 360 * SECONDS_PER_DAY);
    struct log_record now =
        bench_record("b", LOG_TAPPED, BENCH_NOW - 5 * SECONDS_PER_DAY);
    struct log_view view;
    utc_s at = 0;

    (void)state;
    snprintf(now.note.bush, sizeof now.note.bush, "north");
    add(&book, old); /* of all bushes, a year ago */
    log_view_make(&book, false, &view);
    assert_false(log_tapped_at(&view, zone, "north", BENCH_NOW, &at));
    log_view_free(&view);
    add(&book, now);
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    assert_true(log_tapped_at(&view, zone, "north", BENCH_NOW, &at));
    assert_int_equal(at, now.note.at);
    assert_false(log_tapped_at(&view, zone, "brook", BENCH_NOW, &at));
    /* Not before it happened. */
    assert_false(log_tapped_at(&view, zone, "north", now.note.at - 60, &at));
    log_view_free(&view);
    logbook_free(&book);
    zone_free(zone);
}

/* Buckets are emptied as the taps are pulled; days later there is a doubt, but
 * none of another bush, nor once it is tapped again. */
static void a_collection_after_the_pulling_is_late(void **state)
{
    struct zone *zone = zone_open("UTC", NULL);
    struct logbook book = {0};
    struct log_record pulled =
        bench_record("a", LOG_PULLED, BENCH_NOW - 5 * SECONDS_PER_DAY);
    struct log_record again =
        bench_record("b", LOG_TAPPED, BENCH_NOW - SECONDS_PER_DAY);
    struct log_note late = {.kind = LOG_COLLECTED, .at = BENCH_NOW};
    struct log_note once = {.kind = LOG_COLLECTED,
                            .at = pulled.note.at + SECONDS_PER_HOUR};
    struct log_view view;
    utc_s at = 0;

    (void)state;
    snprintf(pulled.note.bush, sizeof pulled.note.bush, "north");
    snprintf(late.bush, sizeof late.bush, "north");
    snprintf(once.bush, sizeof once.bush, "north");
    add(&book, pulled);
    log_view_make(&book, false, &view);
    assert_true(log_collected_late(&view, zone, &late, &at));
    assert_int_equal(at, pulled.note.at);
    assert_false(log_collected_late(&view, zone, &once, &at));
    snprintf(late.bush, sizeof late.bush, "brook");
    assert_false(log_collected_late(&view, zone, &late, &at));
    log_view_free(&view);
    snprintf(late.bush, sizeof late.bush, "north");
    add(&book, again);
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    assert_false(log_collected_late(&view, zone, &late, &at));
    log_view_free(&view);
    logbook_free(&book);
    zone_free(zone);
}

/* The last measured, of the last two weeks, and no concentrate for sap. */
static void test_sugar_lately(void **state)
{
    struct logbook book = {0};
    struct log_record sap =
        bench_record("a", LOG_COLLECTED, BENCH_NOW - 3 * SECONDS_PER_DAY);
    struct log_record earlier =
        bench_record("b", LOG_COLLECTED, BENCH_NOW - 5 * SECONDS_PER_DAY);
    struct log_record thick =
        bench_record("c", LOG_BOILED, BENCH_NOW - SECONDS_PER_DAY);
    struct log_view view;
    double brix = 0;
    utc_s at = 0;

    (void)state;
    bench_figure(&sap, LOG_SAP_BRIX, 2.4);
    bench_figure(&earlier, LOG_SAP_BRIX, 1.8);
    bench_figure(&thick, LOG_SAP_BRIX, 8);
    add(&book, sap);
    add(&book, earlier);
    add(&book, thick);
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    assert_true(
        log_sugar_lately(&view, BENCH_NOW, LOG_MOST_SAP_BRIX, &brix, &at));
    assert_near(brix, 2.4, 0);
    assert_int_equal(at, sap.note.at);
    assert_true(log_sugar_lately(&view, BENCH_NOW, 67, &brix, &at));
    assert_near(brix, 8, 0);
    assert_true(log_sugar_lately(&view, sap.note.at - 1, 67, &brix, &at));
    assert_near(brix, 1.8, 0);
    assert_false(log_sugar_lately(&view, BENCH_NOW + 12 * SECONDS_PER_DAY,
                                  LOG_MOST_SAP_BRIX, &brix, &at));
    log_view_free(&view);
    logbook_free(&book);
}

/* A season begins on 1 November of the civil clock. */
static void test_season_of(void **state)
{
    struct zone *zone = bench_zone();
    struct civil_date last = {2025, 10, 31};
    utc_s midnight = zone_day_start(zone, civil_date_add(last, 1));

    (void)state;
    assert_int_equal(log_season_of(zone, midnight - 1), 2025);
    assert_int_equal(log_season_of(zone, midnight), 2026);
    assert_int_equal(log_season_of(zone, BENCH_NOW), 2026);
    zone_free(zone);
}

static void refused(struct log_record record, const char *words)
{
    struct error err = {""};

    assert_int_equal(log_record_check(&record, &err), -1);
    if (strstr(err.text, words) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", err.text, words);
}

static void test_what_is_refused(void **state)
{
    struct log_record good = bench_collected("a", "north", BENCH_NOW, 5);
    struct log_record draw = bench_record("a", LOG_DREW, BENCH_NOW);
    struct log_record bad;

    (void)state;
    assert_int_equal(log_record_check(&good, NULL), 0);
    bad = good, bad.note.has[LOG_SAP_L] = false;
    refused(bad, "needs an amount");
    bad = good, bad.note.figure[LOG_SAP_L] = -1;
    refused(bad, "from 0 to");
    bad = good, bad.note.figure[LOG_SAP_L] = NAN;
    refused(bad, "from 0 to");
    bad = good, bench_figure(&bad, LOG_LIGHT_PCT, 50);
    refused(bad, "takes no light that passes");
    bad = good, bad.note.sign = LOG_SIGN_MILKY;
    refused(bad, "only \"off-flavour\"");
    bad = good, bad.note.has_grade = true;
    refused(bad, "only \"drew\"");
    bad = good, bad.note.at = INT64_MAX;
    refused(bad, "time");
    bad = good, snprintf(bad.note.remark, sizeof bad.note.remark, "a\nb");
    refused(bad, "control characters");
    bad = good, snprintf(bad.note.bush, sizeof bad.note.bush, "\xff");
    refused(bad, "UTF-8");
    bad = good, snprintf(bad.uid, sizeof bad.uid, "../x");
    refused(bad, "uid");
    bad = good, bad.uid[0] = '\0';
    refused(bad, "uid");
    bad = good, bad.change = LOG_CORRECTION;
    refused(bad, "target");
    bad = bench_record("a", LOG_OFF_FLAVOUR, BENCH_NOW);
    refused(bad, "what was found");
    bad = bench_record("a", LOG_BOILED, BENCH_NOW);
    refused(bad, "the sap boiled or the hours");
    bench_figure(&draw, LOG_SYRUP_L, 4);
    bench_figure(&draw, LOG_LIGHT_PCT, 62);
    draw.note.has_grade = true;
    draw.note.grade = GRADE_GOLDEN;
    refused(draw, "62.0 % light is amber, not golden");
    draw.note.grade = GRADE_PROCESSING; /* of any color */
    assert_int_equal(log_record_check(&draw, NULL), 0);
}

/* Both spellings are read, one is written. */
static void test_words_read(void **state)
{
    (void)state;
    assert_int_equal(log_kind_from_word("off-flavour"), LOG_OFF_FLAVOUR);
    assert_int_equal(log_kind_from_word("off-flavor"), LOG_OFF_FLAVOUR);
    assert_string_equal(log_kind_word(LOG_OFF_FLAVOUR), "off-flavour");
    assert_int_equal(log_sign_from_word("buddy"), LOG_SIGN_OFF_TASTE);
    assert_string_equal(log_sign_word(LOG_SIGN_OFF_TASTE), "off taste");
    assert_int_equal(log_kind_from_word("buddy"), -1);
    assert_int_equal(log_sign_from_word("off-flavor"), -1);
}

static void test_uid(void **state)
{
    char uid[LOG_UID_SIZE];

    (void)state;
    log_uid_make(BENCH_NOW, UINT64_C(0xdeadbeef), uid);
    assert_string_equal(uid, "20260306T231000Z-00000000deadbeef");
}

static void test_json_there_and_back(void **state)
{
    struct logbook book = {0}, back = {0};
    struct log_record draw = bench_record("d", LOG_DREW, BENCH_NOW);
    struct error err = {""};
    char *json, *again;

    (void)state;
    bench_figure(&draw, LOG_SYRUP_L, 1.0 / 3);
    bench_figure(&draw, LOG_SYRUP_BRIX, 66.9);
    draw.note.has_grade = true;
    draw.note.grade = GRADE_VERY_DARK;
    snprintf(draw.note.remark, sizeof draw.note.remark, "\"fin\" – été");
    add(&book, draw);
    add(&book, bench_change("e", &draw, LOG_REMOVAL, BENCH_NOW + 9));
    logbook_settle(&book);
    json = log_json_write("bend", &book);
    if (log_json_read(json, strlen(json), "bend", &back, &err) != 0)
        fail_msg("%s", err.text);
    assert_int_equal(back.count, 2);
    for (int i = 0; i < 2; i++)
        assert_true(bench_same_record(&book.records[i], &back.records[i]));
    again = log_json_write("bend", &back);
    assert_string_equal(again, json);
    assert_int_equal(log_json_read(json, strlen(json), "brook", &back, &err),
                     -1);
    assert_non_null(strstr(err.text, "operation bend, not brook"));
    free(again);
    free(json);
    logbook_free(&back);
    logbook_free(&book);
}

static void json_refused(const char *records, const char *words)
{
    struct logbook book = {0};
    struct error err = {""};
    char json[512];

    snprintf(json, sizeof json,
             "{\"version\":1,\"operation\":\"bend\",\"records\":[%s]}",
             records);
    assert_int_equal(log_json_read(json, strlen(json), "bend", &book, &err),
                     -1);
    if (strstr(err.text, words) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", err.text, words);
    logbook_free(&book);
}

#define HEAD                                                                   \
    "{\"uid\":\"a\",\"change\":\"new\",\"written\":\"2026-03-06T12:00Z\","

static void test_hostile_json(void **state)
{
    struct logbook book = {0};
    struct error err = {""};
    const char newer[] = "{\"version\":2,\"operation\":\"bend\"}";

    (void)state;
    assert_int_equal(
        log_json_read(newer, sizeof newer - 1, "bend", &book, &err), -1);
    assert_non_null(strstr(err.text, "version 2"));
    json_refused("7", "record 1: it is no object");
    json_refused("{}", "\"uid\"");
    json_refused(HEAD "\"kind\":\"stolen\",\"at\":\"2026-03-06T12:00Z\"}",
                 "\"kind\"");
    json_refused(HEAD "\"kind\":\"tapped\"}", "\"at\"");
    json_refused(HEAD "\"kind\":\"tapped\",\"at\":\"2026-03-06T12:00Z\","
                      "\"bush\":3}",
                 "\"bush\"");
    json_refused(HEAD "\"kind\":\"collected\",\"at\":\"2026-03-06T12:00Z\","
                      "\"sap_l\":\"4\"}",
                 "\"sap_l\"");
    json_refused(HEAD "\"kind\":\"tapped\",\"at\":\"2026-03-06T12:00Z\","
                      "\"sign\":7}",
                 "\"sign\"");
    json_refused(HEAD "\"kind\":\"tapped\",\"at\":\"2026-03-06T12:00Z\","
                      "\"number\":0}",
                 "\"number\"");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_numbers_in_order_of_writing),
        cmocka_unit_test(test_a_uid_counts_once),
        cmocka_unit_test(test_corrections_keep_history),
        cmocka_unit_test(test_a_removal_stands),
        cmocka_unit_test(test_odd_changes),
        cmocka_unit_test(test_tapping_of_the_season),
        cmocka_unit_test(a_collection_after_the_pulling_is_late),
        cmocka_unit_test(test_sugar_lately),
        cmocka_unit_test(test_season_of),
        cmocka_unit_test(test_what_is_refused),
        cmocka_unit_test(test_words_read),
        cmocka_unit_test(test_uid),
        cmocka_unit_test(test_json_there_and_back),
        cmocka_unit_test(test_hostile_json),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
