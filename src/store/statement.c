/* Statements: made once for a store and kept, since SQLite takes longer to
 * read one than to run it. */
#include <string.h>

#include "base/memory.h"
#include "store/store_private.h"

static sqlite3_stmt *take_kept(struct store *store, const char *sql)
{
    for (int i = 0; i < store->kept_count; i++) {
        struct kept_statement *kept = &store->kept[i];

        if (kept->sql == sql && !kept->taken &&
            strcmp(sqlite3_sql(kept->row), sql) == 0) {
            kept->taken = true;
            return kept->row;
        }
    }
    return NULL;
}

sqlite3_stmt *store_prepare(struct store *store, const char *sql,
                            struct error *err)
{
    sqlite3_stmt *row = take_kept(store, sql);

    if (row != NULL)
        return row;
    if (sqlite3_prepare_v3(store->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &row,
                           NULL) != SQLITE_OK) {
        store_fail(store, err);
        return NULL;
    }
    if (store->kept_count < STORE_MAX_KEPT)
        store->kept[store->kept_count++] =
            (struct kept_statement){sql, row, true};
    return row;
}

void store_release(struct store *store, sqlite3_stmt *row)
{
    if (row == NULL)
        return;
    for (int i = 0; i < store->kept_count; i++)
        if (store->kept[i].row == row) {
            sqlite3_reset(row);
            sqlite3_clear_bindings(row);
            store->kept[i].taken = false;
            return;
        }
    sqlite3_finalize(row);
}

void store_forget_statements(struct store *store)
{
    for (int i = 0; i < store->kept_count; i++)
        sqlite3_finalize(store->kept[i].row);
    store->kept_count = 0;
}

int store_number(sqlite3 *db, const char *sql, sqlite3_int64 *out)
{
    sqlite3_stmt *row = NULL;
    int result = -1;

    if (sqlite3_prepare_v2(db, sql, -1, &row, NULL) == SQLITE_OK &&
        sqlite3_step(row) == SQLITE_ROW) {
        *out = sqlite3_column_int64(row, 0);
        result = 0;
    }
    sqlite3_finalize(row);
    return result;
}

int store_run_for(struct store *store, const char *sql, const char *first,
                  const char *second, struct error *err)
{
    sqlite3_stmt *row = store_prepare(store, sql, err);

    if (row == NULL)
        return -1;
    store_bind_text(row, 1, first);
    store_bind_text(row, 2, second);
    return store_finish(store, row, err);
}

int store_step(struct store *store, sqlite3_stmt *row, struct error *err)
{
    int code = sqlite3_step(row);

    if (code != SQLITE_DONE && code != SQLITE_ROW) {
        store_fail(store, err);
        sqlite3_reset(row);
        return -1;
    }
    sqlite3_reset(row);
    return 0;
}

int store_finish(struct store *store, sqlite3_stmt *row, struct error *err)
{
    int result = row != NULL ? store_step(store, row, err) : -1;

    store_release(store, row);
    return result;
}

int store_run(struct store *store, sqlite3_stmt *row, struct error *err)
{
    bool own;

    if (row != NULL && store_enter(store, &own, err) == 0)
        return store_leave(store, own, store_finish(store, row, err), err);
    store_release(store, row);
    return -1;
}

int store_seek(struct store *store, sqlite3_stmt *row, bool *found,
               struct error *err)
{
    int code = sqlite3_step(row);

    *found = code == SQLITE_ROW;
    return *found || code == SQLITE_DONE ? 0 : store_fail(store, err);
}

const char *store_column_words(sqlite3_stmt *row, int column)
{
    bool null = sqlite3_column_type(row, column) == SQLITE_NULL;
    const char *words = (const char *)sqlite3_column_text(row, column);

    if (words == NULL && !null)
        mem_fail();
    return words;
}

char *store_column_text(sqlite3_stmt *row, int column)
{
    return mem_copy_text(store_column_words(row, column));
}

void store_bind_text(sqlite3_stmt *row, int index, const char *words)
{
    if (sqlite3_bind_text(row, index, words, -1, SQLITE_TRANSIENT) ==
        SQLITE_NOMEM)
        mem_fail();
}

void store_bind_bytes(sqlite3_stmt *row, int index, const void *bytes,
                      size_t length)
{
    if (sqlite3_bind_blob64(row, index, bytes, length, SQLITE_TRANSIENT) ==
        SQLITE_NOMEM)
        mem_fail();
}
