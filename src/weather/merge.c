#include "weather/merge.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#include "weather/pressure.h"
#include "weather/sun.h"

enum { GAP_CLOSED_H = 3, MERGE_MAX_SERIES = 64, SOME_HOURS = 48 };

/* One series that is merged. */
struct input {
    const struct series *series;
    const uint8_t *origins; /* of the quantity at hand, by its hours */
    int from, to;           /* its rows that hold it lie in there */
    int offset_h;           /* its row is the output's row + this */
    int hours;
    int numbers[SERIES_MAX_SOURCES]; /* its sources' numbers in the output */
    bool stale[SERIES_MAX_SOURCES];
};

struct merging {
    struct series *out;
    const struct merge_place *place;
    struct input inputs[MERGE_MAX_SERIES];
    int count;
};

/* Number of the source in the output, added if it is not there yet. */
static int number_of(struct series *out, const struct series_source *source)
{
    for (int i = 0; i < series_source_count(out); i++) {
        const struct series_source *other = series_source(out, i);

        if (strcmp(other->name, source->name) == 0 &&
            other->issued == source->issued &&
            other->fetched == source->fetched &&
            other->has_elevation == source->has_elevation &&
            !(other->elevation_m < source->elevation_m) &&
            !(other->elevation_m > source->elevation_m))
            return i;
    }
    return series_add_source(out, source);
}

static utc_s newest_issue(const struct series *const *series, int count)
{
    utc_s newest = 0;

    for (int i = 0; i < count; i++)
        for (int k = 0; k < series_source_count(series[i]); k++) {
            utc_s issued = series_source(series[i], k)->issued;

            if (issued > newest)
                newest = issued;
        }
    return newest;
}

static void input_open(struct input *input, struct series *out,
                       const struct series *series, utc_s oldest)
{
    input->series = series;
    input->hours = series_hours(series);
    input->offset_h =
        (int)((series_start(out) - series_start(series)) / SECONDS_PER_HOUR);
    for (int i = 0; i < series_source_count(series); i++) {
        const struct series_source *source = series_source(series, i);
        utc_s known = source->issued ? source->issued : source->fetched;

        input->numbers[i] = number_of(out, source);
        input->stale[i] = known != 0 && known < oldest;
    }
}

/* The smaller, the better; negative for a missing value. What was measured or
 * analysed does not age: that rule is for forecasts. */
static int rank_of(const struct input *input, enum quantity quantity, int row)
{
    int source;

    if (row < 0 || row >= input->hours)
        return -1;
    switch ((enum origin)input->origins[row]) {
    case ORIGIN_NONE:
        return -1;
    case ORIGIN_OBSERVED:
        return 0;
    case ORIGIN_ANALYSED:
        return 1;
    default:
        source = series_value_source(input->series, quantity, row);
        return source >= 0 && input->stale[source] ? 3 : 2;
    }
}

static double lapsed(double temp_c, const struct series_source *source,
                     const struct merge_place *place)
{
    if (!source || !source->has_elevation)
        return temp_c;
    return temp_c -
           STANDARD_LAPSE_K_M * (place->elevation_m - source->elevation_m);
}

/* Air temperature of the output for moving pressures, or the standard one. */
static double temperature_there(const struct merging *merging, int hour)
{
    double temp_c;

    if (series_get(merging->out, AIR_TEMP_C, hour, &temp_c))
        return temp_c;
    return temperature_standard_c(merging->place->elevation_m);
}

static void take(struct merging *merging, const struct input *input,
                 enum quantity quantity, int hour)
{
    int row = hour + input->offset_h;
    int number = series_value_source(input->series, quantity, row);
    const struct series_source *source = series_source(input->series, number);
    double value = 0;

    series_get(input->series, quantity, row, &value);
    if (quantity == AIR_TEMP_C || quantity == DEW_POINT_C)
        value = lapsed(value, source, merging->place);
    if (quantity == PRESSURE_HPA && source && source->has_elevation)
        value = pressure_move_hpa(value, source->elevation_m,
                                  merging->place->elevation_m,
                                  temperature_there(merging, hour));
    series_set(merging->out, quantity, hour, value,
               series_origin(input->series, quantity, row),
               source ? input->numbers[number] : -1);
}

static void merge_hour(struct merging *merging, enum quantity quantity,
                       int hour)
{
    const struct input *best = NULL;
    int best_rank = 0;

    for (int i = 0; i < merging->count; i++) {
        const struct input *input = &merging->inputs[i];
        int rank = rank_of(input, quantity, hour + input->offset_h);

        if (rank >= 0 && (!best || rank < best_rank)) {
            best = input;
            best_rank = rank;
        }
    }
    if (best)
        take(merging, best, quantity, hour);
}

/* Pressure where only that at sea level is told. */
static void derive_pressure(struct merging *merging, int hour)
{
    struct series *out = merging->out;
    double sea_level_hpa;

    if (series_origin(out, PRESSURE_HPA, hour) != ORIGIN_NONE ||
        !series_get(out, SEA_LEVEL_PRESSURE_HPA, hour, &sea_level_hpa))
        return;
    series_set(out, PRESSURE_HPA, hour,
               pressure_move_hpa(sea_level_hpa, 0, merging->place->elevation_m,
                                 temperature_there(merging, hour)),
               series_origin(out, SEA_LEVEL_PRESSURE_HPA, hour),
               series_value_source(out, SEA_LEVEL_PRESSURE_HPA, hour));
}

/* Sun where only the cloud is told? */
static bool lacks_shortwave(const struct series *out, int hour)
{
    return series_origin(out, SHORTWAVE_W_M2, hour) == ORIGIN_NONE &&
           series_origin(out, CLOUD_PCT, hour) != ORIGIN_NONE;
}

/* Through the cloud's mean over the hour. */
static void derive_shortwave(struct series *out, int hour, double clear_w_m2)
{
    double cloud_pct = 0, next_pct;

    series_get(out, CLOUD_PCT, hour, &cloud_pct);
    if (series_get(out, CLOUD_PCT, hour + 1, &next_pct))
        cloud_pct = (cloud_pct + next_pct) / 2.0;
    series_set(out, SHORTWAVE_W_M2, hour,
               clear_w_m2 * sun_through_cloud(cloud_pct / 100.0),
               series_origin(out, CLOUD_PCT, hour),
               series_value_source(out, CLOUD_PCT, hour));
}

/* Hours that lack it, from `hour` on and one after another, some at once; the
 * first that is not among them. */
static int derive_shortwaves(struct merging *merging, int hour, int end)
{
    struct series *out = merging->out;
    double clear_w_m2[SOME_HOURS];
    int count = 0;

    while (count < SOME_HOURS && hour + count < end &&
           lacks_shortwave(out, hour + count))
        count++;
    if (count == 0)
        return hour + 1;
    sun_shortwave_hours(merging->place->latitude, merging->place->longitude,
                        series_time(out, hour), count, 0, clear_w_m2);
    for (int i = 0; i < count; i++)
        derive_shortwave(out, hour + i, clear_w_m2[i]);
    return hour + count;
}

/* Rows of the output. */
struct reach {
    int from, to;
};

static void input_take(struct input *input, enum quantity quantity)
{
    input->origins = series_origins(input->series, quantity);
    input->from = 0;
    input->to = input->hours;
    while (input->from < input->to &&
           input->origins[input->from] == ORIGIN_NONE)
        input->from++;
    while (input->to > input->from &&
           input->origins[input->to - 1] == ORIGIN_NONE)
        input->to--;
}

/* Where any input holds the quantity at hand. */
static struct reach reach_of(const struct merging *merging)
{
    int hours = series_hours(merging->out);
    struct reach reach = {hours, 0};

    for (int i = 0; i < merging->count; i++) {
        const struct input *input = &merging->inputs[i];
        int from = input->from - input->offset_h;
        int to = input->to - input->offset_h;

        if (input->from == input->to)
            continue;
        reach.from = from < reach.from ? from : reach.from;
        reach.to = to > reach.to ? to : reach.to;
    }
    reach.from = reach.from > 0 ? reach.from : 0;
    reach.to = reach.to < hours ? reach.to : hours;
    return reach;
}

/* Returns where any value may lie now. */
static struct reach merge_all(struct merging *merging)
{
    struct reach all = {series_hours(merging->out), 0};

    /* Air temperature comes first in the list: pressure needs it. */
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        struct reach reach;

        for (int k = 0; k < merging->count; k++)
            input_take(&merging->inputs[k], (enum quantity)i);
        reach = reach_of(merging);
        for (int hour = reach.from; hour < reach.to; hour++)
            merge_hour(merging, (enum quantity)i, hour);
        all.from = reach.from < all.from ? reach.from : all.from;
        all.to = reach.to > all.to ? reach.to : all.to;
    }
    return all;
}

struct series *merge_series(const struct series *const *series, int count,
                            const struct merge_place *place, utc_s start,
                            int hours, int stale_h)
{
    struct merging merging = {.out = series_new(start, hours), .place = place};
    struct reach reach;
    utc_s oldest =
        newest_issue(series, count) - (utc_s)stale_h * SECONDS_PER_HOUR;

    merging.count = count < MERGE_MAX_SERIES ? count : MERGE_MAX_SERIES;
    for (int i = 0; i < merging.count; i++)
        input_open(&merging.inputs[i], merging.out, series[i], oldest);
    reach = merge_all(&merging);
    series_interpolate(merging.out, GAP_CLOSED_H);
    for (int hour = reach.from; hour < reach.to; hour++)
        derive_pressure(&merging, hour);
    for (int hour = reach.from; hour < reach.to;)
        hour = derive_shortwaves(&merging, hour, reach.to);
    return merging.out;
}

bool merge_spread_k(const struct series *const *series, int count,
                    const struct merge_place *place, utc_s instant,
                    double *spread_k)
{
    double min_c = INFINITY, max_c = -INFINITY;
    int found = 0;

    for (int i = 0; i < count; i++) {
        int row = series_row(series[i], instant);
        int number = series_value_source(series[i], AIR_TEMP_C, row);
        double temp_c;

        if (!series_get(series[i], AIR_TEMP_C, row, &temp_c))
            continue;
        temp_c = lapsed(temp_c, series_source(series[i], number), place);
        min_c = fmin(min_c, temp_c);
        max_c = fmax(max_c, temp_c);
        found++;
    }
    if (found < 2)
        return false;
    *spread_k = max_c - min_c;
    return true;
}
