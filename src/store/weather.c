#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "store/store_private.h"
#include "store/weather_day.h"
#include "store/weather_place.h"

/* A series on its way into the store, day by day. */
struct putting {
    struct store *store;
    sqlite3_int64 place;
    const struct series *series;
    int first, end; /* rows of the series */
    bool from_here[SERIES_MAX_SOURCES];
    struct weather_day day;
    unsigned char bytes[DAY_MAX_BYTES];
};

static bool came_from_here(const struct putting *putting,
                           enum quantity quantity, int hour)
{
    int source = series_value_source(putting->series, quantity, hour);

    return source >= 0 && putting->from_here[source];
}

static void find_from_here(struct putting *putting)
{
    for (int i = 0; i < series_source_count(putting->series); i++)
        putting->from_here[i] =
            strcmp(series_source(putting->series, i)->name, "history") == 0;
}

/* The first hour with a value that did not come from here: what is held of
 * the months before it is of no interest. */
static int first_told(const struct putting *putting)
{
    int first = putting->end;

    for (int q = 0; q < QUANTITY_COUNT; q++) {
        const uint8_t *origins =
            series_origins(putting->series, (enum quantity)q);

        for (int hour = 0; hour < first; hour++)
            if (origins[hour] != ORIGIN_NONE &&
                !came_from_here(putting, (enum quantity)q, hour))
                first = hour;
    }
    return first;
}

/* A better origin replaces a worse one, and of the same origin the newer. Most
 * of a forecast is as it was an hour ago: it is not written again. */
static bool is_news(const struct weather_day *day, const struct day_value *held,
                    double value, enum origin origin, utc_s fetched)
{
    if (held->origin == ORIGIN_NONE)
        return true;
    if ((int)held->origin != (int)origin)
        return (int)origin < (int)held->origin;
    return (held->value < value || held->value > value) &&
           fetched >= day->sources[held->source].fetched;
}

/* True if the day has another value now. */
static bool put_value(struct putting *putting, enum quantity quantity, int row)
{
    const struct series *series = putting->series;
    utc_s at = series_time(series, row);
    struct day_value *held =
        &putting->day.values[quantity][weather_day_hour(at)];
    enum origin origin = series_origin(series, quantity, row);
    const struct series_source *from;
    struct day_source source = {.name = ""};
    double value;
    int number;

    if (!series_get(series, quantity, row, &value) ||
        came_from_here(putting, quantity, row))
        return false;
    from = series_source(series, series_value_source(series, quantity, row));
    if (!is_news(&putting->day, held, value, origin, from->fetched))
        return false;
    memcpy(source.name, from->name, sizeof source.name);
    source.issued = from->issued;
    source.fetched = from->fetched;
    number = weather_day_source(&putting->day, &source);
    if (number < 0)
        return false;
    *held = (struct day_value){value, (uint8_t)origin, (uint8_t)number};
    return true;
}

static int load_day(struct putting *putting, int64_t day, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        putting->store, "SELECT hours FROM weather_day WHERE day=?1", err);
    bool found;
    int result;

    if (row == NULL)
        return -1;
    sqlite3_bind_int64(row, 1, weather_day_key(putting->place, day));
    result = store_seek(putting->store, row, &found, err);
    weather_day_clear(&putting->day);
    if (found)
        weather_day_read_cell(&putting->day, row, 0, -1);
    store_release(putting->store, row);
    return result;
}

static int save_day(struct putting *putting, int64_t day, struct error *err)
{
    sqlite3_stmt *row =
        store_prepare(putting->store,
                      "INSERT OR REPLACE INTO weather_day VALUES(?1,?2)", err);
    size_t length = weather_day_write(&putting->day, putting->bytes);

    if (row == NULL)
        return -1;
    sqlite3_bind_int64(row, 1, weather_day_key(putting->place, day));
    sqlite3_bind_blob(row, 2, putting->bytes, (int)length, SQLITE_STATIC);
    return store_finish(putting->store, row, err);
}

/* The hours of a UTC day, from `row` on; *row is the next day's first. */
static int put_day(struct putting *putting, int *row, struct error *err)
{
    int64_t day = utc_day(series_time(putting->series, *row));
    bool changed = false;

    if (load_day(putting, day, err) != 0)
        return -1;
    for (; *row < putting->end &&
           utc_day(series_time(putting->series, *row)) == day;
         (*row)++)
        for (int q = 0; q < QUANTITY_COUNT; q++)
            changed |= put_value(putting, (enum quantity)q, *row);
    return changed && weather_day_storable(day) ? save_day(putting, day, err)
                                                : 0;
}

static int rows_before(const struct series *series, utc_s before)
{
    int hours = series_hours(series);

    while (hours > 0 && series_time(series, hours - 1) >= before)
        hours--;
    return hours;
}

static int put_days(struct putting *putting, const char *operation,
                    const char *bush, struct error *err)
{
    int row = putting->first;

    if (row == putting->end)
        return 0;
    if (weather_place_make(putting->store, operation, bush, &putting->place,
                           err) != 0)
        return -1;
    while (row < putting->end)
        if (put_day(putting, &row, err) != 0)
            return -1;
    return 0;
}

int store_put_weather(struct store *store, const char *operation,
                      const char *bush, const struct series *series,
                      utc_s before, struct error *err)
{
    struct putting *putting;
    bool own;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    putting = mem_alloc(1, sizeof *putting);
    putting->store = store;
    putting->series = series;
    putting->end = rows_before(series, before);
    find_from_here(putting);
    putting->first = first_told(putting);
    result = put_days(putting, operation, bush, err);
    free(putting);
    return store_leave(store, own, result, err);
}

static void get_quantity(const struct weather_day *day, int64_t number,
                         enum quantity quantity, struct series *series,
                         int source)
{
    for (int hour = 0; hour < DAY_HOURS; hour++) {
        const struct day_value *held = &day->values[quantity][hour];
        utc_s at = number * SECONDS_PER_DAY + hour * SECONDS_PER_HOUR;

        if (held->origin != ORIGIN_NONE)
            series_set(series, quantity, series_row(series, at), held->value,
                       (enum origin)held->origin, source);
    }
}

/* quantity -1: all of them. */
static int get_days(struct store *store, sqlite3_int64 place, int quantity,
                    struct series *series, struct error *err)
{
    static const char sql[] =
        "SELECT day, hours FROM weather_day WHERE day>=?1 AND day<=?2";
    struct series_source history = {.name = "history"};
    int source = series_add_source(series, &history), code;
    int64_t first = utc_day(series_start(series));
    int64_t last = utc_day(series_time(series, series_hours(series) - 1));
    struct weather_day *day;
    sqlite3_stmt *row = store_prepare(store, sql, err);

    if (row == NULL)
        return -1;
    weather_day_bind_range(row, place, first, last);
    day = mem_alloc(1, sizeof *day);
    while ((code = sqlite3_step(row)) == SQLITE_ROW) {
        weather_day_read_cell(day, row, 1, quantity);
        for (int q = 0; q < QUANTITY_COUNT; q++)
            if (quantity < 0 || quantity == q)
                get_quantity(day,
                             sqlite3_column_int64(row, 0) -
                                 weather_day_key(place, 0),
                             (enum quantity)q, series, source);
    }
    if (code != SQLITE_DONE)
        store_fail(store, err);
    store_release(store, row);
    free(day);
    return code == SQLITE_DONE ? 0 : -1;
}

static int get_new(struct store *store, const char *operation, const char *bush,
                   int quantity, utc_s start, int hours, struct series **out,
                   struct error *err)
{
    struct series *series;
    sqlite3_int64 place;

    if (weather_place_find(store, operation, bush, &place, err) != 0)
        return -1;
    series = series_new(start, hours);
    if (place != 0 && get_days(store, place, quantity, series, err) != 0) {
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
    return get_new(store, operation, bush, -1, start, hours, out, err);
}

int store_get_air(struct store *store, const char *operation, const char *bush,
                  utc_s start, int hours, struct series **out,
                  struct error *err)
{
    return get_new(store, operation, bush, AIR_TEMP_C, start, hours, out, err);
}
