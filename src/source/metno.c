/* MET Norway, locationforecast/2.0 complete.
 *
 * Hourly for two to three days, then in steps of six hours, whose instants
 * miss the daily extremes: next_6_hours gives those. Pressure is at sea
 * level; the answer has no radiation. */
#include "source/metno.h"

#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/services.h"

static int make_url(const struct source_query *query, const char *looked_up,
                    size_t length, struct text *url, struct error *err)
{
    (void)looked_up;
    (void)length;
    text_add(url, query->base_url ? query->base_url : source_metno.default_url);
    text_add(url, "/complete?lat=");
    answer_add_degrees(url, query->latitude);
    text_add(url, "&lon=");
    answer_add_degrees(url, query->longitude);
    text_addf(url, "&altitude=%.0f", query->elevation_m);
    if (url->full)
        return error_set(err, _("the address to ask is too long"));
    return 0;
}

static int compare_rows(const void *left, const void *right)
{
    const struct metno_row *a = left, *b = right;

    if (a->time != b->time)
        return a->time < b->time ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

/* Sorts the rows; of two for one time the first is kept, and it is told. */
static void settle_rows(struct metno *metno)
{
    int kept = 0;
    char when[ISO_TIME_SIZE];

    qsort(metno->rows, (size_t)metno->count, sizeof *metno->rows, compare_rows);
    for (int i = 1; i < metno->count; i++) {
        if (metno->rows[i].time != metno->rows[kept].time)
            metno->rows[++kept] = metno->rows[i];
        else if (kept + 1 == i)
            iso_time_utc(metno->rows[i].time, when);
    }
    if (kept + 1 < metno->count)
        error_list_add(metno->refused,
                       _("timeseries has times twice, first %s; of each the "
                         "first row is kept (rows left out: %d)"),
                       when, metno->count - kept - 1);
    metno->count = kept + 1;
}

/* False for a row without a time that can be read, or without data. */
static bool read_row(const cJSON *item, int order, struct metno_row *row)
{
    const cJSON *data = json_object(item, "data");
    const cJSON *next_1_hours = json_object(data, "next_1_hours");
    const char *time = json_string(item, "time");

    *row = (struct metno_row){
        .instant = json_object(json_object(data, "instant"), "details"),
        .next_1_hours = json_object(next_1_hours, "details"),
        .next_6_hours =
            json_object(json_object(data, "next_6_hours"), "details"),
        .is_hour = next_1_hours != NULL,
        .order = order};
    return data && time && iso_time_parse(time, 0, &row->time, NULL) == 0;
}

static int read_rows(struct metno *metno, const cJSON *timeseries,
                     struct error *err)
{
    const cJSON *item;
    int at = 0, bad = 0;

    metno->rows = mem_alloc((size_t)cJSON_GetArraySize(timeseries) + 1,
                            sizeof *metno->rows);
    cJSON_ArrayForEach(item, timeseries)
    {
        if (read_row(item, at++, &metno->rows[metno->count]))
            metno->count++;
        else if (bad++ == 0)
            error_list_add(metno->refused,
                           _("timeseries, row %d, left out: it has no time "
                             "that can be read, or no data"),
                           at);
    }
    if (bad > 1)
        error_list_add(metno->refused,
                       _("timeseries: %d further rows left out"), bad - 1);
    if (metno->count == 0)
        return error_set(err, _("properties.timeseries has no row that can "
                                "be read"));
    settle_rows(metno);
    return 0;
}

static void read_place(const cJSON *root, struct metno *metno,
                       struct series_source *source)
{
    const cJSON *coordinates =
        json_array(json_object(root, "geometry"), "coordinates");
    const cJSON *longitude = cJSON_GetArrayItem(coordinates, 0);
    const cJSON *elevation = cJSON_GetArrayItem(coordinates, 2);

    if (cJSON_IsNumber(longitude))
        metno->longitude_deg = longitude->valuedouble;
    if (cJSON_IsNumber(elevation)) {
        source->elevation_m = elevation->valuedouble;
        source->has_elevation = true;
    }
}

static int read_answer(const cJSON *root, struct metno *metno,
                       struct series_source *source, struct error *err)
{
    const cJSON *properties = json_object(root, "properties");
    const cJSON *meta = json_object(properties, "meta");
    const cJSON *timeseries = json_array(properties, "timeseries");
    const char *updated = json_string(meta, "updated_at");

    if (!properties || !timeseries)
        return error_set(err, _("the answer has no properties.timeseries; it "
                                "is not one of locationforecast/2.0"));
    metno->units = json_object(meta, "units");
    if (!updated || iso_time_parse(updated, 0, &source->issued, NULL) < 0)
        error_list_add(metno->refused,
                       _("meta.updated_at is missing or no time; the issue "
                         "time is not known"));
    read_place(root, metno, source);
    return read_rows(metno, timeseries, err);
}

static int decode(const char *bytes, size_t length, utc_s fetched,
                  struct source_answer *out, struct error *err)
{
    struct metno metno = {.refused = &out->refused};
    struct series_source source = answer_source(source_metno.name, fetched);
    struct intake intake;
    cJSON *root;

    *out = (struct source_answer){0};
    root = answer_parse(bytes, length, err);
    if (root && read_answer(root, &metno, &source, err) == 0) {
        intake_init(&intake, &out->refused);
        metno_read_layers(&metno, &intake);
        out->series = intake_finish(&intake, &source, err);
        intake_free(&intake);
    }
    free(metno.rows);
    cJSON_Delete(root);
    return out->series ? 0 : -1;
}

const struct source source_metno = {
    .name = "metno",
    .credit = "Data from MET Norway",
    .credit_url = "https://api.met.no/",
    .default_url = "https://api.met.no/weatherapi/locationforecast/2.0",
    .accept = "application/json",
    .min_interval_s = SECONDS_PER_HOUR,
    .per_minute =
        600, /* 20 a second need an agreement (MET Norway, terms of service) */
    .url = make_url,
    .decode = decode,
    /* Its errors are HTML or plain text: nothing to quote. */
    .error_words = NULL,
};
