#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "store/weather_place.h"

/* One place's hours on their way into days. */
struct moving {
    sqlite3 *db;
    sqlite3_stmt *put;
    sqlite3_int64 place;
    int64_t number; /* of the day */
    bool begun;
    struct weather_day day;
    unsigned char bytes[DAY_MAX_BYTES];
};

static int fail(sqlite3 *db, struct error *err)
{
    return error_set(err, "%s", sqlite3_errmsg(db));
}

static int end_day(struct moving *moving, struct error *err)
{
    int code;

    if (!moving->begun || !weather_day_storable(moving->number))
        return 0;
    sqlite3_bind_int64(moving->put, 1,
                       weather_day_key(moving->place, moving->number));
    sqlite3_bind_blob(moving->put, 2, moving->bytes,
                      (int)weather_day_write(&moving->day, moving->bytes),
                      SQLITE_STATIC);
    code = sqlite3_step(moving->put);
    sqlite3_reset(moving->put);
    return code == SQLITE_DONE ? 0 : fail(moving->db, err);
}

/* Columns: hour, quantity, value, origin, source, issued, fetched. */
static void take_value(struct moving *moving, sqlite3_stmt *row)
{
    int quantity = quantity_from_name(store_column_words(row, 1));
    int origin = sqlite3_column_int(row, 3), number;
    struct day_source source = {.issued = sqlite3_column_int64(row, 5),
                                .fetched = sqlite3_column_int64(row, 6)};

    snprintf(source.name, sizeof source.name, "%s", store_column_words(row, 4));
    number = weather_day_source(&moving->day, &source);
    if (quantity < 0 || origin <= ORIGIN_NONE || origin >= ORIGIN_COUNT ||
        number < 0)
        return;
    moving->day
        .values[quantity][weather_day_hour(sqlite3_column_int64(row, 0))] =
        (struct day_value){sqlite3_column_double(row, 2), (uint8_t)origin,
                           (uint8_t)number};
}

static int take_row(struct moving *moving, sqlite3_stmt *row, struct error *err)
{
    int64_t number = utc_day(sqlite3_column_int64(row, 0));

    if (!moving->begun || number != moving->number) {
        if (end_day(moving, err) != 0)
            return -1;
        weather_day_clear(&moving->day);
        moving->number = number;
        moving->begun = true;
    }
    take_value(moving, row);
    return 0;
}

/* `places` stands on the place: its number, operation and bush. */
static int move_place(struct moving *moving, sqlite3_stmt *places,
                      sqlite3_stmt *hours, struct error *err)
{
    int code, result = 0;

    moving->place = sqlite3_column_int64(places, 0);
    moving->begun = false;
    store_bind_text(hours, 1, store_column_words(places, 1));
    store_bind_text(hours, 2, store_column_words(places, 2));
    while (result == 0 && (code = sqlite3_step(hours)) == SQLITE_ROW)
        result = take_row(moving, hours, err);
    if (result == 0 && code != SQLITE_DONE)
        result = fail(moving->db, err);
    sqlite3_reset(hours);
    return result != 0 ? -1 : end_day(moving, err);
}

static int move_places(struct moving *moving, sqlite3_stmt *places,
                       sqlite3_stmt *hours, struct error *err)
{
    int code;

    while ((code = sqlite3_step(places)) == SQLITE_ROW)
        if (move_place(moving, places, hours, err) != 0)
            return -1;
    return code == SQLITE_DONE ? 0 : fail(moving->db, err);
}

int weather_move(sqlite3 *db, struct error *err)
{
    struct moving *moving = mem_alloc(1, sizeof *moving);
    sqlite3_stmt *places = NULL, *hours = NULL;
    int result;

    moving->db = db;
    if (sqlite3_prepare_v2(db, "INSERT INTO weather_day VALUES(?1,?2)", -1,
                           &moving->put, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(db,
                           "SELECT place, operation, bush FROM weather_place",
                           -1, &places, NULL) == SQLITE_OK &&
        sqlite3_prepare_v2(db,
                           "SELECT hour, quantity, value, origin, source,"
                           " issued, fetched FROM weather"
                           " WHERE operation=?1 AND bush=?2 ORDER BY hour",
                           -1, &hours, NULL) == SQLITE_OK)
        result = move_places(moving, places, hours, err);
    else
        result = fail(db, err);
    sqlite3_finalize(hours);
    sqlite3_finalize(places);
    sqlite3_finalize(moving->put);
    free(moving);
    return result;
}
