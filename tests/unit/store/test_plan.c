/* Plans: what was told stays, once; the store of before them is brought on. */
#include <string.h>
#include <unistd.h>

#include "base/json.h"
#include "store/care.h"
#include "store_bench.h"

static const utc_s DAY = SECONDS_PER_DAY;

static void put(struct bench *bench, const char *operation, utc_s made,
                const char *json)
{
    if (store_put_plan(bench->store, operation, made, json, &bench->err) != 0)
        fail_msg("%s", bench->err.text);
}

static int plans(const struct bench *bench, const char *where)
{
    char *sql = mem_format("SELECT count(*) FROM plan WHERE %s", where);
    int count = bench_number(bench, sql);

    free(sql);
    return count;
}

static void test_each_plan_is_kept(void **state)
{
    struct bench *bench = *state;

    put(bench, "bend", NOW, "{\"ran_l\":1}");
    put(bench, "bend", NOW + 3600, "{\"ran_l\":2}");
    put(bench, "bend", NOW + 7200, "{\"ran_l\":1}");
    put(bench, "crag", NOW, "{\"ran_l\":3}");
    bench_open(bench);
    assert_int_equal(plans(bench, "operation='bend'"), 3);
    assert_int_equal(plans(bench, "operation='bend' AND made=1772713800"
                                  " AND json='{\"ran_l\":2}'"),
                     1);
    assert_int_equal(plans(bench, "operation='crag' AND made=1772710200"
                                  " AND json='{\"ran_l\":3}'"),
                     1);
}

/* Also by a clock that went back behind another. */
static void test_the_same_is_not_written(void **state)
{
    struct bench *bench = *state;
    sqlite3 *db;
    int before;

    put(bench, "bend", NOW, "{\"ran_l\":1}");
    put(bench, "bend", NOW + DAY, "{\"ran_l\":2}");
    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    before = bench_data_version(db);
    put(bench, "bend", NOW, "{\"ran_l\":1}");
    put(bench, "bend", NOW + 60, "{\"ran_l\":1}");
    put(bench, "bend", NOW + DAY, "{\"ran_l\":2}");
    put(bench, "bend", NOW + 2 * DAY, "{\"ran_l\":2}");
    assert_int_equal(plans(bench, "1"), 2);
    assert_int_equal(plans(bench, "made=1772710200"), 1);
    assert_int_equal(bench_data_version(db), before);
    /* What another told is not in force here. */
    put(bench, "crag", NOW + 60, "{\"ran_l\":1}");
    assert_int_not_equal(bench_data_version(db), before);
    sqlite3_close(db);
    assert_int_equal(plans(bench, "operation='crag'"), 1);
}

static void test_of_one_second_the_last_stays(void **state)
{
    struct bench *bench = *state;

    put(bench, "bend", NOW, "{\"ran_l\":1}");
    put(bench, "bend", NOW, "{\"ran_l\":2}");
    assert_int_equal(plans(bench, "1"), 1);
    assert_int_equal(plans(bench, "json='{\"ran_l\":2}'"), 1);
}

static void test_it_goes_with_its_transaction(void **state)
{
    struct bench *bench = *state;

    assert_int_equal(store_begin(bench->store, NULL), 0);
    put(bench, "bend", NOW, "{}");
    assert_int_equal(plans(bench, "1"), 0);
    store_rollback(bench->store);
    assert_int_equal(plans(bench, "1"), 0);
}

/* Four a day, each another, for the UTC day that `days` lie behind. */
static void put_day(struct bench *bench, const char *operation, int days)
{
    utc_s day = (NOW / DAY - days) * DAY;

    for (int hour = 0; hour < 24; hour += 6) {
        char *json = mem_format("{\"ran_l\":%d}", hour);

        put(bench, operation, day + hour * SECONDS_PER_HOUR, json);
        free(json);
    }
}

/* The first day of the last fourteen keeps all, the one before its last; so
 * at the other end. */
static void test_prune(void **state)
{
    static const int days[] = {1300, 1201, 1200, 20, 15, 14, 1};
    static const int left[] = {0, 0, 1, 1, 1, 4, 4};
    struct bench *bench = *state;

    for (size_t i = 0; i < sizeof days / sizeof days[0]; i++)
        put_day(bench, "bend", days[i]);
    put_day(bench, "crag", 20);
    put_day(bench, "crag", 1300);
    for (int times = 0; times < 2; times++) {
        assert_int_equal(store_prune(bench->store, "bend", NOW, NULL), 0);
        for (size_t i = 0; i < sizeof days / sizeof days[0]; i++) {
            char *where = mem_format("operation='bend' AND made/86400=%d",
                                     (int)(NOW / DAY) - days[i]);

            assert_int_equal(plans(bench, where), left[i]);
            free(where);
        }
    }
    assert_int_equal(plans(bench, "operation='bend' AND made<1771400000"
                                  " AND json<>'{\"ran_l\":18}'"),
                     0);
    assert_int_equal(plans(bench, "operation='crag'"), 8);
}

/* All rows, as they are exported; the caller frees. */
static char *exported(const struct bench *bench)
{
    struct error err = {""};
    size_t length;
    char *bytes;

    unlink(bench->copy);
    if (store_export_file(bench->path, bench->copy, &err) != 0 ||
        file_read(bench->copy, 1 << 20, &bytes, &length, &err) != 0)
        fail_msg("%s", err.text);
    return bytes;
}

static void test_export_and_check_tell_it(void **state)
{
    struct bench *bench = *state;
    struct error_list facts = {NULL, 0}, found = {NULL, 0};
    struct error err = {""};
    bool told = false;
    char *bytes;
    cJSON *row;
    long made;

    put(bench, "bend", NOW, "{\"start\":\"x\",\"ran_l\":1}");
    bytes = exported(bench);
    row = json_parse(bytes, strlen(bytes), &err);
    assert_non_null(row);
    assert_string_equal(json_string(row, "table"), "plan");
    assert_string_equal(json_string(row, "operation"), "bend");
    assert_true(json_integer(row, "made", NOW, NOW, &made));
    assert_string_equal(json_string(row, "json"),
                        "{\"start\":\"x\",\"ran_l\":1}");
    cJSON_Delete(row);
    free(bytes);
    assert_int_equal(store_inspect(bench->path, &facts, &found, &err), 0);
    for (int i = 0; i < facts.count; i++)
        told = told || strcmp(facts.items[i], "table plan: 1 row") == 0;
    assert_true(told);
    assert_non_null(strstr(facts.items[0], "version 5"));
    assert_int_equal(found.count, 0);
    error_list_free(&facts);
    error_list_free(&found);
}

/* A row of each kind that version 4 knew. */
static void fill(struct bench *bench)
{
    struct log_record record = {.written = NOW,
                                .change = LOG_NEW,
                                .note = {.kind = LOG_TAPPED, .at = NOW}};
    struct store_event event = {(char *)"uid", (char *)"{\"n\":1}"};
    struct store_score score = {.bush = "north",
                                .date = {2026, 3, 7},
                                .issued = NOW,
                                .made = NOW,
                                .source = "metno",
                                .model = "m",
                                .model_version = "1",
                                .model_digest = "d",
                                .chance = 0.5};
    struct series_source source = {.name = "metno", .fetched = NOW};
    struct series *series = series_new(NOW - NOW % 3600, 5);
    int number = series_add_source(series, &source);
    struct logbook book = {0};

    snprintf(record.uid, sizeof record.uid, "one");
    snprintf(record.note.remark, sizeof record.note.remark, "clear");
    assert_true(logbook_add(&book, &record));
    for (int hour = 0; hour < 5; hour++)
        series_set(series, AIR_TEMP_C, hour, hour, ORIGIN_FORECAST, number);
    assert_int_equal(store_put_weather(bench->store, "bend", "north", series,
                                       NOW + DAY, NULL),
                     0);
    assert_int_equal(store_put_events(bench->store, "bend", &event, 1, NULL),
                     0);
    assert_int_equal(store_put_scores(bench->store, "bend", &score, 1, NULL),
                     0);
    assert_int_equal(store_put_note(bench->store, "bend", "n", "v", NULL), 0);
    assert_int_equal(store_take_log(bench->store, "bend", &book, NOW, NULL), 0);
    bench_sql(bench, "INSERT INTO mail VALUES(7,'bend','m','morning','us',1,2,"
                     "x'41');"
                     "INSERT INTO outbox VALUES(9,7,'you','<1@x>','h','due',"
                     "0,1,0,0,0,'');");
    logbook_free(&book);
    series_free(series);
}

/* What version 4 left is all of this but the table of plans. */
static void test_a_store_of_version_4_keeps_all(void **state)
{
    static const char *const tables[] = {"event",   "log_record",   "mail",
                                         "note",    "outbox",       "score",
                                         "weather", "weather_place"};
    struct bench *bench = *state;
    char *before, *after;

    fill(bench);
    bench_close(bench);
    bench_sql(bench, "DROP TABLE plan; PRAGMA user_version=4;");
    before = exported(bench);
    for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
        char *row = mem_format("{\"table\":\"%s\",", tables[i]);

        assert_non_null(strstr(before, row));
        free(row);
    }
    bench_open(bench);
    assert_int_equal(bench_number(bench, "PRAGMA user_version"), 5);
    after = exported(bench);
    assert_string_equal(before, after);
    put(bench, "bend", NOW, "{}");
    assert_int_equal(plans(bench, "1"), 1);
    free(before);
    free(after);
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_each_plan_is_kept),
        ROW(test_the_same_is_not_written),
        ROW(test_of_one_second_the_last_stays),
        ROW(test_it_goes_with_its_transaction),
        ROW(test_prune),
        ROW(test_export_and_check_tell_it),
        ROW(test_a_store_of_version_4_keeps_all),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
