#include <stdlib.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/metno.h"
#include "source/shape.h"

enum { COARSE_STEP_S = 6 * SECONDS_PER_HOUR };

struct field {
    enum quantity quantity;
    const char *name;
};

static const struct field instants[] = {
    {AIR_TEMP_C, "air_temperature"},
    {WIND_M_S, "wind_speed"},
    {REL_HUMIDITY_PCT, "relative_humidity"},
    {SEA_LEVEL_PRESSURE_HPA, "air_pressure_at_sea_level"},
    {CLOUD_PCT, "cloud_area_fraction"},
    {DEW_POINT_C, "dew_point_temperature"},
};

static const char precipitation[] = "precipitation_amount";

static const cJSON *find_detail(const cJSON *details, const char *name)
{
    return cJSON_GetObjectItemCaseSensitive(details, name);
}

/* The amount of the next hour, or for a row that stands for six hours, of
 * those. */
static const cJSON *find_amount(const struct metno_row *row, bool coarse)
{
    return find_detail(coarse ? row->next_6_hours : row->next_1_hours,
                       precipitation);
}

static bool has_instant(const struct metno *metno, const char *name)
{
    for (int i = 0; i < metno->count; i++)
        if (find_detail(metno->rows[i].instant, name))
            return true;
    return false;
}

static bool has_amount(const struct metno *metno)
{
    for (int i = 0; i < metno->count; i++)
        if (find_amount(&metno->rows[i], false) ||
            find_amount(&metno->rows[i], true))
            return true;
    return false;
}

static bool find_scale(const struct metno *metno, enum quantity quantity,
                       const char *name, struct unit_scale *scale)
{
    const char *unit = json_string(metno->units, name);
    char shown[80];

    if (unit_find(quantity, unit, scale) == 0)
        return true;
    answer_words(unit, shown, sizeof shown);
    error_list_add(metno->refused,
                   _("%s left out: its unit \"%s\" in meta.units is not "
                     "known"),
                   name, shown);
    return false;
}

/* A row that stands for the six hours up to the next. */
static bool is_coarse(const struct metno *metno, int i)
{
    return i + 1 < metno->count &&
           metno->rows[i + 1].time - metno->rows[i].time == COARSE_STEP_S &&
           !metno->rows[i].is_hour;
}

static bool read_extreme(const struct metno *metno, int i, const char *name,
                         double *out)
{
    const cJSON *item = find_detail(metno->rows[i].next_6_hours, name);
    struct unit_scale scale;

    if (!cJSON_IsNumber(item) ||
        unit_find(AIR_TEMP_C, json_string(metno->units, name), &scale) < 0)
        return false;
    *out = unit_apply(&scale, item->valuedouble);
    return quantity_check(AIR_TEMP_C, *out, NULL) == 0;
}

/* The instants of a layer that were taken in, for shaping. */
static int find_instants(const struct metno *metno, const struct layer *layer,
                         enum quantity quantity, struct shape_instant *out,
                         int *without)
{
    int count = 0, next = 0;

    for (int i = 0; i < metno->count && next < layer->count; i++) {
        struct shape_instant *instant = &out[count];

        if (layer->readings[next].start != metno->rows[i].time)
            continue;
        *instant =
            (struct shape_instant){.time = metno->rows[i].time,
                                   .value = layer->readings[next++].value,
                                   .shaped_after = is_coarse(metno, i)};
        instant->min = instant->max = instant->value;
        count++;
        if (quantity != AIR_TEMP_C || !instant->shaped_after ||
            (read_extreme(metno, i, "air_temperature_min", &instant->min) &&
             read_extreme(metno, i, "air_temperature_max", &instant->max)))
            continue;
        instant->shaped_after = false;
        ++*without;
    }
    return count;
}

/* A step whose far end was refused reaches further than it says. */
static void check_steps(struct shape_instant *instant, int count)
{
    for (int i = 0; i < count; i++)
        if (i + 1 == count ||
            instant[i + 1].time - instant[i].time != COARSE_STEP_S)
            instant[i].shaped_after = false;
}

/* Straight lines between the instants. */
static void add_lines(const struct shape_instant *instant, int count,
                      enum quantity quantity, struct intake *intake)
{
    enum { STEP_H = COARSE_STEP_S / SECONDS_PER_HOUR };

    for (int i = 0; i + 1 < count; i++)
        for (int h = 1; instant[i].shaped_after && h < STEP_H; h++) {
            utc_s time = instant[i].time + (utc_s)h * SECONDS_PER_HOUR;

            intake_value(intake, quantity, time, time, ORIGIN_SHAPED,
                         instant[i].value +
                             (instant[i + 1].value - instant[i].value) * h /
                                 STEP_H);
        }
}

static void add_shaped(const struct metno *metno,
                       const struct shape_instant *instant, int count,
                       struct intake *intake)
{
    struct shape_hour *hours;
    int made = shape_hours(instant, count, metno->longitude_deg, &hours);

    for (int i = 0; i < made; i++)
        intake_value(intake, AIR_TEMP_C, hours[i].time, hours[i].time,
                     ORIGIN_SHAPED, hours[i].value);
    free(hours);
}

static void fill_steps(const struct metno *metno, enum quantity quantity,
                       struct intake *intake)
{
    struct shape_instant *found =
        mem_alloc((size_t)metno->count, sizeof *found);
    int without = 0;
    int count = find_instants(metno, &intake->layers[quantity], quantity, found,
                              &without);

    check_steps(found, count);
    if (quantity == AIR_TEMP_C && count > 0)
        add_shaped(metno, found, count, intake);
    else
        add_lines(found, count, quantity, intake);
    if (without > 0)
        error_list_add(metno->refused,
                       _("air_temperature: %d steps of six hours come "
                         "without their highest and lowest; the hours "
                         "between are left empty"),
                       without);
    free(found);
}

static void read_instants(const struct metno *metno, const struct field *field,
                          struct intake *intake)
{
    struct unit_scale scale;

    if (!has_instant(metno, field->name) ||
        !find_scale(metno, field->quantity, field->name, &scale))
        return;
    intake_name(intake, field->quantity, field->name);
    for (int i = 0; i < metno->count; i++)
        intake_json(intake, field->quantity, &scale, metno->rows[i].time,
                    metno->rows[i].time, ORIGIN_FORECAST,
                    find_detail(metno->rows[i].instant, field->name));
    fill_steps(metno, field->quantity, intake);
}

static void read_precipitation(const struct metno *metno, struct intake *intake)
{
    struct unit_scale scale;

    if (!has_amount(metno) ||
        !find_scale(metno, PRECIP_MM, precipitation, &scale))
        return;
    intake_name(intake, PRECIP_MM, precipitation);
    for (int i = 0; i < metno->count; i++) {
        const struct metno_row *row = &metno->rows[i];
        bool coarse = is_coarse(metno, i);
        utc_s end = row->time + (coarse ? COARSE_STEP_S : SECONDS_PER_HOUR);

        intake_json(intake, PRECIP_MM, &scale, row->time, end,
                    coarse ? ORIGIN_SHAPED : ORIGIN_FORECAST,
                    find_amount(row, coarse));
    }
}

void metno_read_layers(const struct metno *metno, struct intake *intake)
{
    for (size_t i = 0; i < sizeof instants / sizeof instants[0]; i++)
        read_instants(metno, &instants[i], intake);
    read_precipitation(metno, intake);
}
