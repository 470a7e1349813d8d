#include <cjson/cJSON.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "store/care.h"
#include "store/store_private.h"

static void add_cell(cJSON *object, sqlite3_stmt *row, int column)
{
    const char *name = sqlite3_column_name(row, column);

    switch (sqlite3_column_type(row, column)) {
    case SQLITE_INTEGER:
        cJSON_AddNumberToObject(object, name,
                                (double)sqlite3_column_int64(row, column));
        break;
    case SQLITE_FLOAT:
        cJSON_AddNumberToObject(object, name,
                                sqlite3_column_double(row, column));
        break;
    case SQLITE_NULL:
        cJSON_AddNullToObject(object, name);
        break;
    default:
        cJSON_AddStringToObject(object, name, store_column_words(row, column));
        break;
    }
}

static int write_row(sqlite3_stmt *row, const char *table, FILE *out)
{
    cJSON *object = cJSON_CreateObject();
    int good;
    char *words;

    cJSON_AddStringToObject(object, "table", table);
    for (int i = 0; i < sqlite3_column_count(row); i++)
        add_cell(object, row, i);
    words = cJSON_PrintUnformatted(object);
    good = words != NULL && fprintf(out, "%s\n", words) > 0;
    cJSON_free(words);
    cJSON_Delete(object);
    return good ? 0 : -1;
}

static int write_table(sqlite3 *db, const char *table, FILE *out,
                       struct error *err)
{
    char *sql = sqlite3_mprintf("SELECT * FROM \"%w\"", table);
    sqlite3_stmt *row = NULL;
    int code, result = 0;

    if (sql == NULL)
        mem_fail();
    code = sqlite3_prepare_v2(db, sql, -1, &row, NULL);
    sqlite3_free(sql);
    while (code == SQLITE_OK || code == SQLITE_ROW) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW && write_row(row, table, out) != 0) {
            result = error_set(err, "%s", _("the output cannot be written"));
            break;
        }
    }
    if (result == 0 && code != SQLITE_DONE)
        result = error_set(err, "%s", sqlite3_errmsg(db));
    sqlite3_finalize(row);
    return result;
}

static int write_tables(sqlite3 *db, FILE *out, struct error *err)
{
    sqlite3_stmt *row = NULL;
    int code =
        sqlite3_prepare_v2(db,
                           "SELECT name FROM sqlite_schema WHERE type='table'"
                           " AND name NOT LIKE 'sqlite_%' ORDER BY name",
                           -1, &row, NULL);
    int result = 0;

    while (result == 0 && (code == SQLITE_OK || code == SQLITE_ROW)) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW)
            result = write_table(db, store_column_words(row, 0), out, err);
    }
    if (result == 0 && code != SQLITE_DONE)
        result = error_set(err, "%s", sqlite3_errmsg(db));
    sqlite3_finalize(row);
    return result;
}

/* One read transaction holds the moment. */
int store_export(const char *path, FILE *out, struct error *err)
{
    sqlite3 *db = NULL;
    int result = -1;

    if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READWRITE, NULL) != SQLITE_OK ||
        sqlite3_exec(db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK)
        error_set(err, "%s", sqlite3_errmsg(db));
    else
        result = write_tables(db, out, err);
    sqlite3_close(db);
    return result == 0 ? 0 : error_prefix(err, "%s: ", path);
}
