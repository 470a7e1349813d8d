/* JSON from strangers, read with cJSON behind these guards: UTF-8, no NUL, at
 * most 32 levels, the whole text consumed, every number finite, at most
 * JSON_MAX_ITEMS values. Lookups are case-sensitive. */
#ifndef BASE_JSON_H
#define BASE_JSON_H

#include <cjson/cJSON.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "base/text.h"

enum { JSON_MAX_DEPTH = 32, JSON_MAX_ITEMS = 400000 };

/* Owned by the caller: cJSON_Delete. The sentence says what is wrong and at
 * which byte; for text that is no JSON it shows the first bytes, escaped. */
cJSON *json_parse(const char *bytes, size_t length, struct error *err);

/* Members, borrowed; NULL if absent, null or of another type. */
const cJSON *json_object(const cJSON *parent, const char *key);
const cJSON *json_array(const cJSON *parent, const char *key);
const char *json_string(const cJSON *parent, const char *key);
bool json_number(const cJSON *parent, const char *key, double *out);
bool json_bool(const cJSON *parent, const char *key, bool *out);
bool json_integer(const cJSON *parent, const char *key, long min, long max,
                  long *out);

/* For writing: a new member of an object. No key is copied: it is a literal, or
 * stays as long as the tree. */
void json_add_text(cJSON *object, const char *key, const char *words);
void json_add_number(cJSON *object, const char *key, double number);
void json_add_bool(cJSON *object, const char *key, bool is);
void json_add_null(cJSON *object, const char *key);
cJSON *json_add_object(cJSON *object, const char *key);
cJSON *json_add_array(cJSON *object, const char *key);

/* Numbers rounded to `decimals` so that equal values give equal bytes. */
void json_add_rounded(cJSON *object, const char *key, double value,
                      int decimals);

/* The value as it is read back from there; what is not finite as it is. */
double json_rounded(double value, int decimals);

/* An array of them, known[i] false: null; `known` may be NULL. It is added as
 * the text that it will be, to be written and not to be looked into. */
void json_add_numbers(cJSON *object, const char *key, const double *values,
                      const bool *known, int count, int decimals);

/* The values as they are read back from there. */
void json_round_numbers(double *values, int count, int decimals);

/* ISO 8601 in UTC, or null where there is no time (0). */
void json_add_time(cJSON *object, const char *key, utc_s instant);
/* Adds the text of a tree, without blanks; null for an array or object inside
 * JSON_MAX_DEPTH others. */
void json_write(const cJSON *root, struct text *out);
/* The same by itself, the caller frees; the tree is freed. */
char *json_to_text(cJSON *root);
/* With a line's end, and room from the first for a large tree. */
char *json_to_line(cJSON *root);

#endif
