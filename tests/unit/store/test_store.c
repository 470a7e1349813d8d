/* The store: what is put comes back, also after a reopening; better values
 * stay; a damaged file is set aside and nothing of it is lost. */
#include <string.h>

#include "base/file.h"
#include "store/store_private.h"
#include "store_bench.h"

/* One hour's air temperature from one source. */
static void put_hour(struct store *store, utc_s hour, double temp_c,
                     enum origin origin, utc_s fetched)
{
    struct series_source source = {.name = "nws", .fetched = fetched};
    struct series *series = series_new(hour, 1);
    struct error err = {""};

    series_set(series, AIR_TEMP_C, 0, temp_c, origin,
               series_add_source(series, &source));
    if (store_put_weather(store, "tamarack-bend", "north", series, hour + 3600,
                          &err) != 0)
        fail_msg("%s", err.text);
    series_free(series);
}

static bool get_hour(struct store *store, utc_s hour, double *temp_c,
                     enum origin *origin)
{
    struct series *series;
    struct error err = {""};
    bool known;

    if (store_get_weather(store, "tamarack-bend", "north", hour, 1, &series,
                          &err) != 0)
        fail_msg("%s", err.text);
    known = series_get(series, AIR_TEMP_C, 0, temp_c);
    *origin = series_origin(series, AIR_TEMP_C, 0);
    series_free(series);
    return known;
}

static void test_weather_survives_reopening(void **state)
{
    struct bench *bench = *state;
    enum origin origin;
    double temp_c;

    put_hour(bench->store, 7200, -3.25, ORIGIN_FORECAST, 100);
    bench_open(bench);
    assert_true(get_hour(bench->store, 7200, &temp_c, &origin));
    assert_near(temp_c, -3.25, 0);
    assert_int_equal(origin, ORIGIN_FORECAST);
    assert_false(get_hour(bench->store, 10800, &temp_c, &origin));
}

static void test_better_origin_stays(void **state)
{
    struct bench *bench = *state;
    enum origin origin;
    double temp_c;

    put_hour(bench->store, 7200, 1, ORIGIN_FORECAST, 100);
    put_hour(bench->store, 7200, 2, ORIGIN_FORECAST, 200);
    assert_true(get_hour(bench->store, 7200, &temp_c, &origin));
    assert_near(temp_c, 2, 0);
    put_hour(bench->store, 7200, 3, ORIGIN_FORECAST, 150); /* older */
    assert_true(get_hour(bench->store, 7200, &temp_c, &origin));
    assert_near(temp_c, 2, 0);
    put_hour(bench->store, 7200, 4, ORIGIN_OBSERVED, 50);
    put_hour(bench->store, 7200, 5, ORIGIN_FORECAST, 300);
    assert_true(get_hour(bench->store, 7200, &temp_c, &origin));
    assert_near(temp_c, 4, 0);
    assert_int_equal(origin, ORIGIN_OBSERVED);
}

static void test_weather_before_only(void **state)
{
    struct bench *bench = *state;
    struct series_source source = {.name = "nws"};
    struct series *series = series_new(0, 3), *back;
    int number = series_add_source(series, &source);
    double temp_c;

    for (int hour = 0; hour < 3; hour++)
        series_set(series, AIR_TEMP_C, hour, hour, ORIGIN_FORECAST, number);
    assert_int_equal(
        store_put_weather(bench->store, "a", "b", series, 7200, NULL), 0);
    series_free(series);
    assert_int_equal(
        store_get_weather(bench->store, "a", "b", 0, 3, &back, NULL), 0);
    assert_true(series_get(back, AIR_TEMP_C, 1, &temp_c));
    assert_false(series_get(back, AIR_TEMP_C, 2, &temp_c));
    series_free(back);
}

static void test_events_replace_all(void **state)
{
    struct bench *bench = *state;
    struct store_event both[] = {{(char *)"b", (char *)"{\"n\":1}"},
                                 {(char *)"a", (char *)"{\"n\":2}"}};
    struct store_event *back;
    int count;

    assert_int_equal(store_put_events(bench->store, "x", both, 2, NULL), 0);
    assert_int_equal(store_put_events(bench->store, "y", both, 1, NULL), 0);
    assert_int_equal(store_get_events(bench->store, "x", &back, &count, NULL),
                     0);
    assert_int_equal(count, 2);
    assert_string_equal(back[0].uid, "a");
    assert_string_equal(back[1].json, "{\"n\":1}");
    store_events_free(back, count);
    assert_int_equal(store_put_events(bench->store, "x", both, 1, NULL), 0);
    assert_int_equal(store_get_events(bench->store, "x", &back, &count, NULL),
                     0);
    assert_int_equal(count, 1);
    store_events_free(back, count);
}

static void test_rollback_forgets(void **state)
{
    struct bench *bench = *state;
    char *value;

    assert_int_equal(store_put_note(bench->store, "x", "n", "old", NULL), 0);
    assert_int_equal(store_begin(bench->store, NULL), 0);
    assert_int_equal(store_put_note(bench->store, "x", "n", "new", NULL), 0);
    store_rollback(bench->store);
    assert_int_equal(store_get_note(bench->store, "x", "n", &value, NULL), 0);
    assert_string_equal(value, "old");
    free(value);
    assert_int_equal(store_get_note(bench->store, "x", "m", &value, NULL), 0);
    assert_null(value);
}

static void test_scores_keep_each_issue(void **state)
{
    struct bench *bench = *state;
    struct store_score score = {.bush = "north",
                                .date = {2026, 3, 7},
                                .issued = 100,
                                .made = 150,
                                .source = "nws",
                                .model = "two-node",
                                .model_version = "1",
                                .model_digest = "00",
                                .sap_l_per_tap_p50 = 2.5,
                                .chance = 0.8};

    assert_int_equal(store_put_scores(bench->store, "x", &score, 1, NULL), 0);
    score.issued = 200;
    score.sap_l_per_tap_p50 = 3.5;
    assert_int_equal(store_put_scores(bench->store, "x", &score, 1, NULL), 0);
    assert_int_equal(bench_number(bench, "SELECT count(*) FROM score WHERE"
                                         " date='2026-03-07'"),
                     2);
    assert_int_equal(bench_number(bench, "SELECT sum(sap_l_per_tap_p50) = 6.0"
                                         " FROM score WHERE"
                                         " date='2026-03-07'"),
                     1);
}

static void test_newer_version_refused(void **state)
{
    struct bench *bench = *state;
    struct error err = {""};
    struct store *store = NULL;
    char *warning = NULL;

    bench_close(bench);
    bench_sql(bench, "PRAGMA user_version=999");
    assert_int_equal(store_open(bench->path, 0, &store, &warning, &err), -1);
    assert_non_null(strstr(err.text, "newer thawbell"));
    assert_non_null(strstr(err.text, bench->path));
    assert_null(warning);
}

static void test_foreign_database_refused(void **state)
{
    struct bench *bench = *state;
    struct error err = {""};
    struct store *store = NULL;
    char *warning = NULL;

    bench_close(bench);
    bench_sql(bench, "PRAGMA application_id=1");
    assert_int_equal(store_open(bench->path, 0, &store, &warning, &err), -1);
    assert_non_null(strstr(err.text, "another program"));
}

static void test_damaged_is_set_aside(void **state)
{
    struct bench *bench = *state;
    static const char junk[] = "this is no database, though long enough to "
                               "have been one, once upon a time, in a store "
                               "that a failing disk has overwritten with this";
    char *aside = mem_format("%s.damaged-1234", bench->path);
    struct error err = {""};
    char *warning = NULL, *bytes;
    size_t length;

    bench_close(bench);
    assert_int_equal(
        file_write_whole(bench->path, junk, sizeof junk - 1, 0600, &err), 0);
    if (store_open(bench->path, 1234, &bench->store, &warning, &err) != 0)
        fail_msg("%s", err.text);
    assert_non_null(warning);
    assert_non_null(strstr(warning, aside));
    assert_int_equal(file_read(aside, 4096, &bytes, &length, &err), 0);
    assert_int_equal(length, sizeof junk - 1);
    assert_memory_equal(bytes, junk, length);
    assert_int_equal(store_put_note(bench->store, "x", "n", "v", &err), 0);
    free(bytes);
    free(warning);
    /* Once more within the second: the first one stays. */
    bench_close(bench);
    assert_int_equal(
        file_write_whole(bench->path, junk, sizeof junk - 9, 0600, &err), 0);
    if (store_open(bench->path, 1234, &bench->store, &warning, &err) != 0)
        fail_msg("%s", err.text);
    assert_non_null(strstr(warning, "damaged-1235"));
    assert_int_equal(file_read(aside, 4096, &bytes, &length, &err), 0);
    assert_int_equal(length, sizeof junk - 1);
    free(bytes);
    free(warning);
    free(aside);
}

static void test_unwritable_place_is_named(void **state)
{
    struct error err = {""};
    struct store *store = NULL;
    char *warning = NULL;

    (void)state;
    assert_int_equal(
        store_open("/nowhere/at/all.db", 0, &store, &warning, &err), -1);
    assert_non_null(strstr(err.text, "/nowhere/at/all.db"));
}

/* No page may be added, which SQLite tells as it does a full disk. */
static void test_a_full_disk_is_named(void **state)
{
    struct bench *bench = *state;
    char *large = mem_alloc(1, 1 << 20), *words;
    struct error err = {""};

    memset(large, 'x', (1 << 20) - 1);
    words = mem_format("%s: the database cannot be used: No space left on "
                       "device",
                       bench->path);
    assert_int_equal(sqlite3_exec(bench->store->db, "PRAGMA max_page_count=1",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    assert_int_equal(store_put_note(bench->store, "x", "n", large, &err), -1);
    assert_string_equal(err.text, words);
    bench_open(bench);
    assert_int_equal(store_put_note(bench->store, "x", "n", large, &err), 0);
    free(words);
    free(large);
}

/* In memory alone, for the harnesses: no file of that name is left behind. */
static void in_memory_it_leaves_no_file(void **state)
{
    struct store *store;
    char *warning;
    struct error err = {""};

    (void)state;
    assert_int_equal(store_open(":memory:", 0, &store, &warning, &err), 0);
    free(warning);
    store_close(store);
    assert_false(file_exists(":memory:"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(in_memory_it_leaves_no_file),
        cmocka_unit_test_setup_teardown(test_weather_survives_reopening, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_better_origin_stays, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_weather_before_only, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_events_replace_all, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_rollback_forgets, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_scores_keep_each_issue, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_newer_version_refused, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_foreign_database_refused, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_damaged_is_set_aside, set_up,
                                        tear_down),
        cmocka_unit_test(test_unwritable_place_is_named),
        cmocka_unit_test_setup_teardown(test_a_full_disk_is_named, set_up,
                                        tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
