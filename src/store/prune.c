#include "base/memory.h"
#include "store/store_private.h"

enum {
    WEATHER_DAYS = 400, /* a season back, and the one before for comparing */
    SCORE_ALL_DAYS = 14,
    SCORE_DAYS = 1200 /* three seasons and what lies between */
};

static int run(struct store *store, const char *sql, const char *operation,
               const char *date, utc_s before, struct error *err)
{
    sqlite3_stmt *row = store_prepare(store, sql, err);

    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    if (date != NULL)
        store_bind_text(row, 2, date);
    else
        sqlite3_bind_int64(row, 2, before);
    return store_finish(store, row, err);
}

static void date_before(utc_s now, int days, char out[ISO_DATE_SIZE])
{
    iso_date(civil_date_from_day_number(now / SECONDS_PER_DAY - days), out);
}

static int prune_scores(struct store *store, const char *operation, utc_s now,
                        struct error *err)
{
    char date[ISO_DATE_SIZE];

    date_before(now, SCORE_DAYS, date);
    if (run(store, "DELETE FROM score WHERE operation=?1 AND date<?2",
            operation, date, 0, err) != 0)
        return -1;
    date_before(now, SCORE_ALL_DAYS, date);
    return run(store,
               "DELETE FROM score WHERE operation=?1 AND date<?2 AND issued<"
               "(SELECT max(s.issued) FROM score s WHERE s.operation=?1"
               " AND s.bush=score.bush AND s.date=score.date"
               " AND s.issued/86400=score.issued/86400)",
               operation, date, 0, err);
}

int store_prune(struct store *store, const char *operation, utc_s now,
                struct error *err)
{
    bool own;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    result =
        run(store, "DELETE FROM weather WHERE operation=?1 AND hour<?2",
            operation, NULL, now - (utc_s)WEATHER_DAYS * SECONDS_PER_DAY, err);
    if (result == 0)
        result = prune_scores(store, operation, now, err);
    return store_leave(store, own, result, err);
}
