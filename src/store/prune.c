#include "store/weather_place.h"

enum {
    WEATHER_DAYS = 400, /* a season back, and the one before for comparing */
    /* Of scores and plans. */
    TOLD_ALL_DAYS = 14,
    TOLD_DAYS = 1200 /* three seasons and what lies between */
};

static void date_before(utc_s now, int days, char out[ISO_DATE_SIZE])
{
    iso_date(civil_date_from_day_number(now / SECONDS_PER_DAY - days), out);
}

static int prune_scores(struct store *store, const char *operation, utc_s now,
                        struct error *err)
{
    char date[ISO_DATE_SIZE];

    date_before(now, TOLD_DAYS, date);
    if (store_run_for(store, "DELETE FROM score WHERE operation=?1 AND date<?2",
                      operation, date, err) != 0)
        return -1;
    date_before(now, TOLD_ALL_DAYS, date);
    return store_run_for(
        store,
        "DELETE FROM score WHERE operation=?1 AND date<?2 AND issued<"
        "(SELECT max(s.issued) FROM score s WHERE s.operation=?1"
        " AND s.bush=score.bush AND s.date=score.date"
        " AND s.issued/86400=score.issued/86400)",
        operation, date, err);
}

static int run_before(struct store *store, const char *sql,
                      const char *operation, utc_s now, int days,
                      struct error *err)
{
    sqlite3_stmt *row = store_prepare(store, sql, err);

    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    sqlite3_bind_int64(row, 2, (utc_day(now) - days) * SECONDS_PER_DAY);
    return store_finish(store, row, err);
}

static int prune_plans(struct store *store, const char *operation, utc_s now,
                       struct error *err)
{
    if (run_before(store, "DELETE FROM plan WHERE operation=?1 AND made<?2",
                   operation, now, TOLD_DAYS, err) != 0)
        return -1;
    return run_before(store,
                      "DELETE FROM plan WHERE operation=?1 AND made<?2"
                      " AND EXISTS(SELECT 1 FROM plan p WHERE p.operation=?1"
                      " AND p.made>plan.made"
                      " AND p.made<(plan.made/86400+1)*86400)",
                      operation, now, TOLD_ALL_DAYS, err);
}

static int prune_weather(struct store *store, const char *operation, utc_s now,
                         struct error *err)
{
    sqlite3_stmt *row =
        store_prepare(store,
                      "DELETE FROM weather_day WHERE day IN (SELECT d.day"
                      " FROM weather_place p JOIN weather_day d"
                      " ON d.day>=p.place*?3 AND d.day<p.place*?3+?2"
                      " WHERE p.operation=?1)",
                      err);

    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    sqlite3_bind_int64(row, 2, utc_day(now) - WEATHER_DAYS);
    sqlite3_bind_int64(row, 3, WEATHER_DAY_LIMIT);
    return store_finish(store, row, err);
}

int store_prune(struct store *store, const char *operation, utc_s now,
                struct error *err)
{
    bool own;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    result = prune_weather(store, operation, now, err);
    if (result == 0)
        result = prune_scores(store, operation, now, err);
    if (result == 0)
        result = prune_plans(store, operation, now, err);
    return store_leave(store, own, result, err);
}
