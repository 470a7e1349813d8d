/* The time axis and the names of an open-meteo answer.
 *
 * "unixtime" stamps are UTC; "iso8601" ones are local at one fixed
 * utc_offset_seconds, which does not know summer time. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/open_meteo.h"

#define MEMBER "_member"

enum { MAX_OFFSET_S = 18 * SECONDS_PER_HOUR };

/* Years 1900 to 2200: beyond, a number is no time. */
static const double min_time = -2208988800.0, max_time = 7258118400.0;

/* 0, or 1 if the times need no offset, or -1. */
static int read_offset(const cJSON *root, const cJSON *times, int *offset_s,
                       struct error *err)
{
    long offset = 0;

    *offset_s = 0;
    if (cJSON_IsNumber(times->child))
        return 0;
    if (!json_integer(root, "utc_offset_seconds", -MAX_OFFSET_S, MAX_OFFSET_S,
                      &offset))
        return error_set(err, _("the times are local, but utc_offset_seconds "
                                "is missing or is no offset"));
    *offset_s = (int)offset;
    return 0;
}

static bool read_time(const cJSON *item, int offset_s, utc_s *out)
{
    if (cJSON_IsString(item))
        return iso_time_parse(item->valuestring, offset_s, out, NULL) == 0;
    if (!cJSON_IsNumber(item) || item->valuedouble < min_time ||
        item->valuedouble > max_time ||
        item->valuedouble != floor(item->valuedouble))
        return false;
    *out = (utc_s)item->valuedouble;
    return true;
}

static int read_axis(const cJSON *root, const cJSON *times, struct hourly *out,
                     struct error_list *refused, struct error *err)
{
    const cJSON *item;
    int offset_s, bad = 0, i = 0;

    if (read_offset(root, times, &offset_s, err) < 0)
        return -1;
    out->count = cJSON_GetArraySize(times);
    out->times = mem_alloc((size_t)out->count, sizeof *out->times);
    out->time_good = mem_alloc((size_t)out->count, sizeof *out->time_good);
    cJSON_ArrayForEach(item, times)
    {
        out->time_good[i] = read_time(item, offset_s, &out->times[i]);
        if (!out->time_good[i] && bad++ == 0)
            error_list_add(refused,
                           _("hourly.time, value %d of %d, cannot be read as "
                             "a time; it and its row are left out"),
                           i + 1, out->count);
        i++;
    }
    if (bad > 1)
        error_list_add(refused,
                       _("hourly.time: %d further times cannot be read"),
                       bad - 1);
    if (bad == out->count)
        return error_set(err, _("no time in hourly.time can be read"));
    return 0;
}

/* Length of "_member01" at the start, or 0. */
static size_t member_length(const char *words)
{
    size_t length = strlen(MEMBER);

    if (strncmp(words, MEMBER, length) != 0 ||
        !isdigit((unsigned char)words[length]))
        return 0;
    while (isdigit((unsigned char)words[length]))
        length++;
    return length;
}

bool hourly_is_member(const struct hourly *hourly, const char *key)
{
    size_t name = strlen(OPEN_METEO_AIR_TEMP), member;

    if (strncmp(key, OPEN_METEO_AIR_TEMP, name) != 0)
        return false;
    member = member_length(key + name);
    return member > 0 && strcmp(key + name + member, hourly->suffix) == 0;
}

static bool is_plain_name(const char *words)
{
    for (; *words; words++)
        if (!isalnum((unsigned char)*words) && *words != '_')
            return false;
    return true;
}

/* The suffix of a key of the air temperature, or NULL for other keys. */
static const char *suffix_of(const char *key)
{
    size_t name = strlen(OPEN_METEO_AIR_TEMP);

    if (strncmp(key, OPEN_METEO_AIR_TEMP, name) != 0)
        return NULL;
    key += name;
    key += member_length(key);
    return (*key == '\0' || *key == '_') && is_plain_name(key) ? key : NULL;
}

/* One model's names have no suffix; of several models the first is read. */
static void find_suffix(struct hourly *hourly, struct error_list *refused)
{
    const cJSON *column;

    cJSON_ArrayForEach(column, hourly->columns)
    {
        const char *suffix = suffix_of(column->string);

        if (suffix && *suffix == '\0') {
            hourly->suffix[0] = '\0';
            return;
        }
        if (suffix && hourly->suffix[0] == '\0' &&
            strlen(suffix) < sizeof hourly->suffix)
            snprintf(hourly->suffix, sizeof hourly->suffix, "%s", suffix);
    }
    if (hourly->suffix[0] == '\0')
        return;
    error_list_add(refused,
                   _("the answer names its models; only the first, %s, is "
                     "read"),
                   hourly->suffix + 1);
}

int hourly_open(const cJSON *root, struct hourly *out,
                struct error_list *refused, struct error *err)
{
    const cJSON *times;
    char words[200];
    bool failed = false;

    *out = (struct hourly){.columns = json_object(root, "hourly"),
                           .units = json_object(root, "hourly_units")};
    if (json_bool(root, "error", &failed) && failed) {
        answer_words(json_string(root, "reason"), words, sizeof words);
        return error_set(err, _("the service reports an error: %s"), words);
    }
    if (!out->columns)
        return error_set(err, _("the answer has no member \"hourly\": it has "
                                "other values alone, or the place lies "
                                "outside the model"));
    times = json_array(out->columns, "time");
    if (!times || !times->child)
        return error_set(err, _("hourly.time is missing or empty"));
    if (read_axis(root, times, out, refused, err) < 0)
        return -1;
    find_suffix(out, refused);
    return 0;
}

void hourly_close(struct hourly *hourly)
{
    free(hourly->times);
    free(hourly->time_good);
    *hourly = (struct hourly){0};
}
