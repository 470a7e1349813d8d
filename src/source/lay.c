#include "source/lay.h"

#include <stdlib.h>

#include "base/memory.h"
#include "base/words.h"

enum {
    LINE_MAX_S = 5400,   /* METARs come hourly, some minutes early or late */
    COVERED_MIN_S = 3540 /* an hour less a minute is an hour */
};

utc_s hour_at_or_after(utc_s instant)
{
    utc_s past = instant % SECONDS_PER_HOUR;

    if (past > 0)
        past -= SECONDS_PER_HOUR;
    return instant - past;
}

/* What the intervals of a mean or sum have given to an hour. */
struct spread_hour {
    double total; /* the sum, or the mean times seconds */
    int covered_s;
    enum origin origin;
};

/* What lay_layer works on. */
struct laying {
    struct layer *layer;
    struct series *series;
    enum quantity quantity;
    struct error_list *notes;
    struct spread_hour *hours; /* of means and sums */
    int contradicted, overlapping;
};

static int compare_readings(const void *left, const void *right)
{
    const struct reading *a = left, *b = right;

    if (a->start != b->start)
        return a->start < b->start ? -1 : 1;
    if (a->end != b->end)
        return a->end > b->end ? -1 : 1;
    return a->order < b->order ? -1 : a->order > b->order;
}

/* The end of the readings from `from` on that are in order. */
static int ordered_until(const struct layer *layer, int from)
{
    int end = from + 1;

    while (end < layer->count && compare_readings(&layer->readings[end - 1],
                                                  &layer->readings[end]) <= 0)
        end++;
    return end < layer->count ? end : layer->count;
}

/* Two runs, each in order, [0, second) and [second, count). */
static void merge_runs(struct layer *layer, int second)
{
    struct reading *merged =
        mem_alloc((size_t)layer->count, sizeof *layer->readings);
    const struct reading *r = layer->readings;
    int left = 0, right = second;

    for (int i = 0; i < layer->count; i++) {
        bool from_left =
            left < second && (right == layer->count ||
                              compare_readings(&r[left], &r[right]) <= 0);

        merged[i] = from_left ? r[left++] : r[right++];
    }
    free(layer->readings);
    layer->readings = merged;
    layer->size = layer->count;
}

/* Most answers are in order as they come; what was shaped between their steps
 * follows in an order of its own. */
static void sort_readings(struct layer *layer)
{
    int second = ordered_until(layer, 0);

    if (second == layer->count)
        return;
    if (ordered_until(layer, second) == layer->count)
        merge_runs(layer, second);
    else
        qsort(layer->readings, (size_t)layer->count, sizeof *layer->readings,
              compare_readings);
}

static void tell_contradiction(struct laying *laying,
                               const struct reading *kept,
                               const struct reading *dropped)
{
    char when[ISO_TIME_SIZE];

    if (kept->value == dropped->value || laying->contradicted++ > 0)
        return;
    iso_time_utc(kept->start, when);
    error_list_add(laying->notes,
                   _("%s has two values for %s, %.4g and %.4g; the first is "
                     "kept, here and wherever else it happens"),
                   laying->layer->name, when, kept->value, dropped->value);
}

static void tell_overlap(struct laying *laying, const struct reading *reading)
{
    char when[ISO_TIME_SIZE];

    if (laying->overlapping++ > 0)
        return;
    iso_time_utc(reading->start, when);
    error_list_add(laying->notes,
                   _("%s has intervals that overlap, first at %s; where they "
                     "do, the one that begins later counts"),
                   laying->layer->name, when);
}

static void drop_doubles(struct laying *laying)
{
    struct layer *layer = laying->layer;
    int kept = 0;

    for (int i = 1; i < layer->count; i++) {
        const struct reading *last = &layer->readings[kept];
        const struct reading *next = &layer->readings[i];

        if (next->start == last->start && next->end == last->end)
            tell_contradiction(laying, last, next);
        else
            layer->readings[++kept] = *next;
    }
    layer->count = layer->count > 0 ? kept + 1 : 0;
}

static bool is_instant(const struct reading *reading)
{
    return reading->start == reading->end;
}

static void set_free_hour(struct laying *laying, utc_s instant, double value,
                          enum origin origin)
{
    int hour = series_row(laying->series, instant);

    if (hour >= 0 &&
        series_origin(laying->series, laying->quantity, hour) == ORIGIN_NONE)
        series_set(laying->series, laying->quantity, hour, value, origin, 0);
}

static bool is_on_hour(const struct reading *reading)
{
    return reading->start % SECONDS_PER_HOUR == 0;
}

/* The hour between two neighbours that are both off it. */
static void draw_line(struct laying *laying, const struct reading *a,
                      const struct reading *b)
{
    double span = (double)(b->start - a->start);

    if (!is_instant(a) || !is_instant(b) || span > LINE_MAX_S ||
        (is_on_hour(a) && span <= SECONDS_PER_HOUR))
        return;
    for (utc_s hour = hour_at_or_after(a->start); hour < b->start;
         hour += SECONDS_PER_HOUR) {
        double share = (double)(hour - a->start) / span;

        set_free_hour(laying, hour, a->value + share * (b->value - a->value),
                      a->origin == ORIGIN_OBSERVED ? ORIGIN_OBSERVED
                                                   : ORIGIN_INTERPOLATED);
    }
}

static void lay_instants(struct laying *laying, utc_s snap_s)
{
    const struct layer *layer = laying->layer;
    const struct reading *r = layer->readings;

    for (int i = 0; i < layer->count; i++)
        if (is_instant(&r[i]) && is_on_hour(&r[i]))
            set_free_hour(laying, r[i].start, r[i].value, r[i].origin);
    for (int i = 0; i + 1 < layer->count; i++)
        draw_line(laying, &r[i], &r[i + 1]);
    for (int i = 0; i < layer->count; i++) {
        utc_s next, last;

        if (!is_instant(&r[i]) ||
            (is_on_hour(&r[i]) && snap_s < SECONDS_PER_HOUR))
            continue;
        next = hour_at_or_after(r[i].start);
        last = next - SECONDS_PER_HOUR;
        if (next - r[i].start <= snap_s)
            set_free_hour(laying, next, r[i].value, r[i].origin);
        if (r[i].start - last <= snap_s)
            set_free_hour(laying, last, r[i].value, r[i].origin);
    }
}

/* Spreads a mean or sum over the hours that [start, end) touches. */
static void spread(struct laying *laying, const struct reading *reading,
                   utc_s start, utc_s end)
{
    bool sum = quantity_is_sum(laying->quantity);
    double per_s =
        sum ? reading->value / (double)(reading->end - reading->start)
            : reading->value;

    /* Layers of instants keep no hours. */
    if (laying->hours == NULL)
        return;
    while (start < end) {
        utc_s next = hour_at_or_after(start + 1);
        int hour = series_row(laying->series, start);

        next = next < end ? next : end;
        if (hour >= 0) {
            laying->hours[hour].total += per_s * (double)(next - start);
            laying->hours[hour].covered_s += (int)(next - start);
            laying->hours[hour].origin = reading->origin;
        }
        start = next;
    }
}

/* A piece of time in which one reading counts alone. */
static void lay_piece(struct laying *laying, const struct reading *reading,
                      utc_s start, utc_s end)
{
    utc_s first = series_start(laying->series);
    utc_s last = series_time(laying->series, series_hours(laying->series));

    start = start > first ? start : first;
    end = end < last ? end : last;
    if (quantity_is_over_hour(laying->quantity)) {
        spread(laying, reading, start, end);
        return;
    }
    for (utc_s hour = hour_at_or_after(start); hour < end;
         hour += SECONDS_PER_HOUR)
        set_free_hour(laying, hour, reading->value, reading->origin);
}

/* Cuts the sorted intervals into pieces: a stack holds those that are still
 * open, the one that counts on top. */
static void lay_intervals(struct laying *laying)
{
    const struct layer *layer = laying->layer;
    const struct reading *r = layer->readings;
    int *open = mem_alloc((size_t)layer->count + 1, sizeof *open);
    int depth = 0;
    utc_s at = 0;

    for (int i = 0; i <= layer->count; i++) {
        utc_s until = i < layer->count ? r[i].start : INT64_MAX;

        if (i < layer->count && is_instant(&r[i]))
            continue;
        for (; depth > 0 && r[open[depth - 1]].end <= until; depth--) {
            const struct reading *top = &r[open[depth - 1]];

            if (top->end > at)
                lay_piece(laying, top, at, top->end);
            at = top->end > at ? top->end : at;
        }
        if (i == layer->count)
            break;
        if (depth > 0) {
            tell_overlap(laying, &r[i]);
            lay_piece(laying, &r[open[depth - 1]], at, until);
        }
        at = until;
        open[depth++] = i;
    }
    free(open);
}

static void settle_spread(struct laying *laying)
{
    bool sum = quantity_is_sum(laying->quantity);

    for (int i = 0; i < series_hours(laying->series); i++) {
        const struct spread_hour *hour = &laying->hours[i];

        if (hour->covered_s >= COVERED_MIN_S)
            series_set(laying->series, laying->quantity, i,
                       sum ? hour->total : hour->total / hour->covered_s,
                       hour->origin, 0);
    }
}

void lay_layer(struct layer *layer, struct series *series,
               enum quantity quantity, utc_s snap_s, struct error_list *notes)
{
    struct laying laying = {layer, series, quantity, notes, NULL, 0, 0};

    if (layer->count == 0)
        return;
    sort_readings(layer);
    drop_doubles(&laying);
    if (!quantity_is_over_hour(quantity)) {
        lay_instants(&laying, snap_s);
        lay_intervals(&laying);
        return;
    }
    laying.hours =
        mem_alloc((size_t)series_hours(series), sizeof *laying.hours);
    lay_intervals(&laying);
    settle_spread(&laying);
    free(laying.hours);
}
