#include "publish/bulletin_fields.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"

int field_missing(const char *key, struct error *err)
{
    return error_set(err, _("\"%s\" is missing or no value of its kind"), key);
}

int field_text(const cJSON *object, const char *key, char *out, size_t out_size,
               struct error *err)
{
    const char *words = json_string(object, key);

    if (words == NULL)
        return field_missing(key, err);
    snprintf(out, out_size, "%.*s",
             (int)utf8_cut(words, strlen(words), out_size - 1), words);
    utf8_make_plain(out); /* it is shown on a terminal */
    return 0;
}

int field_flag(const cJSON *object, const char *key, bool *out,
               struct error *err)
{
    return json_bool(object, key, out) ? 0 : field_missing(key, err);
}

int field_count(const cJSON *object, const char *key, int max, int *out,
                struct error *err)
{
    long value;

    if (!json_integer(object, key, 0, max, &value))
        return field_missing(key, err);
    *out = (int)value;
    return 0;
}

/* Absent or null is 0: not known. */
int field_time(const cJSON *object, const char *key, utc_s *out,
               struct error *err)
{
    const char *words = json_string(object, key);

    *out = 0;
    if (words == NULL || iso_time_parse(words, 0, out, err) == 0)
        return 0;
    return error_prefix(err, "\"%s\": ", key);
}

int field_date(const cJSON *object, struct civil_date *out, struct error *err)
{
    const char *words = json_string(object, "date");

    if (words == NULL)
        return field_missing("date", err);
    return iso_date_parse(words, out, err);
}

int field_figures(const cJSON *object, const struct bulletin_figure *figures,
                  void *row, struct error *err)
{
    for (; figures->key != NULL; figures++) {
        double *value = (void *)((char *)row + figures->offset);

        if (!json_number(object, figures->key, value))
            return field_missing(figures->key, err);
    }
    return 0;
}

int field_word(const cJSON *object, const char *key,
               int (*from_word)(const char *), int *out, struct error *err)
{
    const char *words = json_string(object, key);

    *out = words == NULL ? -1 : from_word(words);
    if (*out >= 0)
        return 0;
    return error_set(err, _("\"%s\" is missing or no word known here"), key);
}

/* The array's length, at most FIELD_MAX_ROWS; -1 if there is no such array. */
int field_array(const cJSON *object, const char *key, const cJSON **array,
                struct error *err)
{
    int length;

    *array = json_array(object, key);
    if (*array == NULL)
        return field_missing(key, err);
    length = cJSON_GetArraySize(*array);
    if (length > FIELD_MAX_ROWS)
        return error_set(err, _("\"%s\" holds more than %d rows"), key,
                         FIELD_MAX_ROWS);
    return length;
}

int field_rows(const cJSON *object, const char *key, size_t row_size,
               field_row read_row, void **rows, int *count, struct error *err)
{
    const cJSON *array, *item;
    int length = field_array(object, key, &array, err);
    char *row;

    if (length < 0)
        return -1;
    row = *rows = mem_alloc((size_t)length + 1, row_size);
    cJSON_ArrayForEach(item, array)
    {
        ++*count;
        if (read_row(item, row, err) != 0)
            return -1;
        row += row_size;
    }
    return 0;
}

int field_window(const cJSON *object, bool *has_window, utc_s *start,
                 utc_s *end, struct error *err)
{
    if (field_time(object, "run_start", start, err) != 0 ||
        field_time(object, "run_end", end, err) != 0)
        return -1;
    *has_window = *start != 0 && *end != 0;
    return 0;
}
