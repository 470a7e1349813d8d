/* US National Weather Service, api.weather.gov. A place is first looked up
 * (/points), then its grid cell is asked for its raw layers. The kind of an
 * answer is told by its content. */
#include "source/nws.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "base/units.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/services.h"

static const char *base_of(const struct source_query *query)
{
    return query->base_url ? query->base_url : source_nws.default_url;
}

static void lookup_url(const struct source_query *query, struct text *url)
{
    text_addf(url, "%s/points/", base_of(query));
    answer_add_degrees(url, query->latitude);
    text_add(url, ",");
    answer_add_degrees(url, query->longitude);
}

/* Grid numbers are numbers in most answers, texts in some. */
static bool read_grid_number(const cJSON *properties, const char *key,
                             long *out)
{
    const char *words = json_string(properties, key);

    if (words)
        return integer_parse(words, 0, 9999, out);
    return json_integer(properties, key, 0, 9999, out);
}

static bool is_grid_name(const char *words)
{
    size_t length = words ? strlen(words) : 0;

    for (size_t i = 0; i < length; i++)
        if (!isalnum((unsigned char)words[i]))
            return false;
    return length > 0 && length <= 8;
}

/* The address is made from the grid's name and numbers, not taken over from
 * the answer: an answer shall not send us elsewhere. */
static int make_url(const struct source_query *query, const char *looked_up,
                    size_t length, struct text *url, struct error *err)
{
    cJSON *root = answer_parse(looked_up, length, err);
    const cJSON *properties = json_object(root, "properties");
    const char *grid;
    long x, y;
    int result = -1;

    if (!root)
        return -1;
    properties = properties ? properties : root;
    grid = json_string(properties, "gridId");
    if (!is_grid_name(grid) || !read_grid_number(properties, "gridX", &x) ||
        !read_grid_number(properties, "gridY", &y))
        error_set(err, _("the look-up's answer has no gridId, gridX and gridY "
                         "that can be used"));
    else {
        text_addf(url, "%s/gridpoints/%s/%ld,%ld", base_of(query), grid, x, y);
        result = url->full ? error_set(err, _("the address to ask is too "
                                              "long"))
                           : 0;
    }
    cJSON_Delete(root);
    return result;
}

void nws_read_quantity(const cJSON *item, enum quantity quantity, utc_s start,
                       utc_s end, enum origin origin, struct intake *intake)
{
    const cJSON *value = cJSON_GetObjectItemCaseSensitive(item, "value");
    const char *unit = json_string(item, "unitCode");
    struct unit_scale scale;
    char shown[80], when[ISO_TIME_SIZE];
    struct error err;

    if (!value || cJSON_IsNull(value))
        return;
    if (unit_find(quantity, unit, &scale) == 0) {
        intake_json(intake, quantity, &scale, start, end, origin, value);
        return;
    }
    answer_words(unit, shown, sizeof shown);
    iso_time_utc(start, when);
    error_set(&err, _("%s at %s left out: its unit \"%s\" is not known"),
              intake->layers[quantity].name, when, shown);
    intake_refuse(intake, quantity, &err);
}

void nws_read_elevation(const cJSON *properties, struct series_source *source)
{
    const cJSON *item = json_object(properties, "elevation");
    struct unit_scale scale;
    double value;

    if (!json_number(item, "value", &value) ||
        unit_find_height(json_string(item, "unitCode"), &scale) < 0)
        return;
    source->elevation_m = unit_apply(&scale, value);
    source->has_elevation = true;
}

utc_s nws_read_time(const cJSON *properties, const char *key)
{
    const char *words = json_string(properties, key);
    utc_s time;

    return words && iso_time_parse(words, 0, &time, NULL) == 0 ? time : 0;
}

/* GeoJSON has the data in "properties", JSON-LD at the top. */
static const cJSON *properties_of(const cJSON *feature)
{
    const cJSON *properties = json_object(feature, "properties");

    return properties ? properties : feature;
}

static int read_observations(const cJSON *features, struct intake *intake,
                             struct series_source *source, struct error *err)
{
    const cJSON *feature;
    int observations = 0;

    cJSON_ArrayForEach(feature, features)
    {
        const cJSON *properties = properties_of(feature);

        if (!json_string(properties, "timestamp"))
            continue;
        nws_read_observation(properties, intake, source);
        observations++;
    }
    if (cJSON_GetArraySize(features) == 0)
        return error_set(err, _("the list of features is empty: the service "
                                "has no data"));
    if (observations == 0)
        return error_set(err, _("the list of features holds no observation "
                                "with a timestamp"));
    return 0;
}

static int refuse_kind(const cJSON *root, const cJSON *properties,
                       struct error *err)
{
    char words[200];

    if (json_string(root, "detail")) {
        answer_words(json_string(root, "detail"), words, sizeof words);
        return error_set(err, _("the service reports an error: %s"), words);
    }
    if (json_string(properties, "forecastGridData"))
        return error_set(err, _("this is the look-up of a point (/points): it "
                                "names the grid cell but holds no weather"));
    return error_set(err, _("neither a grid cell, an hourly forecast nor an "
                            "observation of the NWS"));
}

static int read_answer(const cJSON *root, struct intake *intake,
                       struct series_source *source, struct error *err)
{
    const cJSON *properties = properties_of(root);
    const cJSON *features = json_array(root, "features");

    if (!features)
        features = json_array(root, "@graph");
    if (features)
        return read_observations(features, intake, source, err);
    if (json_array(properties, "periods"))
        nws_read_periods(properties, intake, source);
    else if (json_string(properties, "timestamp"))
        nws_read_observation(properties, intake, source);
    else if (json_array(json_object(properties, "temperature"), "values"))
        nws_read_grid(properties, intake, source);
    else
        return refuse_kind(root, properties, err);
    return 0;
}

static int decode(const char *bytes, size_t length, utc_s fetched,
                  struct source_answer *out, struct error *err)
{
    struct series_source source = answer_source(source_nws.name, fetched);
    struct intake intake;
    cJSON *root;

    *out = (struct source_answer){0};
    root = answer_parse(bytes, length, err);
    if (!root)
        return -1;
    intake_init(&intake, &out->refused);
    if (read_answer(root, &intake, &source, err) == 0)
        out->series = intake_finish(&intake, &source, err);
    intake_free(&intake);
    cJSON_Delete(root);
    return out->series ? 0 : -1;
}

static void error_words(const char *bytes, size_t length, char *out,
                        size_t out_size)
{
    answer_member_words(bytes, length, "detail", out, out_size);
    if (out[0] == '\0')
        answer_member_words(bytes, length, "title", out, out_size);
}

const struct source source_nws = {
    .name = "nws",
    .credit = "NOAA / National Weather Service",
    .credit_url = "https://www.weather.gov/",
    .default_url = "https://api.weather.gov",
    .accept = "application/geo+json",
    .min_interval_s = SECONDS_PER_HOUR,
    .per_minute = 60, /* not told by the service ("reasonable"); ours */
    .lookup_url = lookup_url,
    .url = make_url,
    .decode = decode,
    .error_words = error_words,
};
