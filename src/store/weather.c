#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "store/store_private.h"

/* A better origin replaces a worse one, and of the same origin the newer. */
static const char put_sql[] =
    "INSERT INTO weather VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9)"
    " ON CONFLICT(operation, bush, hour, quantity) DO UPDATE SET"
    " value=excluded.value, origin=excluded.origin, source=excluded.source,"
    " issued=excluded.issued, fetched=excluded.fetched"
    " WHERE excluded.origin < weather.origin"
    " OR (excluded.origin = weather.origin"
    "     AND excluded.fetched >= weather.fetched)";

/* What the series tells and what is held for the same hours. */
struct putting {
    const struct series *series, *held;
};

static bool came_from_here(const struct series *series, enum quantity quantity,
                           int hour)
{
    const struct series_source *source =
        series_source(series, series_value_source(series, quantity, hour));

    return strcmp(source->name, "history") == 0;
}

/* The first hour with a value that did not come from here: what is held of
 * the months before it is of no interest. */
static int first_told(const struct series *series)
{
    double value;

    for (int hour = 0; hour < series_hours(series); hour++)
        for (int q = 0; q < QUANTITY_COUNT; q++)
            if (series_get(series, (enum quantity)q, hour, &value) &&
                !came_from_here(series, (enum quantity)q, hour))
                return hour;
    return series_hours(series);
}

/* Most of a forecast is as it was an hour ago: it is not written again. */
static bool is_held(const struct series *held, utc_s at, enum quantity quantity,
                    double value, enum origin origin)
{
    int hour = series_row(held, at);
    double known;

    return hour >= 0 && series_get(held, quantity, hour, &known) &&
           !(known < value || known > value) &&
           series_origin(held, quantity, hour) == origin;
}

static int put_value(struct store *store, sqlite3_stmt *row,
                     const struct putting *putting, enum quantity quantity,
                     int hour, struct error *err)
{
    const struct series *series = putting->series;
    const struct series_source *source;
    double value;

    if (!series_get(series, quantity, hour, &value) ||
        came_from_here(series, quantity, hour) ||
        is_held(putting->held, series_time(series, hour), quantity, value,
                series_origin(series, quantity, hour)))
        return 0;
    source = series_source(series, series_value_source(series, quantity, hour));
    sqlite3_bind_int64(row, 3, series_time(series, hour));
    store_bind_text(row, 4, quantity_name(quantity));
    sqlite3_bind_double(row, 5, value);
    sqlite3_bind_int(row, 6, (int)series_origin(series, quantity, hour));
    store_bind_text(row, 7, source->name);
    sqlite3_bind_int64(row, 8, source->issued);
    sqlite3_bind_int64(row, 9, source->fetched);
    return store_step(store, row, err);
}

static int put_rows(struct store *store, sqlite3_stmt *row,
                    const struct putting *putting, utc_s before,
                    struct error *err)
{
    const struct series *series = putting->series;

    for (int hour = first_told(series); hour < series_hours(series); hour++) {
        if (series_time(series, hour) >= before)
            break;
        for (int q = 0; q < QUANTITY_COUNT; q++)
            if (put_value(store, row, putting, (enum quantity)q, hour, err))
                return -1;
    }
    return 0;
}

int store_put_weather(struct store *store, const char *operation,
                      const char *bush, const struct series *series,
                      utc_s before, struct error *err)
{
    struct series *held = NULL;
    sqlite3_stmt *row = NULL;
    int first = first_told(series);
    bool own;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    result =
        store_get_weather(store, operation, bush, series_time(series, first),
                          series_hours(series) - first, &held, err);
    if (result == 0)
        row = store_prepare(store, put_sql, err);
    if (row != NULL) {
        store_bind_text(row, 1, operation);
        store_bind_text(row, 2, bush);
        result =
            put_rows(store, row, &(struct putting){series, held}, before, err);
    } else {
        result = -1;
    }
    sqlite3_finalize(row);
    series_free(held);
    return store_leave(store, own, result, err);
}

static void get_row(struct series *series, sqlite3_stmt *row, int source)
{
    int quantity = quantity_from_name(store_column_words(row, 1));
    int hour = series_row(series, sqlite3_column_int64(row, 0));
    int origin = sqlite3_column_int(row, 3);
    double value = sqlite3_column_double(row, 2);

    /* A damaged page may hold anything. */
    if (quantity < 0 || hour < 0 || origin <= ORIGIN_NONE ||
        origin >= ORIGIN_COUNT ||
        quantity_check((enum quantity)quantity, value, NULL) != 0)
        return;
    series_set(series, (enum quantity)quantity, hour, value,
               (enum origin)origin, source);
}

static const char get_sql[] =
    "SELECT hour, quantity, value, origin FROM weather"
    " WHERE operation=?1 AND bush=?2 AND hour>=?3 AND hour<?4";
static const char get_one_sql[] =
    "SELECT hour, quantity, value, origin FROM weather"
    " WHERE operation=?1 AND bush=?2 AND hour>=?3 AND hour<?4"
    " AND quantity=?5";

static int get_rows(struct store *store, sqlite3_stmt *row,
                    const char *operation, const char *bush,
                    struct series *series, struct error *err)
{
    struct series_source history = {.name = "history"};
    int source = series_add_source(series, &history), code;

    store_bind_text(row, 1, operation);
    store_bind_text(row, 2, bush);
    sqlite3_bind_int64(row, 3, series_start(series));
    sqlite3_bind_int64(row, 4, series_time(series, series_hours(series)));
    while ((code = sqlite3_step(row)) == SQLITE_ROW)
        get_row(series, row, source);
    return code == SQLITE_DONE ? 0 : store_fail(store, err);
}

/* quantity NULL: all of them. */
static int get(struct store *store, const char *operation, const char *bush,
               const char *quantity, struct series *series, struct error *err)
{
    sqlite3_stmt *row =
        store_prepare(store, quantity != NULL ? get_one_sql : get_sql, err);
    int result;

    if (row == NULL)
        return -1;
    if (quantity != NULL)
        store_bind_text(row, 5, quantity);
    result = get_rows(store, row, operation, bush, series, err);
    sqlite3_finalize(row);
    return result;
}

static int get_new(struct store *store, const char *operation, const char *bush,
                   const char *quantity, utc_s start, int hours,
                   struct series **out, struct error *err)
{
    struct series *series = series_new(start, hours);

    if (get(store, operation, bush, quantity, series, err) != 0) {
        series_free(series);
        return -1;
    }
    *out = series;
    return 0;
}

int store_get_weather(struct store *store, const char *operation,
                      const char *bush, utc_s start, int hours,
                      struct series **out, struct error *err)
{
    return get_new(store, operation, bush, NULL, start, hours, out, err);
}

int store_get_air(struct store *store, const char *operation, const char *bush,
                  utc_s start, int hours, struct series **out,
                  struct error *err)
{
    return get_new(store, operation, bush, quantity_name(AIR_TEMP_C), start,
                   hours, out, err);
}
