/* What a turn leaves in the store: calendar, scores and plan, all or nothing.
 * The demo's operation and invented answers. */
#include "unit_test.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "turn_bench.h"

#define NOW DEMO_NOW

static int set_up(void **state)
{
    *state = turn_bench_as_read("remember");
    return 0;
}

/* How many troubles it tells; the first one's words, if they are wanted. */
static int turn_at(struct turn_bench *bench, utc_s now, struct error *first)
{
    struct turn_result result;
    int troubles;

    bulletin_free(turn_bench_good(bench, now, &result));
    troubles = result.troubles.count;
    if (first != NULL)
        error_set(first, "%s", troubles > 0 ? result.troubles.items[0] : "");
    turn_result_free(&result);
    return troubles;
}

static void sql(const struct turn_bench *bench, const char *words)
{
    sqlite3 *db;

    assert_int_equal(sqlite3_open(bench->store_path, &db), SQLITE_OK);
    if (sqlite3_exec(db, words, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(db));
    sqlite3_close(db);
}

/* The one cell that a query answers with; the caller frees. */
static char *cell(const struct turn_bench *bench, const char *words)
{
    sqlite3_stmt *row;
    sqlite3 *db;
    char *text;

    assert_int_equal(sqlite3_open(bench->store_path, &db), SQLITE_OK);
    if (sqlite3_prepare_v2(db, words, -1, &row, NULL) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(db));
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    text = mem_copy_text((const char *)sqlite3_column_text(row, 0));
    sqlite3_finalize(row);
    sqlite3_close(db);
    return text;
}

static int rows(const struct turn_bench *bench, const char *table)
{
    char *words = mem_format("SELECT count(*) FROM %s", table);
    char *count = cell(bench, words);
    int number = (int)strtol(count, NULL, 10);

    free(count);
    free(words);
    return number;
}

/* Byte for byte, with the time at which it was told. */
static void test_the_plan_told_is_stored(void **state)
{
    struct turn_bench *bench = *state;
    char *json, *told, *bulletin;

    assert_int_equal(turn_at(bench, NOW, NULL), 0);
    assert_int_equal(rows(bench, "plan"), 1);
    json = cell(bench, "SELECT json FROM plan WHERE made=1772710200"
                       " AND operation='tamarack-bend'");
    assert_true(strlen(json) > 1000);
    bulletin = turn_bench_read(bench, "bulletin.json");
    told = mem_format("\"plan\":%s", json);
    assert_non_null(strstr(bulletin, told));
    free(told);
    free(bulletin);
    free(json);
}

/* The same within the hour is told and not written; the next hour's is
 * another one. */
static void test_a_plan_is_stored_once(void **state)
{
    struct turn_bench *bench = *state;

    turn_at(bench, NOW, NULL);
    turn_at(bench, NOW, NULL);
    assert_int_equal(rows(bench, "plan"), 1);
    turn_at(bench, NOW + 3600, NULL);
    assert_int_equal(rows(bench, "plan"), 2);
}

static void test_without_a_plan_none_is_stored(void **state)
{
    struct turn_bench *bench = *state;

    bench->config->sugarhouse = (struct config_sugarhouse){0};
    turn_at(bench, NOW, NULL);
    assert_true(rows(bench, "score") > 0);
    assert_int_equal(rows(bench, "plan"), 0);
}

static void refuse(const struct turn_bench *bench, const char *table)
{
    char *words = mem_format("CREATE TRIGGER refuse BEFORE INSERT ON %s"
                             " BEGIN SELECT RAISE(ABORT, 'refused'); END",
                             table);

    sql(bench, words);
    free(words);
}

/* Whichever of them fails, the others are not there either. */
static void test_all_or_nothing(void **state)
{
    static const char *const tables[] = {"event", "score", "plan"};
    struct turn_bench *bench = *state;

    for (int refused = 0; refused < 3; refused++) {
        struct error first = {""};

        refuse(bench, tables[refused]);
        assert_int_equal(turn_at(bench, NOW, &first), 1);
        assert_non_null(strstr(first.text, "refused"));
        for (int i = 0; i < 3; i++)
            assert_int_equal(rows(bench, tables[i]), 0);
        sql(bench, "DROP TRIGGER refuse");
    }
    assert_int_equal(turn_at(bench, NOW, NULL), 0);
    for (int i = 0; i < 3; i++)
        assert_true(rows(bench, tables[i]) > 0);
}

#define ROW(test)                                                              \
    cmocka_unit_test_setup_teardown(test, set_up, turn_bench_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_the_plan_told_is_stored),
        ROW(test_a_plan_is_stored_once),
        ROW(test_without_a_plan_none_is_stored),
        ROW(test_all_or_nothing),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
