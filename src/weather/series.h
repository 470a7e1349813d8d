/* The hourly weather series of one place, in UTC: one row an hour, each value
 * present or missing, each with its origin and its source.
 *
 * Missing is explicit: series_get returns false. No NaN is ever stored. */
#ifndef WEATHER_SERIES_H
#define WEATHER_SERIES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "weather/quantity.h"

enum { SERIES_MAX_HOURS = 24 * 366 * 2, SERIES_MAX_SOURCES = 16 };

/* How a value came about, the best first. */
enum origin {
    ORIGIN_NONE,         /* missing */
    ORIGIN_OBSERVED,     /* measured at the place or at a station */
    ORIGIN_ANALYSED,     /* a model's past hours */
    ORIGIN_FORECAST,     /* forecast at this very hour */
    ORIGIN_SHAPED,       /* between coarser steps, held to their extremes */
    ORIGIN_INTERPOLATED, /* a gap of at most 3 h closed by a straight line */
    ORIGIN_COUNT
};

/* Where values come from. Names and credit are borrowed from the table of
 * services (static), or copied into the struct. */
struct series_source {
    char name[32];        /* "nws", "station" */
    char credit[128];     /* the service's own words of credit, or "" */
    char credit_url[128]; /* its link, or "" */
    utc_s issued;         /* issue time of the forecast, 0 if not told */
    utc_s fetched;        /* when the answer was obtained */
    double elevation_m;   /* of the cell or station */
    bool has_elevation;
};

struct series;

/* start is rounded down to the hour; hours are brought into
 * 1..SERIES_MAX_HOURS. Freed with series_free. */
struct series *series_new(utc_s start, int hours);
void series_free(struct series *series);
struct series *series_copy(const struct series *series);

utc_s series_start(const struct series *series);
int series_hours(const struct series *series);
utc_s series_time(const struct series *series, int hour);
/* Row of the instant (rounded down), or -1 outside. */
int series_row(const struct series *series, utc_s instant);
/* Of a grid of so many hours from `start` on: the first row that begins at the
 * instant or later; 0 before the grid, `hours` past it. */
int grid_row_from(utc_s start, int hours, utc_s instant);

/* Adds a source (copied) and returns its number, or -1 if full. */
int series_add_source(struct series *series,
                      const struct series_source *source);
const struct series_source *series_source(const struct series *series,
                                          int source); /* borrowed */
int series_source_count(const struct series *series);
/* Puts another description (copied) in the place of a source's. */
void series_set_source(struct series *series, int number,
                       const struct series_source *source);

/* A value that is not finite, or an hour outside, is not stored. */
void series_set(struct series *series, enum quantity quantity, int hour,
                double value, enum origin origin, int source);
void series_clear(struct series *series, enum quantity quantity, int hour);
bool series_get(const struct series *series, enum quantity quantity, int hour,
                double *value);
enum origin series_origin(const struct series *series, enum quantity quantity,
                          int hour);
/* Those of all hours, an enum origin each; borrowed. */
const uint8_t *series_origins(const struct series *series,
                              enum quantity quantity);
/* Source number of the value, -1 if missing. */
int series_value_source(const struct series *series, enum quantity quantity,
                        int hour);
/* Hours that hold the quantity. */
int series_count(const struct series *series, enum quantity quantity);

/* Closes gaps of at most max_gap_h hours in every quantity but sums by a
 * straight line (ORIGIN_INTERPOLATED). Longer gaps stay. */
void series_interpolate(struct series *series, int max_gap_h);

/* CSV of docs/replay.md: `time,air_temp_c,…` with the columns that hold
 * anything (air_temp_c always), ISO times in UTC with Z, empty for missing.
 * The caller frees. */
char *series_to_csv(const struct series *series);
/* The reverse, hourly: columns by name, unknown ones refused by name; times
 * without an offset at default_offset_s; rows need not be sorted; two rows of
 * one hour average (sub-hourly records): mean of instants, sum of sums. All
 * is ORIGIN_OBSERVED, of one source called "csv" (series_set_source gives it
 * a better name). A value that is no number or not plausible is an error. */
int series_from_csv(const char *bytes, size_t length, int default_offset_s,
                    struct series **out, struct error *err);
/* The same for a sensor's record, in which a bad cell must not cost the rest:
 * implausible values are left out, with a sentence each (at most ten) in
 * `refused`. */
int series_read_csv(const char *bytes, size_t length, int default_offset_s,
                    struct series **out, struct error_list *refused,
                    struct error *err);

#endif
