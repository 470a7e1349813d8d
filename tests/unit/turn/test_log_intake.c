/* The logbook in the turn: notes are taken in, published and fed on; nothing
 * is lost and nothing counted twice, wherever it breaks off. */
#include "unit_test.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "logbook/log_json.h"
#include "logbook/spool.h"
#include "turn/log_intake.h"
#include "turn_bench.h"

#define NOW DEMO_NOW
#define DAY SECONDS_PER_DAY

/* When the taps went in stands in no configuration: the logbook tells it. */
static int set_up(void **state)
{
    struct turn_bench *bench = turn_bench_by_hand("intake");

    bench->bushes[0].has_tapped = false;
    demo_use(bench->config, "metno");
    *state = bench;
    return 0;
}

static void note(struct turn_bench *bench, const char *uid, enum log_kind kind,
                 utc_s at)
{
    struct log_record record = {.written = at,
                                .note = {.kind = kind, .at = at}};
    struct logbook book = {0};
    struct error err = {""};

    snprintf(record.uid, sizeof record.uid, "%s", uid);
    if (kind == LOG_COLLECTED) {
        record.note.has[LOG_SAP_L] = true;
        record.note.figure[LOG_SAP_L] = 150;
    }
    assert_true(logbook_add(&book, &record));
    if (spool_write(bench->spool, "tamarack-bend", &book, &err) != 0)
        fail_msg("%s", err.text);
    logbook_free(&book);
}

/* Takes in; what is then in the store. */
static int intake(struct turn_bench *bench, int expected_troubles)
{
    struct error_list troubles = {NULL, 0};
    struct logbook book;
    int count;

    log_intake(bench->config, NOW, bench->store, bench->published, &book,
               &troubles);
    count = book.count;
    if (troubles.count != expected_troubles)
        fail_msg("%d troubles, the first: %s", troubles.count,
                 troubles.count > 0 ? troubles.items[0] : "");
    error_list_free(&troubles);
    logbook_free(&book);
    return count;
}

static int waiting(struct turn_bench *bench)
{
    struct spool spool;
    struct error err = {""};
    int count;

    assert_int_equal(spool_read(bench->spool, "tamarack-bend", &spool, &err),
                     0);
    count = spool.count;
    spool_free(&spool);
    return count;
}

static int published(struct turn_bench *bench)
{
    char *path = file_join(bench->published, "logbook.json"), *bytes = NULL;
    struct logbook book = {0};
    size_t length;
    int count = -1;

    if (file_exists(path)) {
        assert_int_equal(file_read(path, 1 << 20, &bytes, &length, NULL), 0);
        assert_int_equal(
            log_json_read(bytes, length, "tamarack-bend", &book, NULL), 0);
        count = book.count;
    }
    logbook_free(&book);
    free(bytes);
    free(path);
    return count;
}

static void test_taken_published_removed(void **state)
{
    struct turn_bench *bench = *state;

    assert_int_equal(intake(bench, 0), 0);
    assert_int_equal(published(bench), -1); /* no log, no file */
    note(bench, "n1", LOG_TAPPED, NOW - DAY);
    note(bench, "n2", LOG_COLLECTED, NOW - 60);
    assert_int_equal(intake(bench, 0), 2);
    assert_int_equal(published(bench), 2);
    assert_int_equal(waiting(bench), 0);
    assert_int_equal(intake(bench, 0), 2);
}

/* The machine stops after the store and before the files are gone: they are
 * there again, and count once. */
static void test_taken_twice_counts_once(void **state)
{
    struct turn_bench *bench = *state;

    note(bench, "n1", LOG_COLLECTED, NOW - 60);
    assert_int_equal(intake(bench, 0), 1);
    note(bench, "n1", LOG_COLLECTED, NOW - 60);
    assert_int_equal(intake(bench, 0), 1);
    assert_int_equal(waiting(bench), 0);
}

/* Where the book cannot be published, the notes stay where a reader sees
 * them. */
static void test_unpublished_notes_stay(void **state)
{
    struct turn_bench *bench = *state;

    note(bench, "n1", LOG_COLLECTED, NOW - 60);
    assert_int_equal(file_write_whole(bench->published, "", 0, 0600, NULL), 0);
    assert_int_equal(intake(bench, 1), 1);
    assert_int_equal(waiting(bench), 1);
    assert_int_equal(unlink(bench->published), 0);
    assert_int_equal(intake(bench, 0), 1);
    assert_int_equal(waiting(bench), 0);
    assert_int_equal(published(bench), 1);
}

static void test_bad_file_is_named(void **state)
{
    struct turn_bench *bench = *state;
    struct error_list troubles = {NULL, 0};
    struct logbook book;
    char *path, *aside;

    note(bench, "n1", LOG_COLLECTED, NOW - 60);
    path = file_join(bench->spool, "tamarack-bend.n0.json");
    aside = mem_format("%s.bad", path);
    assert_int_equal(file_write_whole(path, "boo", 3, 0600, NULL), 0);
    log_intake(bench->config, NOW, bench->store, bench->published, &book,
               &troubles);
    assert_int_equal(book.count, 1);
    assert_int_equal(troubles.count, 1);
    assert_non_null(strstr(troubles.items[0], aside));
    assert_true(file_exists(aside));
    assert_false(file_exists(path));
    error_list_free(&troubles);
    logbook_free(&book);
    free(aside);
    free(path);
}

static double sap_ahead(struct turn_bench *bench)
{
    struct turn_result result;
    struct bulletin *bulletin = turn_bench_good(bench, NOW, &result);
    double sum = 0;

    for (int i = 0; i < bulletin->bushes[0].outlook->count; i++)
        sum += bulletin->bushes[0].outlook->days[i].sap_l_per_tap_p50;
    turn_result_free(&result);
    bulletin_free(bulletin);
    return sum;
}

/* Configured is a tapping after all the days told: nothing runs. One that is
 * noted overrides it; noted of another season it does not. */
static void test_noted_tapping_overrides(void **state)
{
    struct turn_bench *bench = *state;

    bench->bushes[0].has_tapped = true;
    bench->bushes[0].tapped = (struct civil_date){2026, 4, 1};
    assert_near(sap_ahead(bench), 0, 0);
    note(bench, "n0", LOG_TAPPED, NOW - 360 * DAY);
    assert_near(sap_ahead(bench), 0, 0);
    note(bench, "n1", LOG_TAPPED, NOW - DAY);
    assert_true(sap_ahead(bench) > 1);
    assert_int_equal(waiting(bench), 0);
    assert_int_equal(published(bench), 2);
}

/* Notes are taken in also when no service answers. */
static void test_without_weather(void **state)
{
    struct turn_bench *bench = *state;
    struct turn_result result;
    struct error err;

    bench->script.row_count = 0;
    note(bench, "n1", LOG_COLLECTED, NOW - 60);
    assert_int_equal(turn_bench_turn(bench, NOW, &result, NULL, &err), -1);
    assert_int_equal(published(bench), 1);
    assert_int_equal(waiting(bench), 0);
    turn_result_free(&result);
}

static struct log_record sign(const char *uid, enum log_kind kind, utc_s at,
                              enum log_sign what, double light_pct)
{
    struct log_record record = {.written = at,
                                .note = {.kind = kind, .at = at, .sign = what}};

    snprintf(record.uid, sizeof record.uid, "%s", uid);
    if (kind == LOG_DREW) {
        record.note.has[LOG_SYRUP_L] = record.note.has[LOG_LIGHT_PCT] = true;
        record.note.figure[LOG_LIGHT_PCT] = light_pct;
    }
    return record;
}

static void test_signs_for_the_season(void **state)
{
    const struct log_record rows[] = {
        sign("a", LOG_OFF_FLAVOUR, NOW - 400 * DAY, LOG_SIGN_MILKY, 0),
        sign("b", LOG_DREW, NOW - 9 * DAY, LOG_SIGN_NONE, 78),
        sign("c", LOG_DREW, NOW - 8 * DAY, LOG_SIGN_NONE, 72), /* 6 % */
        sign("d", LOG_DREW, NOW - 7 * DAY, LOG_SIGN_NONE, 49), /* darker */
        sign("e", LOG_DREW, NOW - 6 * DAY, LOG_SIGN_NONE, 30), /* one class */
        sign("f", LOG_OFF_FLAVOUR, NOW - 2 * DAY, LOG_SIGN_OFF_TASTE, 0),
        sign("g", LOG_OFF_FLAVOUR, NOW - 1 * DAY, LOG_SIGN_CLEAN, 0),
        sign("h", LOG_OFF_FLAVOUR, NOW + 1 * DAY, LOG_SIGN_MILKY, 0)};
    struct season_note notes[SEASON_MAX_NOTES];
    struct error err;
    struct zone *zone = zone_open("America/New_York", &err);
    struct logbook book = {0};
    struct log_view view;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_true(logbook_add(&book, &rows[i]));
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    assert_int_equal(log_season_notes(&view, zone, "north", NOW, notes), 3);
    assert_int_equal(notes[0].kind, SEASON_NOTE_DARK);
    assert_int_equal(notes[0].date.day, 26);
    assert_int_equal(notes[1].kind, SEASON_NOTE_OFF_TASTE);
    assert_int_equal(notes[2].kind, SEASON_NOTE_CLEAN);
    log_view_free(&view);
    logbook_free(&book);
    zone_free(zone);
}

#define ROW(test)                                                              \
    cmocka_unit_test_setup_teardown(test, set_up, turn_bench_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_taken_published_removed),
        ROW(test_taken_twice_counts_once),
        ROW(test_unpublished_notes_stay),
        ROW(test_bad_file_is_named),
        ROW(test_noted_tapping_overrides),
        ROW(test_without_weather),
        cmocka_unit_test(test_signs_for_the_season),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
