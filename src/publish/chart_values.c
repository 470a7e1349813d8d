/* What a chart draws, hour by hour. */
#include <math.h>

#include "base/units.h"
#include "publish/chart_frame.h"

/* The row of an outlook that holds an hour, or -1. */
static int outlook_row(const struct outlook *outlook, utc_s hour)
{
    utc_s row = (hour - outlook->start) / SECONDS_PER_HOUR;

    return hour < outlook->start || row >= outlook->hours ? -1 : (int)row;
}

static void fill_air(struct chart *chart, enum chart_quantity quantity)
{
    const struct bulletin *bulletin = chart->bulletin;
    const struct bulletin_bush *bush = NULL;
    const double *values;
    bool us = chart->style->units == UNITS_US;

    for (int i = 0; i < bulletin->bush_count && bush == NULL; i++)
        if (bulletin->bushes[i].air_temp_c != NULL)
            bush = &bulletin->bushes[i];
    if (bush == NULL)
        return;
    values = quantity == CHART_AIR       ? bush->air_temp_c
             : quantity == CHART_AIR_P10 ? bush->outlook->air_temp_c_p10
                                         : bush->outlook->air_temp_c_p90;
    for (int hour = 0; values != NULL && hour <= chart->hours; hour++) {
        int row = outlook_row(bush->outlook, chart_hour(chart, hour));

        if (row < 0 || !bush->air_known[row])
            continue;
        chart->known[quantity][hour] = true;
        chart->values[quantity][hour] =
            us ? f_from_c(values[row]) : values[row];
    }
}

/* A bush gives no figure for an hour past its days with weather. */
static bool flow_known(const struct bulletin_bush *bush, struct civil_date date)
{
    const struct outlook_day *day = bulletin_bush_day(bush, date);

    return day != NULL && day->known;
}

static void add_flow(struct chart *chart, const struct bulletin_bush *bush,
                     int hour)
{
    const struct outlook *outlook = bush->outlook;
    const double *const values[] = {outlook->sap_l_per_tap,
                                    outlook->sap_l_per_tap_p10,
                                    outlook->sap_l_per_tap_p90};
    int row = outlook_row(outlook, chart_hour(chart, hour));

    for (int i = 0; row >= 0 && i < 3; i++) {
        if (values[i] == NULL)
            continue;
        chart->values[CHART_FLOW + i][hour] += bush->taps * values[i][row];
        chart->known[CHART_FLOW + i][hour] = true;
    }
}

/* The first whole hour of the chart that lies in the day. */
static int first_hour(const struct chart *chart, struct civil_date date)
{
    utc_s past = chart_midnight(chart->bulletin, date) - chart->from;

    return (int)((past + SECONDS_PER_HOUR - 1) / SECONDS_PER_HOUR);
}

/* Ten days, and what of the next the last hour begins. */
static void fill_flow(struct chart *chart, const struct bulletin_bush *bush)
{
    int hour = 0;

    for (int day = 0; day <= CHART_DAYS; day++) {
        struct civil_date date = civil_date_add(chart->first, day);
        int end = first_hour(chart, civil_date_add(date, 1));
        bool known = flow_known(bush, date);

        for (; hour < end && hour <= chart->hours; hour++)
            if (known)
                add_flow(chart, bush, hour);
    }
}

static void scale_flow(struct chart *chart, enum chart_quantity quantity)
{
    for (int hour = 0; hour <= chart->hours; hour++)
        chart->values[quantity][hour] /= L_PER_US_GALLON;
}

/* The plan's levels are those at the end of each hour. */
static void fill_level(struct chart *chart, enum chart_quantity quantity)
{
    const struct bulletin_plan *plan = &chart->bulletin->plan;
    bool tanks = quantity == CHART_TANKS;
    const double *levels_l = tanks ? plan->tanks_l : plan->buckets_l;
    double hold_l = tanks ? plan->tanks_hold_l : plan->buckets_hold_l;

    if (levels_l == NULL || hold_l <= 0)
        return;
    for (int hour = 0; hour <= chart->hours; hour++) {
        utc_s at = chart_hour(chart, hour);
        utc_s row = (at - plan->start) / SECONDS_PER_HOUR - 1;

        if (at <= plan->start || row >= plan->hours)
            continue;
        chart->known[quantity][hour] = true;
        chart->values[quantity][hour] = 100 * levels_l[row] / hold_l;
    }
}

static void fill(struct chart *chart)
{
    for (int i = CHART_AIR; i <= CHART_AIR_P90; i++)
        fill_air(chart, (enum chart_quantity)i);
    for (int i = 0; i < chart->bulletin->bush_count; i++)
        fill_flow(chart, &chart->bulletin->bushes[i]);
    for (int i = CHART_FLOW; i <= CHART_FLOW_P90; i++)
        if (chart->style->units == UNITS_US)
            scale_flow(chart, (enum chart_quantity)i);
    fill_level(chart, CHART_TANKS);
    fill_level(chart, CHART_BUCKETS);
}

void chart_begin(struct chart *chart)
{
    const struct bulletin *bulletin = chart->bulletin;
    utc_s hours;

    chart->first = bulletin_date(bulletin, chart->now);
    chart->from = chart_midnight(bulletin, chart->first);
    chart->to =
        chart_midnight(bulletin, civil_date_add(chart->first, CHART_DAYS));
    hours = (chart->to - chart->from) / SECONDS_PER_HOUR;
    chart->hours = hours < CHART_ROWS ? (int)hours : CHART_ROWS - 1;
    fill(chart);
}
