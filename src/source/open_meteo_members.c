#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/open_meteo.h"
#include "source/unit.h"

/* Largest known: 64 members; 35 days ahead and 92 back. */
enum { MAX_MEMBERS = 256, MAX_HOURS = 24 * 130 };

/* Members as they came; a gap is NAN. */
struct gathered {
    const struct hourly *hourly;
    struct error_list *refused;
    utc_s start;
    int hours, count;
    double *air_temp_c; /* [member * hours + hour] */
    bool told;
};

static bool is_air_temp(const struct hourly *hourly, const char *key)
{
    size_t name = strlen(OPEN_METEO_AIR_TEMP);

    if (hourly_is_member(hourly, key))
        return true;
    return strncmp(key, OPEN_METEO_AIR_TEMP, name) == 0 &&
           strcmp(key + name, hourly->suffix) == 0;
}

static int count_members(const struct hourly *hourly)
{
    const cJSON *column;
    int members = 0, all = 0;

    cJSON_ArrayForEach(column, hourly->columns)
    {
        members += hourly_is_member(hourly, column->string);
        all += is_air_temp(hourly, column->string);
    }
    return members > 0 ? all : 0;
}

/* False if the times are not hours one can lay members on. */
static bool find_hours(struct gathered *gathered)
{
    const struct hourly *hourly = gathered->hourly;
    utc_s first = INT64_MAX, last = INT64_MIN;

    for (int i = 0; i < hourly->count; i++) {
        if (!hourly->time_good[i])
            continue;
        if (hourly->times[i] % SECONDS_PER_HOUR != 0)
            return false;
        first = hourly->times[i] < first ? hourly->times[i] : first;
        last = hourly->times[i] > last ? hourly->times[i] : last;
    }
    if (last - first >= (utc_s)MAX_HOURS * SECONDS_PER_HOUR)
        return false;
    gathered->start = first;
    gathered->hours = (int)((last - first) / SECONDS_PER_HOUR) + 1;
    return true;
}

static void tell_bad(struct gathered *gathered, const char *key,
                     const struct error *why)
{
    char shown[80];

    if (gathered->told)
        return;
    gathered->told = true;
    answer_words(key, shown, sizeof shown);
    error_list_add(gathered->refused,
                   _("members with values of no use are left out, first %s: "
                     "%s"),
                   shown, why->text);
}

static void take_value(struct gathered *gathered, const cJSON *column,
                       const struct unit_scale *scale, double *slot,
                       const cJSON *item)
{
    struct error err;
    double value;

    if (cJSON_IsNull(item) || !isnan(*slot))
        return;
    if (!cJSON_IsNumber(item)) {
        error_set(&err, _("a value is not a number"));
        tell_bad(gathered, column->string, &err);
        return;
    }
    value = unit_apply(scale, item->valuedouble);
    if (quantity_check(AIR_TEMP_C, value, &err) < 0)
        tell_bad(gathered, column->string, &err);
    else
        *slot = value;
}

static void take_column(struct gathered *gathered, const cJSON *column,
                        double *row)
{
    const struct hourly *hourly = gathered->hourly;
    struct unit_scale scale;
    struct error err;
    const cJSON *item;
    int i = 0;

    if (!cJSON_IsArray(column) || cJSON_GetArraySize(column) != hourly->count ||
        unit_find(AIR_TEMP_C, json_string(hourly->units, column->string),
                  &scale) < 0) {
        error_set(&err, _("its length or its unit does not fit"));
        tell_bad(gathered, column->string, &err);
        return;
    }
    cJSON_ArrayForEach(item, column)
    {
        if (hourly->time_good[i])
            take_value(
                gathered, column, &scale,
                &row[(hourly->times[i] - gathered->start) / SECONDS_PER_HOUR],
                item);
        i++;
    }
}

static void gather(struct gathered *gathered)
{
    size_t cells = (size_t)gathered->count * (size_t)gathered->hours;
    double *row = mem_alloc(cells, sizeof *row);
    const cJSON *column;

    gathered->air_temp_c = row;
    for (size_t i = 0; i < cells; i++)
        row[i] = NAN;
    cJSON_ArrayForEach(column, gathered->hourly->columns)
    {
        if (!is_air_temp(gathered->hourly, column->string))
            continue;
        take_column(gathered, column, row);
        row += gathered->hours;
    }
}

/* The hours at which at least half of the members have a value: a model's
 * own end does not count as a gap. */
static bool find_window(const struct gathered *gathered, int *first, int *last)
{
    *first = -1;
    for (int hour = 0; hour < gathered->hours; hour++) {
        int present = 0;

        for (int m = 0; m < gathered->count; m++)
            present += !isnan(gathered->air_temp_c[m * gathered->hours + hour]);
        if (2 * present < gathered->count)
            continue;
        if (*first < 0)
            *first = hour;
        *last = hour;
    }
    return *first >= 0;
}

static bool is_whole(const double *row, int hours)
{
    for (int hour = 0; hour < hours; hour++)
        if (isnan(row[hour]))
            return false;
    return true;
}

static void keep_whole(const struct gathered *gathered, int first, int hours,
                       struct source_answer *out)
{
    utc_s start = gathered->start + (utc_s)first * SECONDS_PER_HOUR;
    struct members *members = members_new(start, hours, gathered->count);
    int kept = 0;

    for (int m = 0; m < gathered->count; m++) {
        const double *row =
            gathered->air_temp_c + (size_t)m * (size_t)gathered->hours + first;

        if (is_whole(row, hours))
            memcpy(members->air_temp_c + (size_t)kept++ * (size_t)hours, row,
                   (size_t)hours * sizeof *row);
    }
    members->count = kept;
    out->members_dropped = gathered->count - kept;
    out->members = members;
    if (out->members_dropped > 0)
        error_list_add(&out->refused,
                       _("%d of %d members are left out for gaps"),
                       out->members_dropped, gathered->count);
    if (kept == 0) {
        members_free(members);
        out->members = NULL;
    }
}

void open_meteo_read_members(const struct hourly *hourly,
                             struct source_answer *out)
{
    struct gathered gathered = {.hourly = hourly, .refused = &out->refused};
    int first, last = 0;

    gathered.count = count_members(hourly);
    if (gathered.count == 0)
        return;
    if (gathered.count > MAX_MEMBERS || !find_hours(&gathered)) {
        error_list_add(&out->refused,
                       _("the members are left out: more than %d, or times "
                         "off the hour or over more than %d days"),
                       MAX_MEMBERS, MAX_HOURS / 24);
        return;
    }
    gather(&gathered);
    if (find_window(&gathered, &first, &last))
        keep_whole(&gathered, first, last - first + 1, out);
    free(gathered.air_temp_c);
}
