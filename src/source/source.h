/* Weather services: a table, one file and one row a service. Fetching and
 * decoding are apart: url() makes an address, decode() takes bytes. Both are
 * pure. After weather/ nobody sees a service's name for anything. */
#ifndef SOURCE_SOURCE_H
#define SOURCE_SOURCE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "base/text.h"
#include "weather/members.h"
#include "weather/series.h"

/* What is asked. */
struct source_query {
    double latitude, longitude; /* degrees, WGS 84 */
    double elevation_m;
    int past_days;        /* 0..92 */
    int forecast_days;    /* 1..16 */
    const char *base_url; /* without a trailing slash; NULL: the default */
    const char *key;      /* access key or NULL */
};

/* What a decoder gives. Free with source_answer_free. */
struct source_answer {
    struct series *series;     /* NULL if the answer holds members alone */
    struct members *members;   /* NULL if it holds none */
    int members_dropped;       /* for gaps or nulls */
    struct error_list refused; /* layers and values left out, and why */
};

void source_answer_free(struct source_answer *answer);

struct source {
    const char *name; /* as in configuration: "open-meteo" */
    const char *credit;
    const char *credit_url;
    const char *default_url;
    const char *accept; /* media type to ask for */
    /* Seconds between requests where the answer says nothing (provider's
     * terms; ours where it has none). */
    int min_interval_s;
    /* Requests a minute that all operations of one daemon together may make:
     * half of what the service allows, or ours where it does not say. */
    int per_minute;
    /* A service that must first be asked for its grid: writes the look-up's
     * address; NULL for the others. */
    void (*lookup_url)(const struct source_query *query, struct text *url);
    /* The address of the data. `looked_up` is the look-up's answer (bytes,
     * NULL without lookup_url). -1: the look-up's answer is of no use. */
    int (*url)(const struct source_query *query, const char *looked_up,
               size_t length, struct text *url, struct error *err);
    /* Bytes to the normalised hourly series. `fetched` is the time of the
     * answer. Anything implausible is refused: a value, a layer or the whole
     * answer, the last with -1 and a sentence that says what and where. */
    int (*decode)(const char *bytes, size_t length, utc_s fetched,
                  struct source_answer *out, struct error *err);
    /* The service's own words in an error body ("reason", "detail"), at most
     * one line, escaped; "" if none. May be NULL. */
    void (*error_words)(const char *bytes, size_t length, char *out,
                        size_t out_size);
};

/* The table: nws, metno, open-meteo, open-meteo-ensemble. */
const struct source *source_find(const char *name); /* or NULL */
int source_count(void);
const struct source *source_at(int index);
/* The names of all, at most so many, for config_read; returns how many. */
int source_names(const char **names, int most);

/* One's own thermometer: CSV as series_from_csv reads it, all observed. */
int station_decode(const char *bytes, size_t length, utc_s fetched,
                   struct source_answer *out, struct error *err);

enum { SOURCE_MAX_BYTES = 2 * 1024 * 1024 };

#endif
