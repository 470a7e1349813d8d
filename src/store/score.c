#include "store/store_private.h"

static void bind_score(sqlite3_stmt *row, const char *operation,
                       const struct store_score *score)
{
    char date[ISO_DATE_SIZE];

    iso_date(score->date, date);
    store_bind_text(row, 1, operation);
    store_bind_text(row, 2, score->bush);
    store_bind_text(row, 3, date);
    sqlite3_bind_int64(row, 4, score->issued);
    sqlite3_bind_int64(row, 5, score->made);
    store_bind_text(row, 6, score->source);
    store_bind_text(row, 7, score->model);
    store_bind_text(row, 8, score->model_version);
    store_bind_text(row, 9, score->model_digest);
    sqlite3_bind_double(row, 10, score->sap_l_per_tap_p10);
    sqlite3_bind_double(row, 11, score->sap_l_per_tap_p50);
    sqlite3_bind_double(row, 12, score->sap_l_per_tap_p90);
    sqlite3_bind_double(row, 13, score->chance);
}

int store_put_scores(struct store *store, const char *operation,
                     const struct store_score *scores, int count,
                     struct error *err)
{
    sqlite3_stmt *row;
    bool own;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    row = store_prepare(store,
                        "INSERT OR REPLACE INTO score VALUES"
                        "(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13)",
                        err);
    result = row == NULL ? -1 : 0;
    for (int i = 0; result == 0 && i < count; i++) {
        bind_score(row, operation, &scores[i]);
        result = store_step(store, row, err);
    }
    store_release(store, row);
    return store_leave(store, own, result, err);
}

int store_put_plan(struct store *store, const char *operation, utc_s made,
                   const char *json, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store,
        "INSERT OR REPLACE INTO plan SELECT ?1,?2,?3 WHERE ?3 IS NOT"
        " (SELECT json FROM plan WHERE operation=?1 AND made<=?2"
        " ORDER BY made DESC LIMIT 1)",
        err);

    if (row != NULL) {
        store_bind_text(row, 1, operation);
        sqlite3_bind_int64(row, 2, made);
        store_bind_text(row, 3, json);
    }
    return store_run(store, row, err);
}

int store_put_note(struct store *store, const char *operation, const char *name,
                   const char *value, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store, "INSERT OR REPLACE INTO note VALUES(?1,?2,?3)", err);

    if (row != NULL) {
        store_bind_text(row, 1, operation);
        store_bind_text(row, 2, name);
        store_bind_text(row, 3, value);
    }
    return store_run(store, row, err);
}

int store_get_note(struct store *store, const char *operation, const char *name,
                   char **value, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store, "SELECT value FROM note WHERE operation=?1 AND name=?2", err);
    bool found;
    int result;

    *value = NULL;
    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    store_bind_text(row, 2, name);
    result = store_seek(store, row, &found, err);
    if (found)
        *value = store_column_text(row, 0);
    store_release(store, row);
    return result;
}
