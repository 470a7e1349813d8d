/* The logbook in the store: version 2, numbers, records once, there and back.
 */
#include <string.h>

#include "store_bench.h"

static struct log_record record_of(const char *uid, utc_s written)
{
    struct log_record record = {.written = written,
                                .note = {.kind = LOG_DREW, .at = written - 5}};

    snprintf(record.uid, sizeof record.uid, "%s", uid);
    record.note.has[LOG_SYRUP_L] = true;
    record.note.figure[LOG_SYRUP_L] = 1.0 / 3;
    return record;
}

static void take(struct bench *bench, const char *operation,
                 const struct log_record *records, int count)
{
    struct logbook book = {0};
    struct error err = {""};

    for (int i = 0; i < count; i++)
        assert_true(logbook_add(&book, &records[i]));
    if (store_take_log(bench->store, operation, &book, 99, &err) != 0)
        fail_msg("%s", err.text);
    logbook_free(&book);
}

static struct logbook get(struct bench *bench, const char *operation)
{
    struct logbook book;
    struct error err = {""};

    if (store_get_log(bench->store, operation, &book, &err) != 0)
        fail_msg("%s", err.text);
    return book;
}

static void test_there_and_back(void **state)
{
    struct bench *bench = *state;
    struct log_record rows[3] = {record_of("a", 100),
                                 record_of("b", 200),
                                 {.change = LOG_REMOVAL, .written = 300}};
    struct logbook book;

    snprintf(rows[0].note.remark, sizeof rows[0].note.remark, "été; DROP");
    snprintf(rows[0].note.bush, sizeof rows[0].note.bush, "o'north");
    rows[0].note.has_grade = true;
    rows[0].note.grade = GRADE_VERY_DARK;
    rows[1].change = LOG_CORRECTION;
    snprintf(rows[1].target, sizeof rows[1].target, "a");
    snprintf(rows[2].uid, sizeof rows[2].uid, "c");
    snprintf(rows[2].target, sizeof rows[2].target, "a");
    take(bench, "bend", rows, 3);
    bench_open(bench);
    book = get(bench, "bend");
    assert_int_equal(book.count, 3);
    assert_string_equal(book.records[0].note.remark, "été; DROP");
    assert_string_equal(book.records[0].note.bush, "o'north");
    assert_int_equal(book.records[0].note.grade, GRADE_VERY_DARK);
    assert_true(book.records[0].note.has_grade);
    assert_near(book.records[0].note.figure[LOG_SYRUP_L], 1.0 / 3, 0);
    assert_false(book.records[0].note.has[LOG_LIGHT_PCT]);
    assert_int_equal(book.records[0].number, 1);
    assert_int_equal(book.records[1].change, LOG_CORRECTION);
    assert_int_equal(book.records[1].number, 0);
    assert_string_equal(book.records[1].target, "a");
    assert_false(book.records[1].note.has_grade);
    assert_int_equal(book.records[2].change, LOG_REMOVAL);
    logbook_free(&book);
}

/* Taken twice, kept once; numbers go on, each operation with its own. */
static void test_numbers_go_on(void **state)
{
    struct bench *bench = *state;
    struct log_record rows[3] = {record_of("a", 100), record_of("b", 200),
                                 record_of("c", 50)};
    struct logbook book;

    take(bench, "bend", rows, 2);
    take(bench, "bend", rows, 3);
    take(bench, "other", rows, 1);
    book = get(bench, "bend");
    assert_int_equal(book.count, 3);
    assert_int_equal(logbook_find(&book, 1)->written, 100);
    assert_int_equal(logbook_find(&book, 2)->written, 200);
    assert_int_equal(logbook_find(&book, 3)->written, 50);
    logbook_free(&book);
    book = get(bench, "other");
    assert_int_equal(book.count, 1);
    assert_int_equal(book.records[0].number, 1);
    logbook_free(&book);
}

/* What the caller rolls back was never there. */
static void test_one_transaction(void **state)
{
    struct bench *bench = *state;
    struct log_record row = record_of("a", 100);
    struct error err = {""};
    struct logbook book;

    assert_int_equal(store_begin(bench->store, &err), 0);
    take(bench, "bend", &row, 1);
    store_rollback(bench->store);
    book = get(bench, "bend");
    assert_int_equal(book.count, 0);
    logbook_free(&book);
}

/* A store of version 1 is brought on, and what it holds stays. */
static void test_from_version_1(void **state)
{
    struct bench *bench = *state;
    struct error err = {""};
    char *value = NULL;

    bench_sql(
        bench,
        "CREATE TABLE note(operation TEXT NOT NULL, name TEXT NOT NULL,"
        " value TEXT NOT NULL, PRIMARY KEY(operation, name)) STRICT,"
        " WITHOUT ROWID;"
        "CREATE TABLE weather(operation TEXT NOT NULL, bush TEXT NOT NULL,"
        " hour INTEGER NOT NULL, quantity TEXT NOT NULL,"
        " value REAL NOT NULL, origin INTEGER NOT NULL,"
        " source TEXT NOT NULL, issued INTEGER NOT NULL,"
        " fetched INTEGER NOT NULL, PRIMARY KEY(operation, bush, hour,"
        " quantity)) STRICT, WITHOUT ROWID;"
        "INSERT INTO note VALUES('bend', 'n', 'kept');"
        "PRAGMA application_id=1952997751; PRAGMA user_version=1;");
    bench_open(bench);
    assert_int_equal(store_get_note(bench->store, "bend", "n", &value, &err),
                     0);
    assert_string_equal(value, "kept");
    free(value);
    test_numbers_go_on(state);
}

/* A row that somebody has spoilt is told by its uid. */
static void test_spoilt_row(void **state)
{
    struct bench *bench = *state;
    struct log_record row = record_of("a", 100);
    struct logbook book;
    struct error err = {""};

    take(bench, "bend", &row, 1);
    bench_sql(bench, "UPDATE log_record SET syrup_l=-1");
    assert_int_equal(store_get_log(bench->store, "bend", &book, &err), -1);
    assert_non_null(strstr(err.text, "record a of the logbook"));
    logbook_free(&book);
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_there_and_back),
        ROW(test_numbers_go_on),
        ROW(test_one_transaction),
        cmocka_unit_test_setup_teardown(test_from_version_1, set_up_folder,
                                        tear_down),
        ROW(test_spoilt_row),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
