/* A day's hourly weather of one place, as the store keeps it: one row a UTC
 * day, for a row an hour and quantity is slow to write.
 *
 * The bytes, numbers little-endian:
 *   u8 version (1), u8 number of sources, and for each of these
 *     u8 length of its name, the name, i64 issued, i64 fetched;
 *   for each quantity that the day holds
 *     u8 its letter (weather_day.c), u24 the hours it holds (bit 0: 00 UTC),
 *     and for each of these u8 origin, u8 number of the source, f64 value. */
#ifndef STORE_WEATHER_DAY_H
#define STORE_WEATHER_DAY_H

#include <stdint.h>

#include "weather/series.h"

enum {
    DAY_HOURS = 24,
    /* One for each value at most, and those of a series that is put. */
    DAY_MAX_SOURCES = QUANTITY_COUNT * DAY_HOURS + SERIES_MAX_SOURCES,
    DAY_MAX_BYTES = 16384
};

struct day_source {
    char name[32];
    utc_s issued, fetched;
};

struct day_value {
    double value;
    uint8_t origin; /* enum origin; ORIGIN_NONE: there is none */
    uint8_t source;
};

struct weather_day {
    int source_count;
    struct day_source sources[DAY_MAX_SOURCES];
    struct day_value values[QUANTITY_COUNT][DAY_HOURS];
};

void weather_day_clear(struct weather_day *day);
/* Number of the source, added if it is not there; -1: there is no room. */
int weather_day_source(struct weather_day *day,
                       const struct day_source *source);
/* Only those of the quantity, or all (-1). What is not sound is left out: a
 * damaged page may hold anything. */
void weather_day_read(struct weather_day *day, const void *bytes, size_t length,
                      int quantity);
/* Returns the length. Sources that no value names are left out. */
size_t weather_day_write(const struct weather_day *day,
                         unsigned char out[DAY_MAX_BYTES]);

#endif
