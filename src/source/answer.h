/* What all decoders do first: bytes from strangers to one JSON object. */
#ifndef SOURCE_ANSWER_H
#define SOURCE_ANSWER_H

#include <cjson/cJSON.h>
#include <stddef.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "source/source.h"

/* At most SOURCE_MAX_BYTES, JSON within the bounds of base/json.h, an object
 * at the top. An answer recorded together with its headers, as {status_code,
 * headers, data}, gives its data if the status is 200 or 203. Owned by the
 * caller: cJSON_Delete. NULL with a sentence. */
cJSON *answer_parse(const char *bytes, size_t length, struct error *err);

/* A service's own words as one printable line of at most 160 characters; ""
 * for NULL. */
void answer_words(const char *words, char *out, size_t out_size);

/* The member `key` of the object if the bytes are one, as answer_words. */
void answer_member_words(const char *bytes, size_t length, const char *key,
                         char *out, size_t out_size);

/* Latitude, longitude or the like for an address: at most four decimals, no
 * zeros at the end, no exponent. */
void answer_add_degrees(struct text *url, double degrees);

/* A source with the names of the service's row in the table. */
struct series_source answer_source(const char *service, utc_s fetched);

#endif
