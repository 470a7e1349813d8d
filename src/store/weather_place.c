#include "store/weather_place.h"

#include "base/memory.h"
#include "base/words.h"

/* One that its days' numbers have room for. */
static bool is_place(sqlite3_int64 place)
{
    return place >= 1 && place <= INT64_MAX / WEATHER_DAY_LIMIT - 1;
}

int weather_place_find(struct store *store, const char *operation,
                       const char *bush, sqlite3_int64 *place,
                       struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store, "SELECT place FROM weather_place WHERE operation=?1 AND bush=?2",
        err);
    bool found;
    int result;

    *place = 0;
    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    store_bind_text(row, 2, bush);
    result = store_seek(store, row, &found, err);
    if (found)
        *place = sqlite3_column_int64(row, 0);
    if (!is_place(*place))
        *place = 0;
    store_release(store, row);
    return result;
}

int weather_place_make(struct store *store, const char *operation,
                       const char *bush, sqlite3_int64 *place,
                       struct error *err)
{
    if (weather_place_find(store, operation, bush, place, err) != 0)
        return -1;
    if (*place != 0)
        return 0;
    /* One that is none goes first. */
    if (store_run_for(
            store, "DELETE FROM weather_place WHERE operation=?1 AND bush=?2",
            operation, bush, err) != 0 ||
        store_run_for(
            store, "INSERT INTO weather_place(operation, bush) VALUES(?1,?2)",
            operation, bush, err) != 0)
        return -1;
    *place = sqlite3_last_insert_rowid(store->db);
    /* It follows the highest there is. */
    if (is_place(*place))
        return 0;
    return error_set(err, _("%s: the database is damaged"), store->path);
}

int weather_day_hour(utc_s instant)
{
    return (int)((instant - utc_day(instant) * SECONDS_PER_DAY) /
                 SECONDS_PER_HOUR);
}

bool weather_day_storable(int64_t day)
{
    return day >= 0 && day < WEATHER_DAY_LIMIT;
}

sqlite3_int64 weather_day_key(sqlite3_int64 place, int64_t day)
{
    return place * WEATHER_DAY_LIMIT + day;
}

void weather_day_bind_range(sqlite3_stmt *row, sqlite3_int64 place,
                            int64_t first, int64_t last)
{
    if (first < 0)
        first = 0;
    if (last >= WEATHER_DAY_LIMIT)
        last = WEATHER_DAY_LIMIT - 1;
    sqlite3_bind_int64(row, 1, weather_day_key(place, first));
    /* Nothing at all if it ends before it begins. */
    sqlite3_bind_int64(row, 2, weather_day_key(place, last < 0 ? -1 : last));
}

void weather_day_read_cell(struct weather_day *day, sqlite3_stmt *row,
                           int column, int quantity)
{
    const void *bytes = sqlite3_column_blob(row, column);
    int length = sqlite3_column_bytes(row, column);

    /* NULL with a length: there was no memory for it. */
    if (bytes == NULL && length > 0)
        mem_fail();
    weather_day_read(day, bytes, (size_t)length, quantity);
}
