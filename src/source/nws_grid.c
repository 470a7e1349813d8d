/* Raw layers of a grid cell: values that hold for intervals of time. */
#include "base/json.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/nws.h"

/* No pressure: the layer is empty, and where it once was not it had no unit.
 * maxTemperature and minTemperature say nothing about an hour. */
static const struct grid_layer {
    enum quantity quantity;
    const char *name;
} grid_layers[] = {
    {AIR_TEMP_C, "temperature"},
    {WIND_M_S, "windSpeed"},
    {REL_HUMIDITY_PCT, "relativeHumidity"},
    {PRECIP_MM, "quantitativePrecipitation"},
    {CLOUD_PCT, "skyCover"},
    {DEW_POINT_C, "dewpoint"},
};

static void refuse_interval(struct intake *intake, enum quantity quantity,
                            const char *words)
{
    char shown[80];
    struct error err;

    answer_words(words, shown, sizeof shown);
    error_set(&err,
              _("%s: a value left out, since \"%s\" is no interval of time "
                "with a length"),
              intake->layers[quantity].name, shown);
    intake_refuse(intake, quantity, &err);
}

static void read_values(const cJSON *values, enum quantity quantity,
                        const struct unit_scale *scale, struct intake *intake)
{
    const cJSON *item;
    utc_s start, end;

    cJSON_ArrayForEach(item, values)
    {
        const char *valid = json_string(item, "validTime");

        if (!valid || iso_interval_parse(valid, &start, &end, NULL) < 0 ||
            end <= start)
            refuse_interval(intake, quantity, valid);
        else
            intake_json(intake, quantity, scale, start, end, ORIGIN_FORECAST,
                        cJSON_GetObjectItemCaseSensitive(item, "value"));
    }
}

/* An interval of nulls is no value, but its absent values are not told. */
static void read_layer(const cJSON *properties, const struct grid_layer *layer,
                       struct intake *intake)
{
    const cJSON *item = json_object(properties, layer->name);
    const cJSON *values = json_array(item, "values");
    const char *unit = json_string(item, "uom");
    struct unit_scale scale;
    char shown[80];

    if (!values || !values->child)
        return;
    intake_name(intake, layer->quantity, layer->name);
    if (unit_find(layer->quantity, unit, &scale) == 0) {
        read_values(values, layer->quantity, &scale, intake);
        return;
    }
    answer_words(unit, shown, sizeof shown);
    error_list_add(intake->refused,
                   _("%s left out: its unit \"%s\" (uom) is not known"),
                   layer->name, shown);
}

void nws_read_grid(const cJSON *properties, struct intake *intake,
                   struct series_source *source)
{
    source->issued = nws_read_time(properties, "updateTime");
    nws_read_elevation(properties, source);
    for (size_t i = 0; i < sizeof grid_layers / sizeof grid_layers[0]; i++)
        read_layer(properties, &grid_layers[i], intake);
}
