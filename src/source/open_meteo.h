/* What the two open-meteo decoders share. */
#ifndef SOURCE_OPEN_METEO_H
#define SOURCE_OPEN_METEO_H

#include <cjson/cJSON.h>

#include "source/source.h"

/* The "hourly" block of an answer, opened. */
struct hourly {
    const cJSON *columns; /* borrowed: the arrays by name */
    const cJSON *units;   /* borrowed: their units by name, may be NULL */
    utc_s *times;         /* owned; only those with time_good */
    bool *time_good;      /* owned */
    int count;
    /* "_best_match": what follows each name where several models were asked;
     * "" for one model. */
    char suffix[64];
};

/* 0, or -1 when the answer is an error, has no hourly block or no time that
 * can be read. What is left out is told in `refused`. */
int hourly_open(const cJSON *root, struct hourly *out,
                struct error_list *refused, struct error *err);
void hourly_close(struct hourly *hourly);
/* True if the key is that of a member of the model in use. */
bool hourly_is_member(const struct hourly *hourly, const char *key);

/* The members of the air temperature; leaves out->members NULL if there are
 * none, or none without a gap. */
void open_meteo_read_members(const struct hourly *hourly,
                             struct source_answer *out);

/* All that the hourly block holds of what we use, as the source `service`. */
int open_meteo_read_series(const cJSON *root, const struct hourly *hourly,
                           const char *service, utc_s fetched,
                           struct source_answer *out, struct error *err);

/* As source.h describes them. */
int open_meteo_forecast_url(const struct source_query *query,
                            const char *looked_up, size_t length,
                            struct text *url, struct error *err);
int open_meteo_ensemble_url(const struct source_query *query,
                            const char *looked_up, size_t length,
                            struct text *url, struct error *err);
void open_meteo_error_words(const char *bytes, size_t length, char *out,
                            size_t out_size);

#define OPEN_METEO_AIR_TEMP "temperature_2m"

#endif
