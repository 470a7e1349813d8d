/* A folder with a store in it, for a test each; the folder goes with the
 * bench. */
#ifndef STORE_BENCH_H
#define STORE_BENCH_H

#include "unit_test.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "base/memory.h"
#include "own_folder.h"
#include "store/store.h"

static const utc_s NOW = 1772710200; /* 5 March 2026 */

struct bench {
    char folder[OWN_FOLDER_SIZE];
    char *path;
    char *copy; /* where a second store may stand; nothing does yet */
    struct store *store;
    struct error err;
};

static inline void bench_close(struct bench *bench)
{
    store_close(bench->store);
    bench->store = NULL;
}

/* The store, opened or opened again: sound, and nothing to warn of. */
static inline void bench_open(struct bench *bench)
{
    char *warning = NULL;

    bench_close(bench);
    if (store_open(bench->path, NOW, &bench->store, &warning, &bench->err) != 0)
        fail_msg("%s", bench->err.text);
    assert_null(warning);
}

/* For tests that make the file themselves. */
static inline int set_up_folder(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);

    own_folder_make(bench->folder, "store");
    bench->path = file_join(bench->folder, "thawbell.db");
    bench->copy = file_join(bench->folder, "copy.db");
    *state = bench;
    return 0;
}

static inline int set_up(void **state)
{
    set_up_folder(state);
    bench_open(*state);
    return 0;
}

static inline int tear_down(void **state)
{
    struct bench *bench = *state;

    store_close(bench->store);
    own_folder_remove(bench->folder);
    free(bench->copy);
    free(bench->path);
    free(bench);
    return 0;
}

/* As another program that has the file open. */
static inline void bench_sql(const struct bench *bench, const char *sql)
{
    sqlite3 *db;

    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    if (sqlite3_exec(db, sql, NULL, NULL, NULL) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(db));
    sqlite3_close(db);
}

/* The one whole number that a query answers with. */
static inline int bench_number(const struct bench *bench, const char *sql)
{
    sqlite3_stmt *row;
    sqlite3 *db;
    int number;

    assert_int_equal(sqlite3_open(bench->path, &db), SQLITE_OK);
    if (sqlite3_prepare_v2(db, sql, -1, &row, NULL) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(db));
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    number = sqlite3_column_int(row, 0);
    sqlite3_finalize(row);
    sqlite3_close(db);
    return number;
}

/* Another than before once another connection has changed the file. */
static inline int bench_data_version(sqlite3 *db)
{
    sqlite3_stmt *row;
    int version;

    assert_int_equal(
        sqlite3_prepare_v2(db, "PRAGMA data_version", -1, &row, NULL),
        SQLITE_OK);
    assert_int_equal(sqlite3_step(row), SQLITE_ROW);
    version = sqlite3_column_int(row, 0);
    sqlite3_finalize(row);
    return version;
}

#endif
