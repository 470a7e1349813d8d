/* Fields of the bulletin's JSON, read one by one. Keys that are not known are
 * passed over; a key that is missing or of another type is named in the
 * sentence. All return 0 or -1. */
#ifndef PUBLISH_BULLETIN_FIELDS_H
#define PUBLISH_BULLETIN_FIELDS_H

#include "base/json.h"
#include "publish/bulletin.h"
#include "publish/bulletin_figures.h"

enum { FIELD_MAX_ROWS = 1000 };

int field_missing(const char *key, struct error *err); /* -1 */
/* Cut to fit, between characters. */
int field_text(const cJSON *object, const char *key, char *out, size_t out_size,
               struct error *err);
int field_flag(const cJSON *object, const char *key, bool *out,
               struct error *err);
int field_count(const cJSON *object, const char *key, int max, int *out,
                struct error *err);
/* Absent or null is 0: not known. */
int field_time(const cJSON *object, const char *key, utc_s *out,
               struct error *err);
int field_date(const cJSON *object, struct civil_date *out, struct error *err);
int field_figures(const cJSON *object, const struct bulletin_figure *figures,
                  void *row, struct error *err);
/* Writes a time with its local offset; null for one that is not known
 * (bulletin_write.c). */
void field_add_time(cJSON *object, const char *key,
                    const struct bulletin *bulletin, utc_s instant);
/* A word of a table, as its number there. */
int field_word(const cJSON *object, const char *key,
               int (*from_word)(const char *), int *out, struct error *err);
/* Returns the array's length, at most FIELD_MAX_ROWS, or -1. */
int field_array(const cJSON *object, const char *key, const cJSON **array,
                struct error *err);
/* Reads each item of an array into a row of its own by read_row. *rows (zeroed
 * before, one more than there are; the caller frees, also on -1) and *count are
 * those begun. */
typedef int (*field_row)(const cJSON *item, void *row, struct error *err);
int field_rows(const cJSON *object, const char *key, size_t row_size,
               field_row read_row, void **rows, int *count, struct error *err);
int field_window(const cJSON *object, bool *has_window, utc_s *start,
                 utc_s *end, struct error *err);

/* One bush with its days and hours into a struct bulletin_bush, as field_rows
 * wants it (bulletin_read_bush.c). What was read stays in the bush, for
 * bulletin_free, also on -1. */
int bulletin_read_bush(const cJSON *object, void *out, struct error *err);

#endif
