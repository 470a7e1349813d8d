/* Looking after a store from outside, and what is pruned. */
#include "store/care.h"

#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/json.h"
#include "store_bench.h"

static const utc_s DAY = SECONDS_PER_DAY;

static int set_up_noted(void **state)
{
    struct bench *bench;

    set_up(state);
    bench = *state;
    assert_int_equal(store_put_note(bench->store, "bend", "a \"name\"",
                                    "w\xc3\xa4hrend", NULL),
                     0);
    return 0;
}

static bool holds(const struct error_list *list, const char *words)
{
    for (int i = 0; i < list->count; i++)
        if (strstr(list->items[i], words) != NULL)
            return true;
    return false;
}

/* While the daemon has it open. */
static void test_inspect_sound(void **state)
{
    struct bench *bench = *state;
    struct error_list facts = {NULL, 0}, found = {NULL, 0};

    assert_int_equal(store_inspect(bench->path, &facts, &found, NULL), 0);
    assert_int_equal(found.count, 0);
    assert_true(holds(&facts, "table note: 1 row"));
    assert_true(holds(&facts, "thawbell.db: "));
    error_list_free(&facts);
    error_list_free(&found);
}

static void test_inspect_damaged(void **state)
{
    struct bench *bench = *state;
    struct error_list facts = {NULL, 0}, found = {NULL, 0};
    struct error err = {""};
    FILE *file;

    bench_close(bench);
    file = fopen(bench->path, "r+b");
    assert_non_null(file);
    fseek(file, 4096, SEEK_SET);
    for (int i = 0; i < 8192; i++)
        fputc(0xA5, file);
    fclose(file);
    assert_int_equal(store_inspect(bench->path, &facts, &found, NULL), 0);
    assert_true(found.count > 0);
    for (int i = 0; i < found.count; i++) {
        assert_null(strchr(found.items[i], '\n'));
        assert_null(strstr(found.items[i], "***"));
    }
    error_list_free(&facts);
    error_list_free(&found);
    /* It is looked at, not moved, and not copied. */
    assert_true(file_exists(bench->path));
    assert_int_equal(store_backup(bench->path, bench->copy, &err), -1);
    assert_non_null(strstr(err.text, "nothing was copied"));
    assert_null(strchr(err.text, '\n'));
    assert_false(file_exists(bench->copy));
}

/* Whatever the umask says, and its log alike. */
static void test_others_may_not_read(void **state)
{
    struct bench *bench = *state;
    char *log = mem_format("%s-wal", bench->path);
    struct stat status;

    assert_int_equal(stat(bench->path, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0600);
    assert_int_equal(stat(log, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0600);
    free(log);
}

static void test_inspect_missing(void **state)
{
    struct bench *bench = *state;
    struct error_list facts = {NULL, 0}, found = {NULL, 0};
    struct error err;

    assert_int_equal(store_inspect(bench->copy, &facts, &found, &err), -1);
    assert_non_null(strstr(err.text, "no store yet"));
    assert_false(file_exists(bench->copy));
}

static void test_backup(void **state)
{
    struct bench *bench = *state;
    struct store *copy;
    struct stat status;
    char *value, *warning;
    struct error err;

    assert_int_equal(store_backup(bench->path, bench->copy, NULL), 0);
    assert_int_equal(stat(bench->copy, &status), 0);
    assert_int_equal(status.st_mode & 0777, 0600);
    assert_int_equal(store_open(bench->copy, NOW, &copy, &warning, NULL), 0);
    assert_null(warning);
    assert_int_equal(store_get_note(copy, "bend", "a \"name\"", &value, NULL),
                     0);
    assert_string_equal(value, "w\xc3\xa4hrend");
    free(value);
    store_close(copy);
    assert_int_equal(store_backup(bench->path, bench->copy, &err), -1);
    assert_non_null(strstr(err.text, "is there already"));
    assert_int_equal(store_backup(bench->path, "/nowhere/at/all/copy.db", NULL),
                     -1);
}

/* In the middle of the daemon's transaction: the moment before it. */
static void test_backup_within_a_transaction(void **state)
{
    struct bench *bench = *state;
    struct store *copy;
    char *value, *warning;

    assert_int_equal(store_begin(bench->store, NULL), 0);
    assert_int_equal(store_put_note(bench->store, "bend", "half", "done", NULL),
                     0);
    assert_int_equal(store_backup(bench->path, bench->copy, NULL), 0);
    assert_int_equal(store_commit(bench->store, NULL), 0);
    assert_int_equal(store_open(bench->copy, NOW, &copy, &warning, NULL), 0);
    assert_int_equal(store_get_note(copy, "bend", "half", &value, NULL), 0);
    assert_null(value);
    store_close(copy);
}

static void test_export(void **state)
{
    struct bench *bench = *state;
    char line[512] = "";
    FILE *out = tmpfile();
    struct error err;
    cJSON *row;

    assert_non_null(out);
    assert_int_equal(store_export(bench->path, out, NULL), 0);
    rewind(out);
    assert_non_null(fgets(line, sizeof line, out));
    row = json_parse(line, strlen(line), &err);
    assert_non_null(row);
    assert_string_equal(json_string(row, "table"), "note");
    assert_string_equal(json_string(row, "operation"), "bend");
    assert_string_equal(json_string(row, "name"), "a \"name\"");
    assert_string_equal(json_string(row, "value"), "w\xc3\xa4hrend");
    assert_null(fgets(line, sizeof line, out));
    cJSON_Delete(row);
    fclose(out);
}

static void an_export_to_a_file_is_whole_or_not_there(void **state)
{
    struct bench *bench = *state;
    char *bytes = NULL, *missing = mem_format("%s.none/export", bench->copy);
    struct error err = {""};
    struct stat status;
    size_t length = 0;

    assert_int_equal(store_export_file(bench->path, bench->copy, &err), 0);
    assert_int_equal(stat(bench->copy, &status), 0);
    assert_int_equal(status.st_mode & 07777, 0600);
    assert_int_equal(status.st_nlink, 1);
    assert_int_equal(file_read(bench->copy, 4096, &bytes, &length, NULL), 0);
    assert_non_null(strstr(bytes, "\"table\":\"note\""));
    assert_int_equal(bytes[length - 1], '\n');
    free(bytes);
    assert_int_equal(store_export_file(bench->path, bench->copy, &err), -1);
    assert_non_null(strstr(err.text, "is there already"));
    unlink(bench->copy);
    assert_int_equal(store_export_file(missing, bench->copy, &err), -1);
    assert_non_null(strstr(err.text, "there is no store yet"));
    assert_false(file_exists(bench->copy));
    assert_int_equal(store_export_file(bench->path, missing, &err), -1);
    assert_non_null(strstr(err.text, "cannot be made"));
    free(missing);
}

static void put_score(struct store *store, const char *operation, utc_s day,
                      utc_s issued)
{
    struct store_score score = {
        .bush = "north",
        .date = civil_date_from_day_number(day / DAY),
        .issued = issued,
        .made = issued,
        .source = "metno",
        .model = "m",
        .model_version = "1",
        .model_digest = "d",
    };

    assert_int_equal(store_put_scores(store, operation, &score, 1, NULL), 0);
}

static void put_hour(struct store *store, const char *operation, utc_s hour,
                     utc_s fetched)
{
    struct series *series = series_new(hour, 1);
    struct series_source source = {.name = "metno", .fetched = fetched};
    int number = series_add_source(series, &source);

    series_set(series, AIR_TEMP_C, 0, -3, ORIGIN_OBSERVED, number);
    assert_int_equal(
        store_put_weather(store, operation, "north", series, hour + DAY, NULL),
        0);
    series_free(series);
}

/* Another connection sees no change of the file. */
static void test_same_weather_is_not_written(void **state)
{
    struct bench *bench = *state;
    utc_s hour = NOW - NOW % SECONDS_PER_HOUR;
    sqlite3 *db;
    int before;

    put_hour(bench->store, "bend", hour, hour);
    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    before = bench_data_version(db);
    /* Fetched anew, and the same. */
    put_hour(bench->store, "bend", hour, hour + 60);
    assert_int_equal(bench_data_version(db), before);
    put_hour(bench->store, "bend", hour + SECONDS_PER_HOUR, hour);
    assert_int_not_equal(bench_data_version(db), before);
    sqlite3_close(db);
}

/* The same of the calendar's events: one that changed, one that went. */
static void test_same_events_are_not_written(void **state)
{
    struct bench *bench = *state;
    struct store_event both[] = {{(char *)"a", (char *)"{\"n\":1}"},
                                 {(char *)"b", (char *)"{\"n\":2}"}};
    sqlite3 *db;
    int before;

    assert_int_equal(store_put_events(bench->store, "bend", both, 2, NULL), 0);
    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    before = bench_data_version(db);
    assert_int_equal(store_put_events(bench->store, "bend", both, 2, NULL), 0);
    assert_int_equal(bench_data_version(db), before);
    both[1].json = (char *)"{\"n\":3}";
    assert_int_equal(store_put_events(bench->store, "bend", both, 2, NULL), 0);
    assert_int_not_equal(bench_data_version(db), before);
    assert_int_equal(
        bench_number(bench, "SELECT count(*) FROM event WHERE json LIKE '%3%'"),
        1);
    before = bench_data_version(db);
    assert_int_equal(store_put_events(bench->store, "bend", both + 1, 1, NULL),
                     0);
    assert_int_not_equal(bench_data_version(db), before);
    assert_int_equal(bench_number(bench, "SELECT count(*) FROM event"), 1);
    sqlite3_close(db);
}

static void test_prune_weather(void **state)
{
    struct bench *bench = *state;
    utc_s hour = NOW - NOW % SECONDS_PER_HOUR;

    put_hour(bench->store, "bend", hour - 401 * DAY, hour);
    put_hour(bench->store, "bend", hour - 399 * DAY, hour);
    put_hour(bench->store, "other", hour - 401 * DAY, hour);
    assert_int_equal(store_prune(bench->store, "bend", NOW, NULL), 0);
    assert_int_equal(
        bench_number(bench,
                     "SELECT count(*) FROM weather_day JOIN weather_place"
                     " ON day/1000000=place WHERE operation='bend'"),
        1);
    assert_int_equal(
        bench_number(bench,
                     "SELECT count(*) FROM weather_day JOIN weather_place"
                     " ON day/1000000=place WHERE operation='other'"),
        1);
    assert_int_equal(bench_number(bench, "SELECT count(*) FROM note"), 1);
}

/* Of the issues of a day the last stays, for each lead day; young scores and
 * those of others stay all. */
static void test_prune_scores(void **state)
{
    struct bench *bench = *state;
    utc_s day = (NOW / DAY - 20) * DAY, young = (NOW / DAY - 10) * DAY;

    for (int lead = 0; lead < 3; lead++)
        for (int hour = 0; hour < 24; hour += 6) {
            put_score(bench->store, "bend", day,
                      day - lead * DAY + hour * SECONDS_PER_HOUR);
            put_score(bench->store, "bend", young,
                      young - lead * DAY + hour * SECONDS_PER_HOUR);
            put_score(bench->store, "other", day,
                      day - lead * DAY + hour * SECONDS_PER_HOUR);
        }
    put_score(bench->store, "bend", day - 1300 * DAY, day - 1300 * DAY);
    assert_int_equal(store_prune(bench->store, "bend", NOW, NULL), 0);
    assert_int_equal(
        bench_number(bench,
                     "SELECT count(*) FROM score WHERE operation='bend'"),
        3 + 12);
    assert_int_equal(
        bench_number(bench,
                     "SELECT count(*) FROM score WHERE operation='bend' AND "
                     "issued % 86400 = 64800 AND date < '2026-02-20'"),
        3);
    assert_int_equal(
        bench_number(bench,
                     "SELECT count(*) FROM score WHERE operation='other'"),
        12);
}

static void test_lost(void **state)
{
    struct bench *bench = *state;

    assert_false(store_lost(bench->store));
    assert_int_equal(rename(bench->path, bench->copy), 0);
    assert_true(store_lost(bench->store));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_inspect_sound, set_up_noted,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_inspect_damaged, set_up_noted,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_others_may_not_read, set_up_noted,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_inspect_missing, set_up_noted,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_backup, set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(test_backup_within_a_transaction,
                                        set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(test_export, set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(
            an_export_to_a_file_is_whole_or_not_there, set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(test_same_weather_is_not_written,
                                        set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(test_same_events_are_not_written,
                                        set_up_noted, tear_down),
        cmocka_unit_test_setup_teardown(test_prune_weather, set_up_noted,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_prune_scores, set_up_noted,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_lost, set_up_noted, tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
