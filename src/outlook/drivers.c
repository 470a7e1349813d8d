#include "outlook/drivers.h"

#include <math.h>

#include "weather/merge.h"

static int row_from(const struct series *series, utc_s instant)
{
    return grid_row_from(series_start(series), series_hours(series), instant);
}

struct day_rows day_rows_of(const struct series *series,
                            const struct zone *zone, struct civil_date date)
{
    struct civil_date before = civil_date_add(date, -1);
    struct civil_date after = civil_date_add(date, 1);
    struct day_rows rows = {
        .from = row_from(series, zone_day_start(zone, date)),
        .to = row_from(series, zone_day_start(zone, after)),
        .noon_before = row_from(series, zone_instant(zone, before, 12, 0, 0)),
        .noon = row_from(series, zone_instant(zone, date, 12, 0, 0)),
    };

    return rows;
}

int drivers_known_hours(const struct series *series, int from, int to)
{
    int known = 0;

    for (int row = from; row < to; row++)
        known += series_origin(series, AIR_TEMP_C, row) != ORIGIN_NONE;
    return known;
}

static void fill_air(struct outlook_day *day, const struct day_rows *rows,
                     const struct series *series)
{
    double temp_c, sum = 0;
    int known = 0;

    for (int row = rows->from; row < rows->to; row++) {
        if (!series_get(series, AIR_TEMP_C, row, &temp_c))
            continue;
        day->min_c = known ? fmin(day->min_c, temp_c) : temp_c;
        day->max_c = known ? fmax(day->max_c, temp_c) : temp_c;
        day->thaw_degree_hours += fmax(0.0, temp_c);
        sum += temp_c;
        known++;
    }
    day->mean_c = known ? sum / known : 0;
    for (int row = rows->noon_before; row < rows->noon; row++)
        if (series_get(series, AIR_TEMP_C, row, &temp_c))
            day->freeze_degree_hours += fmax(0.0, -temp_c);
}

static void fill_night(struct outlook_day *day, const struct day_rows *rows,
                       const struct tree_hour *control)
{
    for (int row = rows->noon_before; row < rows->noon; row++) {
        const struct tree_hour *hour = &control[row];

        day->branch_ice_max =
            fmax(day->branch_ice_max, (double)hour->branch_ice);
        day->trunk_ice_max = fmax(day->trunk_ice_max, (double)hour->trunk_ice);
        if (row > rows->noon_before)
            day->recharge +=
                fmax(0.0, (double)hour->charge - (double)hour[-1].charge);
    }
}

static void fill_wood(struct outlook_day *day, const struct day_rows *rows,
                      const struct tree_hour *control)
{
    if (rows->from >= rows->to)
        return;
    day->charge = (double)control[rows->from].charge;
    day->taphole = (double)control[rows->to - 1].taphole;
    day->wood_min_c = day->wood_max_c = (double)control[rows->from].wood_temp_c;
    for (int row = rows->from; row < rows->to; row++) {
        double wood_c = (double)control[row].wood_temp_c;

        day->wood_min_c = fmin(day->wood_min_c, wood_c);
        day->wood_max_c = fmax(day->wood_max_c, wood_c);
    }
}

void drivers_fill(struct outlook_day *day, const struct day_rows *rows,
                  const struct series *series, const struct tree_hour *control)
{
    fill_air(day, rows, series);
    fill_night(day, rows, control);
    fill_wood(day, rows, control);
    day->rule_a_l_per_tap = day_rule_a_l_per_tap(day->min_c, day->max_c);
    day->rule_b_l_per_tap = day_rule_b_l_per_tap(day->min_c, day->max_c);
}

void drivers_fill_spread(struct outlook_day *day, const struct day_rows *rows,
                         const struct series *series,
                         const struct tree_site *site,
                         const struct series *const *others, int other_count)
{
    struct merge_place place = {site->latitude, site->longitude,
                                site->elevation_m};
    double spread_k;

    for (int row = rows->from; row < rows->to; row++) {
        if (!merge_spread_k(others, other_count, &place,
                            series_time(series, row), &spread_k))
            continue;
        day->has_spread = true;
        day->source_spread_k = fmax(day->source_spread_k, spread_k);
    }
}
