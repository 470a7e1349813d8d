/* Readers of plain values: texts, numbers, quantities, words, clock, paths. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

void *value_field(const struct config_key *key, void *section_data)
{
    return (char *)section_data + key->offset;
}

static void keep_text(const struct config_key *key, void *section_data,
                      char *owned)
{
    char **field = value_field(key, section_data);
    free(*field);
    *field = owned;
}

void read_text(struct config_reading *reading, const struct config_key *key,
               const struct ini_value *value, void *section_data)
{
    if (strlen(value->value) > (size_t)key->max)
        refuse_range(reading, key, value);
    else
        keep_text(key, section_data, mem_copy_text(value->value));
}

void read_number(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, void *section_data)
{
    double number;
    if (!number_parse(value->value, strlen(value->value), &number))
        refuse_value(reading, key, value);
    else if (number < key->min || number > key->max)
        refuse_range(reading, key, value);
    else
        *(double *)value_field(key, section_data) = number;
}

void read_integer(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value, void *section_data)
{
    long whole;
    double number;
    if (integer_parse(value->value, (long)key->min, (long)key->max, &whole))
        *(int *)value_field(key, section_data) = (int)whole;
    else if (number_parse(value->value, strlen(value->value), &number))
        refuse_range(reading, key, value);
    else
        refuse_value(reading, key, value);
}

void read_quantity(struct config_reading *reading, const struct config_key *key,
                   const struct ini_value *value, void *section_data)
{
    /* A height of 9000 m told in feet may miss the bound by its rounding. */
    const double slack = 1e-9 * (fabs(key->min) + fabs(key->max));
    double quantity;
    struct error err = {""};
    if (quantity_parse(value->value, key->dimension, &quantity, &err))
        refuse_because(reading, key, value, err.text);
    else if (quantity < key->min - slack || quantity > key->max + slack)
        refuse_range(reading, key, value);
    else
        *(double *)value_field(key, section_data) = quantity;
}

void read_word(struct config_reading *reading, const struct config_key *key,
               const struct ini_value *value, void *section_data)
{
    int count = 0;
    while (key->words[count])
        count++;
    for (int i = 0; i < count; i++)
        if (strcmp(value->value, key->words[i]) == 0) {
            /* The enumerations of config.h count from 0 in the words'
             * order. */
            memcpy(value_field(key, section_data), &i, sizeof i);
            return;
        }
    refuse_word(reading, key, value, value->value, key->words, count);
}

void read_yes_no(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, void *section_data)
{
    bool yes = strcmp(value->value, "yes") == 0;
    if (yes || strcmp(value->value, "no") == 0)
        *(bool *)value_field(key, section_data) = yes;
    else
        refuse_value(reading, key, value);
}

static bool two_digits(const char *words, size_t length, int max, int *out)
{
    if (length < 1 || length > 2)
        return false;
    int number = 0;
    for (size_t i = 0; i < length; i++) {
        if (words[i] < '0' || words[i] > '9')
            return false;
        number = 10 * number + (words[i] - '0');
    }
    *out = number;
    return number <= max;
}

bool clock_parse(const char *words, size_t length, int *minutes)
{
    const char *colon = memchr(words, ':', length);
    if (!colon)
        return false;
    int hour, minute;
    size_t before = (size_t)(colon - words);
    size_t after = length - before - 1;
    if (!two_digits(words, before, 24, &hour) || after != 2 ||
        !two_digits(colon + 1, after, 59, &minute))
        return false;
    *minutes = hour * 60 + minute;
    return *minutes <= 24 * 60;
}

void read_clock(struct config_reading *reading, const struct config_key *key,
                const struct ini_value *value, void *section_data)
{
    int minutes;
    if (!clock_parse(value->value, strlen(value->value), &minutes))
        refuse_value(reading, key, value);
    else if (minutes < key->min || minutes > key->max)
        refuse_range(reading, key, value);
    else
        *(int *)value_field(key, section_data) = minutes;
}

void read_date(struct config_reading *reading, const struct config_key *key,
               const struct ini_value *value, void *section_data)
{
    struct config_bush *bush = section_data;
    struct civil_date date;
    if (iso_date_parse(value->value, &date, NULL)) {
        refuse_value(reading, key, value);
        return;
    }
    bush->has_tapped = true;
    bush->tapped = date;
}

char *path_resolve(const char *config_path, const char *words)
{
    const char *home = getenv("HOME");
    if (strncmp(words, "~/", 2) == 0 && home && *home)
        return file_join(home, words + 2);
    const char *slash = strrchr(config_path, '/');
    if (words[0] == '/' || !slash)
        return mem_copy_text(words);
    char *folder = mem_copy_bytes(config_path, (size_t)(slash - config_path));
    char *path = file_join(folder, words);
    free(folder);
    return path;
}

void read_path(struct config_reading *reading, const struct config_key *key,
               const struct ini_value *value, void *section_data)
{
    enum { PATH_BYTES = 1000 };
    if (strlen(value->value) > PATH_BYTES)
        refuse_because(reading, key, value, _("this path is too long"));
    else
        keep_text(key, section_data, path_resolve(reading->path, value->value));
}
