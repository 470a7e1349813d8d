/* Where the days of a bush lie in the table weather_day: under a number that
 * is its place's times a million and the days since 1970-01-01. So the days of
 * a place lie side by side. */
#ifndef STORE_WEATHER_PLACE_H
#define STORE_WEATHER_PLACE_H

#include "store/store_private.h"
#include "store/weather_day.h"

enum { WEATHER_DAY_LIMIT = 1000000 };

/* 0 in *place if there is none yet, or one that cannot be (a row that is
 * damaged). */
int weather_place_find(struct store *store, const char *operation,
                       const char *bush, sqlite3_int64 *place,
                       struct error *err);
/* The same, made if there is none. */
int weather_place_make(struct store *store, const char *operation,
                       const char *bush, sqlite3_int64 *place,
                       struct error *err);

/* The hour of an instant in its UTC day (utc_day). */
int weather_day_hour(utc_s instant);
/* Days that have a number of their own under a place: not before 1970, nor
 * after the year 4700. */
bool weather_day_storable(int64_t day);
sqlite3_int64 weather_day_key(sqlite3_int64 place, int64_t day);
/* ?1 and ?2: the days from first to last, within the place's own. */
void weather_day_bind_range(sqlite3_stmt *row, sqlite3_int64 place,
                            int64_t first, int64_t last);
/* weather_day_read of a column. */
void weather_day_read_cell(struct weather_day *day, sqlite3_stmt *row,
                           int column, int quantity);

/* Migration 4: the rows of the table `weather`, an hour and quantity each,
 * into days. In the caller's transaction. */
int weather_move(sqlite3 *db, struct error *err);

#endif
