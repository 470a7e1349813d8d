/* Open-Meteo: one address for forecast, past days and archive.
 *
 * Radiation and precipitation are those of the hour that ends at the stamp;
 * everything else is the value at the stamp. The answer does not tell when
 * its forecast was issued. */
#include "source/open_meteo.h"

#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/intake.h"
#include "source/services.h"

/* Present names first, then those of older requests, which still work. */
struct variable {
    enum quantity quantity;
    const char *names[2];
};

static const struct variable variables[] = {
    {AIR_TEMP_C, {OPEN_METEO_AIR_TEMP, NULL}},
    {SHORTWAVE_W_M2, {"shortwave_radiation", NULL}},
    {WIND_M_S, {"wind_speed_10m", "windspeed_10m"}},
    {REL_HUMIDITY_PCT, {"relative_humidity_2m", "relativehumidity_2m"}},
    {PRESSURE_HPA, {"surface_pressure", NULL}},
    {PRECIP_MM, {"precipitation", NULL}},
    {SEA_LEVEL_PRESSURE_HPA, {"pressure_msl", NULL}},
    {CLOUD_PCT, {"cloud_cover", "cloudcover"}},
    {DEW_POINT_C, {"dew_point_2m", "dewpoint_2m"}},
};

/* Where an ensemble comes without its control, its first member stands for
 * it. */
static const cJSON *find_member(const struct hourly *hourly, char *name,
                                size_t name_size, struct error_list *refused)
{
    const cJSON *column;

    cJSON_ArrayForEach(column, hourly->columns)
    {
        if (!hourly_is_member(hourly, column->string))
            continue;
        snprintf(name, name_size, "%s", column->string);
        error_list_add(refused,
                       _("the answer has members but no control; %s is read "
                         "in its place"),
                       name);
        return column;
    }
    return NULL;
}

/* The column of a variable under one of its names, and that name. */
static const cJSON *find_column(const struct hourly *hourly,
                                const struct variable *variable, char *name,
                                size_t name_size, struct error_list *refused)
{
    for (int i = 0; i < 2 && variable->names[i]; i++) {
        const cJSON *column;

        snprintf(name, name_size, "%s%s", variable->names[i], hourly->suffix);
        column = cJSON_GetObjectItemCaseSensitive(hourly->columns, name);
        if (column)
            return column;
    }
    if (variable->quantity == AIR_TEMP_C)
        return find_member(hourly, name, name_size, refused);
    return NULL;
}

static bool column_fits(const struct hourly *hourly, const cJSON *column,
                        const char *name, struct error_list *refused)
{
    int count = cJSON_IsArray(column) ? cJSON_GetArraySize(column) : -1;

    if (count < 0)
        error_list_add(refused, _("hourly.%s left out: it is not a list"),
                       name);
    else if (count != hourly->count)
        error_list_add(refused,
                       _("hourly.%s left out: it has %d values for %d times"),
                       name, count, hourly->count);
    return count == hourly->count;
}

static bool find_scale(const struct hourly *hourly, enum quantity quantity,
                       const char *name, struct unit_scale *scale,
                       struct error_list *refused)
{
    const char *unit = json_string(hourly->units, name);
    char shown[80];

    if (unit_find(quantity, unit, scale) == 0)
        return true;
    answer_words(unit, shown, sizeof shown);
    error_list_add(refused,
                   _("hourly.%s left out: its unit \"%s\" in hourly_units is "
                     "not known"),
                   name, shown);
    return false;
}

static void read_column(const struct hourly *hourly, const cJSON *column,
                        enum quantity quantity, const struct unit_scale *scale,
                        utc_s fetched, struct intake *intake)
{
    bool over_hour = quantity_is_over_hour(quantity);
    const cJSON *item;
    int i = 0;

    intake_expect(intake, quantity, hourly->count);
    cJSON_ArrayForEach(item, column)
    {
        utc_s stamp = hourly->times[i];
        enum origin origin = stamp + SECONDS_PER_HOUR <= fetched
                                 ? ORIGIN_ANALYSED
                                 : ORIGIN_FORECAST;

        if (hourly->time_good[i])
            intake_json(intake, quantity, scale,
                        over_hour ? stamp - SECONDS_PER_HOUR : stamp, stamp,
                        origin, item);
        i++;
    }
}

static void read_variable(const struct hourly *hourly,
                          const struct variable *variable, utc_s fetched,
                          struct intake *intake)
{
    char name[128];
    struct unit_scale scale;
    const cJSON *column =
        find_column(hourly, variable, name, sizeof name, intake->refused);

    if (!column)
        return;
    intake_name(intake, variable->quantity, name);
    if (column_fits(hourly, column, name, intake->refused) &&
        find_scale(hourly, variable->quantity, name, &scale, intake->refused))
        read_column(hourly, column, variable->quantity, &scale, fetched,
                    intake);
}

int open_meteo_read_series(const cJSON *root, const struct hourly *hourly,
                           const char *service, utc_s fetched,
                           struct source_answer *out, struct error *err)
{
    struct series_source source = answer_source(service, fetched);
    struct intake intake;

    source.has_elevation = json_number(root, "elevation", &source.elevation_m);
    intake_init(&intake, &out->refused);
    for (size_t i = 0; i < sizeof variables / sizeof variables[0]; i++)
        read_variable(hourly, &variables[i], fetched, &intake);
    out->series = intake_finish(&intake, &source, err);
    intake_free(&intake);
    return out->series ? 0 : -1;
}

static int decode(const char *bytes, size_t length, utc_s fetched,
                  struct source_answer *out, struct error *err)
{
    struct hourly hourly = {0};
    cJSON *root;
    int result = -1;

    *out = (struct source_answer){0};
    root = answer_parse(bytes, length, err);
    if (root && hourly_open(root, &hourly, &out->refused, err) == 0)
        result = open_meteo_read_series(root, &hourly, source_open_meteo.name,
                                        fetched, out, err);
    if (result == 0)
        open_meteo_read_members(&hourly, out);
    hourly_close(&hourly);
    cJSON_Delete(root);
    return result;
}

/* Also what the service writes as plain text, after half an answer or alone:
 * "Unexpected error while streaming data: timeoutReached". */
void open_meteo_error_words(const char *bytes, size_t length, char *out,
                            size_t out_size)
{
    static const char plain[] = "Unexpected error";
    char line[200] = "";

    answer_member_words(bytes, length, "reason", out, out_size);
    if (out[0] != '\0' || length > SOURCE_MAX_BYTES)
        return;
    for (size_t i = 0; i + sizeof plain <= length; i++) {
        if (memcmp(bytes + i, plain, sizeof plain - 1) != 0)
            continue;
        snprintf(line, sizeof line, "%.*s",
                 (int)(length - i < 160 ? length - i : 160), bytes + i);
        line[strcspn(line, "\r\n")] = '\0';
        answer_words(line, out, out_size);
        return;
    }
}

const struct source source_open_meteo = {
    .name = "open-meteo",
    .credit = "Weather data by Open-Meteo.com",
    .credit_url = "https://open-meteo.com/",
    .default_url = "https://api.open-meteo.com",
    .accept = "application/json",
    .min_interval_s = SECONDS_PER_HOUR,
    .per_minute = 300, /* fewer than 600 on the free host (Open-Meteo, terms) */
    .url = open_meteo_forecast_url,
    .decode = decode,
    .error_words = open_meteo_error_words,
};
