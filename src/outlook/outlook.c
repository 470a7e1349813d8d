#include "outlook/outlook.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "outlook/drivers.h"
#include "outlook/flow.h"
#include "outlook/quantiles.h"
#include "outlook/window.h"

enum { MOST_DAY_HOURS = 26 };
static const double KNOWN_SHARE = 0.9;
static const double KNOWN_SHARE_OF_NIGHT = 0.5;

/* Lower bounds of weeping, fair, good and big run; see outlook.h. */
static const double bounds_l[] = {0.1, OUTLOOK_RUN_L_PER_TAP, 2.0, 4.5};

enum strength outlook_strength(double sap_l_per_tap, enum gathering gathering)
{
    double scale = gathering == GATHERING_VACUUM ? 2.0 : 1.0;
    int strength = STRENGTH_NONE;

    for (size_t i = 0; i < sizeof bounds_l / sizeof *bounds_l; i++)
        if (sap_l_per_tap >= scale * bounds_l[i])
            strength = (int)i + STRENGTH_WEEPING;
    return (enum strength)strength;
}

/* What a day is scored from. */
struct scoring {
    struct outlook *outlook;
    const struct tree_site *site;
    const struct zone *zone;
    const struct series *series;
    const struct series *const *others;
    int other_count;
    struct flow *flow;
    utc_s now;
    double *sums; /* one a member */
};

/* Hourly quantiles of the flow. */
static void fill_hours(struct outlook *outlook, const struct flow *flow)
{
    int first = flow->first, rows = flow->hours - first;

    for (int row = 0; row < first; row++) {
        double sap_l = flow->control[row].sap_l_per_tap;

        outlook->sap_l_per_tap_p10[row] = sap_l;
        outlook->sap_l_per_tap[row] = sap_l;
        outlook->sap_l_per_tap_p90[row] = sap_l;
    }
    quantiles_of_hours(flow->by_member, (size_t)rows, flow->member_count, rows,
                       outlook->sap_l_per_tap_p10 + first,
                       outlook->sap_l_per_tap + first,
                       outlook->sap_l_per_tap_p90 + first);
}

/* Hourly quantiles of the members' air; hours that they do not reach, and
 * those in which they do not yet part, take the series' own. */
static void fill_air(struct outlook *outlook, const struct series *series,
                     const struct members *members, int first)
{
    size_t hours = (size_t)outlook->hours;
    int64_t offset = (members->start - outlook->start) / SECONDS_PER_HOUR;
    int64_t from = offset > first ? offset : first;
    int64_t to = offset + members->hours;
    double *low = mem_alloc(hours, sizeof *low);
    double *high = mem_alloc(hours, sizeof *high);

    for (int row = 0; row < outlook->hours; row++) {
        series_get(series, AIR_TEMP_C, row, &low[row]);
        high[row] = low[row];
    }
    if (to > outlook->hours)
        to = outlook->hours;
    if (from < to)
        quantiles_of_hours(members->air_temp_c + (from - offset),
                           (size_t)members->hours, members->count,
                           (int)(to - from), low + from, NULL, high + from);
    outlook->air_temp_c_p10 = low;
    outlook->air_temp_c_p90 = high;
}

static void fill_volume(const struct scoring *scoring, struct outlook_day *day,
                        const struct day_rows *rows)
{
    const struct flow *flow = scoring->flow;
    int count = flow->member_count, runs = 0;

    for (int i = 0; i < count; i++) {
        scoring->sums[i] = flow_sum(flow, i, rows->from, rows->to);
        runs += scoring->sums[i] >= OUTLOOK_RUN_L_PER_TAP;
    }
    flow_sort(scoring->sums, count);
    day->sap_l_per_tap_p10 = flow_quantile(scoring->sums, count, 0.1);
    day->sap_l_per_tap_p50 = flow_quantile(scoring->sums, count, 0.5);
    day->sap_l_per_tap_p90 = flow_quantile(scoring->sums, count, 0.9);
    day->chance = (double)runs / count;
    day->strength =
        outlook_strength(day->sap_l_per_tap_p50, scoring->site->gathering);
}

static void fill_window(const struct scoring *scoring, struct outlook_day *day,
                        const struct day_rows *rows)
{
    double floor_l_h = window_floor_l_h(scoring->site->gathering);
    struct window window;

    if (day->strength == STRENGTH_NONE ||
        !window_find(scoring->outlook->sap_l_per_tap, rows->from, rows->to,
                     floor_l_h, &window))
        return;
    day->has_window = true;
    day->run_start = series_time(scoring->series, window.first);
    day->run_end = series_time(scoring->series, window.end);
    day->run_peak = series_time(scoring->series, window.peak);
}

/* The member's window in the day, as hours from the first row of the series. */
static bool find_member_window(const struct scoring *scoring, int member,
                               const struct day_rows *rows,
                               struct window *window)
{
    double flow_l_h[MOST_DAY_HOURS];
    int hours = rows->to - rows->from;

    if (hours > MOST_DAY_HOURS)
        hours = MOST_DAY_HOURS;
    for (int i = 0; i < hours; i++)
        flow_l_h[i] = flow_at(scoring->flow, member, rows->from + i);
    if (!window_find(flow_l_h, 0, hours,
                     window_floor_l_h(scoring->site->gathering), window))
        return false;
    window->first += rows->from;
    window->end += rows->from;
    return true;
}

/* The nearest hour to the quantile of rows. */
static utc_s row_quantile(const struct scoring *scoring, double *rows,
                          int count, double share)
{
    flow_sort(rows, count);
    return series_time(scoring->series,
                       (int)lround(flow_quantile(rows, count, share)));
}

static void fill_window_span(const struct scoring *scoring,
                             struct outlook_day *day,
                             const struct day_rows *rows)
{
    int members = scoring->flow->member_count, found = 0;
    double *starts = mem_alloc((size_t)members, sizeof *starts);
    double *ends = mem_alloc((size_t)members, sizeof *ends);
    struct window window;

    for (int i = 0; day->strength > STRENGTH_NONE && i < members; i++) {
        if (!find_member_window(scoring, i, rows, &window))
            continue;
        starts[found] = window.first;
        ends[found++] = window.end;
    }
    day->has_window_span = found > 1 && 2 * found >= members;
    if (day->has_window_span) {
        day->run_start_p10 = row_quantile(scoring, starts, found, 0.1);
        day->run_start_p90 = row_quantile(scoring, starts, found, 0.9);
        day->run_end_p10 = row_quantile(scoring, ends, found, 0.1);
        day->run_end_p90 = row_quantile(scoring, ends, found, 0.9);
    }
    free(starts);
    free(ends);
}

static bool night_known(const struct series *series, const struct zone *zone,
                        struct civil_date date, const struct day_rows *rows)
{
    struct civil_date before = civil_date_add(date, -1);
    int hours = rows->from - rows->noon_before;

    if (series_start(series) > zone_instant(zone, before, 12, 0, 0))
        return true; /* the record begins in that night */
    return drivers_known_hours(series, rows->noon_before, rows->from) >=
           KNOWN_SHARE_OF_NIGHT * hours;
}

static void score_day(const struct scoring *scoring, struct outlook_day *day,
                      struct civil_date date)
{
    const struct series *series = scoring->series;
    struct day_rows rows = day_rows_of(series, scoring->zone, date);
    utc_s start = zone_day_start(scoring->zone, date);
    utc_s end = zone_day_start(scoring->zone, civil_date_add(date, 1));

    day->date = date;
    day->day_hours = (int)((end - start) / SECONDS_PER_HOUR);
    day->past = end <= scoring->now;
    day->known_hours = drivers_known_hours(series, rows.from, rows.to);
    day->known = day->known_hours >= KNOWN_SHARE * day->day_hours &&
                 night_known(series, scoring->zone, date, &rows);
    if (!day->known)
        return;
    fill_volume(scoring, day, &rows);
    fill_window(scoring, day, &rows);
    fill_window_span(scoring, day, &rows);
    drivers_fill(day, &rows, series, scoring->flow->control);
    drivers_fill_spread(day, &rows, series, scoring->site, scoring->others,
                        scoring->other_count);
}

static struct outlook *outlook_new(const struct tree_model *model,
                                   const struct series *series, int day_count,
                                   int member_count)
{
    struct outlook *outlook = mem_alloc(1, sizeof *outlook);
    size_t hours = (size_t)series_hours(series);

    outlook->count = day_count > 0 ? day_count : 0;
    outlook->days =
        mem_alloc((size_t)outlook->count + 1, sizeof *outlook->days);
    outlook->member_count = member_count;
    outlook->start = series_start(series);
    outlook->hours = series_hours(series);
    outlook->sap_l_per_tap = mem_alloc(hours, sizeof(double));
    outlook->sap_l_per_tap_p10 = mem_alloc(hours, sizeof(double));
    outlook->sap_l_per_tap_p90 = mem_alloc(hours, sizeof(double));
    snprintf(outlook->model_name, sizeof outlook->model_name, "%s",
             tree_model_name(model));
    snprintf(outlook->model_version, sizeof outlook->model_version, "%s",
             tree_model_version(model));
    snprintf(outlook->model_digest, sizeof outlook->model_digest, "%s",
             tree_model_digest(model));
    return outlook;
}

struct outlook *
outlook_make(const struct tree_model *model, const struct tree_site *site,
             const struct zone *zone, const struct series *series,
             const struct members *members, const struct series *const *others,
             int other_count, utc_s now, struct civil_date first_day,
             int day_count)
{
    struct scoring scoring = {
        .site = site,
        .zone = zone,
        .series = series,
        .others = others,
        .other_count = others ? other_count : 0,
        .flow = flow_run(model, site, series, members, now),
        .now = now,
    };
    int member_count = scoring.flow->member_count;

    scoring.outlook = outlook_new(model, series, day_count, member_count);
    scoring.sums = mem_alloc((size_t)member_count, sizeof *scoring.sums);
    fill_hours(scoring.outlook, scoring.flow);
    if (members != NULL)
        fill_air(scoring.outlook, series, members, scoring.flow->first);
    for (int i = 0; i < scoring.outlook->count; i++)
        score_day(&scoring, &scoring.outlook->days[i],
                  civil_date_add(first_day, i));
    free(scoring.sums);
    scoring.outlook->member_first = scoring.flow->first;
    scoring.outlook->member_sap_l_per_tap = scoring.flow->by_member;
    scoring.flow->by_member = NULL;
    flow_free(scoring.flow);
    return scoring.outlook;
}

void outlook_free(struct outlook *outlook)
{
    if (!outlook)
        return;
    free(outlook->days);
    free(outlook->sap_l_per_tap);
    free(outlook->sap_l_per_tap_p10);
    free(outlook->sap_l_per_tap_p90);
    free(outlook->air_temp_c_p10);
    free(outlook->air_temp_c_p90);
    free(outlook->member_sap_l_per_tap);
    free(outlook);
}

double outlook_member_l_per_tap(const struct outlook *outlook, int member,
                                int row)
{
    int first = outlook->member_first, width = outlook->hours - first;

    if (row < 0 || row >= outlook->hours)
        return 0;
    if (outlook->member_sap_l_per_tap == NULL || row < first)
        return outlook->sap_l_per_tap[row];
    return outlook->member_sap_l_per_tap[member * width + row - first];
}
