#include "weather/series.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

struct series {
    utc_s start;
    int hours;
    int source_count;
    struct series_source sources[SERIES_MAX_SOURCES];
    /* Each [quantity * hours + hour]. */
    double *values;
    uint8_t *origins;
    int8_t *value_sources;
};

static utc_s round_down_to_hour(utc_s instant)
{
    utc_s past = instant % SECONDS_PER_HOUR;

    return instant - (past < 0 ? past + SECONDS_PER_HOUR : past);
}

static size_t cell_count(const struct series *series)
{
    return (size_t)QUANTITY_COUNT * (size_t)series->hours;
}

struct series *series_new(utc_s start, int hours)
{
    struct series *series = mem_alloc(1, sizeof *series);

    if (hours < 1)
        hours = 1;
    if (hours > SERIES_MAX_HOURS)
        hours = SERIES_MAX_HOURS;
    series->start = round_down_to_hour(start);
    series->hours = hours;
    /* What is missing has an origin alone: the rest stays as it comes. */
    series->origins = mem_alloc(cell_count(series), sizeof *series->origins);
    series->values =
        mem_resize(NULL, cell_count(series), sizeof *series->values);
    series->value_sources =
        mem_resize(NULL, cell_count(series), sizeof *series->value_sources);
    return series;
}

void series_free(struct series *series)
{
    if (!series)
        return;
    free(series->values);
    free(series->origins);
    free(series->value_sources);
    free(series);
}

struct series *series_copy(const struct series *series)
{
    struct series *copy = series_new(series->start, series->hours);
    size_t count = cell_count(series);

    copy->source_count = series->source_count;
    memcpy(copy->sources, series->sources, sizeof copy->sources);
    memcpy(copy->values, series->values, count * sizeof *copy->values);
    memcpy(copy->origins, series->origins, count * sizeof *copy->origins);
    memcpy(copy->value_sources, series->value_sources,
           count * sizeof *copy->value_sources);
    return copy;
}

utc_s series_start(const struct series *series)
{
    return series->start;
}

int series_hours(const struct series *series)
{
    return series->hours;
}

utc_s series_time(const struct series *series, int hour)
{
    return series->start + (utc_s)hour * SECONDS_PER_HOUR;
}

int series_row(const struct series *series, utc_s instant)
{
    utc_s end = series_time(series, series->hours);

    if (instant < series->start || instant >= end)
        return -1;
    return (int)((instant - series->start) / SECONDS_PER_HOUR);
}

int grid_row_from(utc_s start, int hours, utc_s instant)
{
    utc_s past = instant - start;
    int64_t row = (past + SECONDS_PER_HOUR - 1) / SECONDS_PER_HOUR;

    if (past <= 0)
        return 0;
    return row < hours ? (int)row : hours;
}

int series_add_source(struct series *series, const struct series_source *source)
{
    if (series->source_count >= SERIES_MAX_SOURCES)
        return -1;
    series->sources[series->source_count] = *source;
    return series->source_count++;
}

const struct series_source *series_source(const struct series *series,
                                          int source)
{
    if (source < 0 || source >= series->source_count)
        return NULL;
    return &series->sources[source];
}

int series_source_count(const struct series *series)
{
    return series->source_count;
}

void series_set_source(struct series *series, int number,
                       const struct series_source *source)
{
    if (number >= 0 && number < series->source_count)
        series->sources[number] = *source;
}

/* Cell number, or -1 outside. */
static long cell_at(const struct series *series, enum quantity quantity,
                    int hour)
{
    if (hour < 0 || hour >= series->hours)
        return -1;
    return (long)quantity * series->hours + hour;
}

void series_set(struct series *series, enum quantity quantity, int hour,
                double value, enum origin origin, int source)
{
    long cell = cell_at(series, quantity, hour);

    if (cell < 0 || !isfinite(value))
        return;
    series->values[cell] = value;
    series->origins[cell] = (uint8_t)origin;
    series->value_sources[cell] = (int8_t)source;
}

void series_clear(struct series *series, enum quantity quantity, int hour)
{
    long cell = cell_at(series, quantity, hour);

    if (cell >= 0)
        series->origins[cell] = ORIGIN_NONE;
}

bool series_get(const struct series *series, enum quantity quantity, int hour,
                double *value)
{
    long cell = cell_at(series, quantity, hour);

    if (cell < 0 || series->origins[cell] == ORIGIN_NONE)
        return false;
    *value = series->values[cell];
    return true;
}

enum origin series_origin(const struct series *series, enum quantity quantity,
                          int hour)
{
    long cell = cell_at(series, quantity, hour);

    return cell < 0 ? ORIGIN_NONE : (enum origin)series->origins[cell];
}

const uint8_t *series_origins(const struct series *series,
                              enum quantity quantity)
{
    return series->origins + (size_t)quantity * (size_t)series->hours;
}

int series_value_source(const struct series *series, enum quantity quantity,
                        int hour)
{
    long cell = cell_at(series, quantity, hour);

    if (cell < 0 || series->origins[cell] == ORIGIN_NONE)
        return -1;
    return series->value_sources[cell];
}

int series_count(const struct series *series, enum quantity quantity)
{
    int count = 0;

    for (int hour = 0; hour < series->hours; hour++)
        count += series_origin(series, quantity, hour) != ORIGIN_NONE;
    return count;
}

/* Fills the hours between two known ones. */
static void fill_gap(struct series *series, enum quantity quantity, int left,
                     int right)
{
    double from = 0, to = 0;
    int source = series_value_source(series, quantity, left);

    series_get(series, quantity, left, &from);
    series_get(series, quantity, right, &to);
    for (int hour = left + 1; hour < right; hour++) {
        double share = (double)(hour - left) / (right - left);
        series_set(series, quantity, hour, from + share * (to - from),
                   ORIGIN_INTERPOLATED, source);
    }
}

void series_interpolate(struct series *series, int max_gap_h)
{
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        enum quantity quantity = (enum quantity)i;
        const uint8_t *origins = series_origins(series, quantity);
        int last = -1;

        if (quantity_is_sum(quantity))
            continue;
        for (int hour = 0; hour < series->hours; hour++) {
            if (origins[hour] == ORIGIN_NONE)
                continue;
            if (last >= 0 && hour - last > 1 && hour - last - 1 <= max_gap_h)
                fill_gap(series, quantity, last, hour);
            last = hour;
        }
    }
}
