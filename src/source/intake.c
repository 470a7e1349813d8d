#include "source/intake.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "source/lay.h"

enum { TOLD_PER_LAYER = 3 };

void intake_init(struct intake *intake, struct error_list *refused)
{
    *intake = (struct intake){.refused = refused};
    for (int i = 0; i < QUANTITY_COUNT; i++)
        intake_name(intake, (enum quantity)i, quantity_name((enum quantity)i));
}

void intake_free(struct intake *intake)
{
    for (int i = 0; i < QUANTITY_COUNT; i++)
        free(intake->layers[i].readings);
    *intake = (struct intake){0};
}

void intake_name(struct intake *intake, enum quantity quantity,
                 const char *name)
{
    struct layer *layer = &intake->layers[quantity];

    text_escape(layer->name, sizeof layer->name, name, strlen(name),
                sizeof layer->name - 1);
}

void intake_refuse(struct intake *intake, enum quantity quantity,
                   const struct error *why)
{
    struct layer *layer = &intake->layers[quantity];

    if (layer->refused == 0)
        layer->first_refused = *why;
    if (layer->refused++ < TOLD_PER_LAYER)
        error_list_add(intake->refused, "%s", why->text);
}

static void grow(struct layer *layer, int size)
{
    layer->size = size;
    layer->readings =
        mem_resize(layer->readings, (size_t)size, sizeof *layer->readings);
}

void intake_expect(struct intake *intake, enum quantity quantity, int count)
{
    struct layer *layer = &intake->layers[quantity];

    if (count > layer->size - layer->count)
        grow(layer, layer->count + count);
}

static void add_reading(struct layer *layer, struct reading reading)
{
    if (layer->count == layer->size)
        grow(layer, layer->size ? 2 * layer->size : 64);
    reading.order = layer->count;
    layer->readings[layer->count++] = reading;
}

void intake_value(struct intake *intake, enum quantity quantity, utc_s start,
                  utc_s end, enum origin origin, double value)
{
    struct layer *layer = &intake->layers[quantity];
    char when[ISO_TIME_SIZE];
    struct error err;

    value = quantity_settle(quantity, value);
    if (quantity_check(quantity, value, &err) == 0) {
        add_reading(layer, (struct reading){start, end, value, origin, 0});
        return;
    }
    iso_time_utc(start, when);
    error_prefix(&err, _("%s at %s left out: "), layer->name, when);
    intake_refuse(intake, quantity, &err);
}

void intake_json(struct intake *intake, enum quantity quantity,
                 const struct unit_scale *scale, utc_s start, utc_s end,
                 enum origin origin, const cJSON *item)
{
    char when[ISO_TIME_SIZE];
    struct error err;

    if (!item || cJSON_IsNull(item))
        return;
    if (cJSON_IsNumber(item)) {
        intake_value(intake, quantity, start, end, origin,
                     unit_apply(scale, item->valuedouble));
        return;
    }
    iso_time_utc(start, when);
    error_set(&err, _("%s at %s left out: it is not a number"),
              intake->layers[quantity].name, when);
    intake_refuse(intake, quantity, &err);
}

/* First and last hour that the air temperature may reach. */
static int find_span(const struct intake *intake, utc_s *first, utc_s *last,
                     struct error *err)
{
    const struct layer *layer = &intake->layers[AIR_TEMP_C];
    utc_s low = layer->readings[0].start, high = low;

    for (int i = 0; i < layer->count; i++) {
        const struct reading *reading = &layer->readings[i];
        utc_s end =
            reading->end > reading->start ? reading->end - 1 : reading->start;

        low = reading->start < low ? reading->start : low;
        high = end > high ? end : high;
    }
    *first = hour_at_or_after(low - intake->snap_s);
    *last = hour_at_or_after(high + intake->snap_s + 1) - SECONDS_PER_HOUR;
    if (*last - *first >= (utc_s)SERIES_MAX_HOURS * SECONDS_PER_HOUR) {
        char from[ISO_TIME_SIZE], to[ISO_TIME_SIZE];

        iso_time_utc(low, from);
        iso_time_utc(high, to);
        return error_set(err,
                         _("%s reaches from %s to %s, more than two years"),
                         layer->name, from, to);
    }
    return 0;
}

/* Why the layer as a whole was left out, if it was: all services have the word
 * in their name of the layer. NULL if it is not told. */
static const char *temperature_left_out(const struct intake *intake)
{
    for (int i = 0; i < intake->refused->count; i++)
        if (strstr(intake->refused->items[i], "temperature") != NULL)
            return intake->refused->items[i];
    return NULL;
}

/* No air temperature, or most of it refused: then nothing else is believed. */
static int check_enough(const struct intake *intake, struct error *err)
{
    const struct layer *layer = &intake->layers[AIR_TEMP_C];

    if (layer->count == 0 && layer->refused == 0 &&
        temperature_left_out(intake) != NULL)
        return error_set(err,
                         _("the answer holds no usable air temperature: %s"),
                         temperature_left_out(intake));
    if (layer->count == 0 && layer->refused == 0)
        return error_set(err, _("the answer holds no air temperature: it is "
                                "missing, or without a value throughout"));
    if (layer->count == 0)
        return error_set(err,
                         _("the answer holds no usable air temperature: %s"),
                         layer->first_refused.text);
    if (layer->refused > layer->count)
        return error_set(err,
                         _("most of the air temperature is of no use (%d "
                           "values left out, %d good): %s"),
                         layer->refused, layer->count,
                         layer->first_refused.text);
    return 0;
}

void intake_tell_rest(struct intake *intake)
{
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        const struct layer *layer = &intake->layers[i];

        if (layer->refused > TOLD_PER_LAYER)
            error_list_add(intake->refused, _("%s: %d further values left out"),
                           layer->name, layer->refused - TOLD_PER_LAYER);
    }
}

struct series *intake_finish(struct intake *intake,
                             const struct series_source *source,
                             struct error *err)
{
    struct series *series;
    utc_s first, last;

    if (check_enough(intake, err) < 0 ||
        find_span(intake, &first, &last, err) < 0)
        return NULL;
    series = series_new(first, (int)((last - first) / SECONDS_PER_HOUR) + 1);
    series_add_source(series, source);
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        lay_layer(&intake->layers[i], series, (enum quantity)i, intake->snap_s,
                  intake->refused);
        lay_drop_jumps(intake, series, (enum quantity)i);
    }
    intake_tell_rest(intake);
    if (series_count(series, AIR_TEMP_C) == 0)
        error_set(err, _("no air temperature falls on a whole hour"));
    else if (check_enough(intake, err) == 0)
        return series;
    series_free(series);
    return NULL;
}
