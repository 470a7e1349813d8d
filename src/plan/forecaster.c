#include "plan/forecaster.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "outlook/outlook.h"
#include "weather/forcing.h"
#include "weather/members.h"

static const struct forcing *bush_forcing(struct forecaster *forecaster, int i)
{
    const struct forecaster_bush *bush = &forecaster->bushes[i];

    if (forecaster->forcing[i] == NULL)
        forecaster->forcing[i] = forcing_from_series(
            forecaster->weather, bush->site.latitude, bush->site.longitude);
    return forecaster->forcing[i];
}

/* The bush as it stands an hour before the row, under the weather as it came:
 * forecasts part from there. Borrowed. */
static const struct tree_course *bush_past(struct forecaster *forecaster, int i,
                                           int row)
{
    const struct forecaster_bush *bush = &forecaster->bushes[i];
    const struct forcing *forcing = bush_forcing(forecaster, i);
    struct tree_course **past = &forecaster->past[i];
    int to = row > 0 ? row - 1 : 0;
    struct tree_hour *hours;

    if (*past != NULL && tree_course_row(*past) > to) {
        tree_course_free(*past);
        *past = NULL;
    }
    if (*past == NULL)
        *past = tree_course_begin(bush->model, &bush->site, forcing);
    hours = mem_alloc((size_t)to + 1 - (size_t)tree_course_row(*past),
                      sizeof *hours);
    tree_course_run(*past, forcing, to, hours);
    free(hours);
    return *past;
}

/* Adds a bush's flow over [row, row + hours) of the weather to its stream. */
static void add_flow(struct forecaster *forecaster, int i,
                     const struct forcing *forcing, int row, int hours,
                     double *sap_l)
{
    const struct forecaster_bush *bush = &forecaster->bushes[i];
    struct tree_course *course =
        tree_course_copy(bush_past(forecaster, i, row));
    int skipped = row - tree_course_row(course);
    struct tree_hour *out =
        mem_alloc((size_t)skipped + (size_t)hours, sizeof *out);
    double *stream = sap_l + bush->stream * hours;

    tree_course_run(course, forcing, row + hours, out);
    for (int hour = 0; hour < hours; hour++)
        if (bush->pulled_at == 0 ||
            forcing->start + (utc_s)(row + hour) * SECONDS_PER_HOUR <
                bush->pulled_at)
            stream[hour] += out[skipped + hour].sap_l_per_tap * bush->taps;
    tree_course_free(course);
    free(out);
}

/* All members' flow, [member][stream][hour]. */
static void add_members(struct forecaster *forecaster,
                        const struct series *forecast,
                        const struct members *courses, int row, int hours,
                        double *sap_l)
{
    size_t cells = (size_t)hours * (size_t)forecaster->streams;

    for (int i = 0; i < forecaster->bush_count; i++) {
        const struct tree_site *site = &forecaster->bushes[i].site;
        struct forcing *forcing =
            forcing_from_series(forecast, site->latitude, site->longitude);

        for (int member = 0; member < courses->count; member++) {
            forcing_set_member(forcing, courses, member);
            add_flow(forecaster, i, forcing, row, hours,
                     sap_l + (size_t)member * cells);
        }
        forcing_free(forcing);
    }
}

/* The forecast as issued: the weather that came with one course of error. */
static struct series *issued(const struct forecaster *forecaster, utc_s now)
{
    struct series *series = series_copy(forecaster->weather);
    struct members *errors = members_from_error_growth(forecaster->weather, now,
                                                       2, forecaster->seed + 1);
    struct series_source source = {.name = "forecast"};
    int number = series_add_source(series, &source);

    for (int hour = 0; hour < errors->hours; hour++) {
        double came_c;

        if (series_get(forecaster->weather, AIR_TEMP_C, hour, &came_c))
            series_set(series, AIR_TEMP_C, hour,
                       errors->air_temp_c[errors->hours + hour],
                       ORIGIN_FORECAST, number);
    }
    members_free(errors);
    return series;
}

void forecaster_forecast(void *self, utc_s now, int hours, int members,
                         double *air_temp_c, double *shortwave_w_m2,
                         double *sap_l)
{
    struct forecaster *forecaster = self;
    struct series *forecast = issued(forecaster, now);
    struct members *courses =
        members_from_error_growth(forecast, now, members, forecaster->seed);
    struct forcing *control =
        forcing_from_series(forecast, forecaster->bushes[0].site.latitude,
                            forecaster->bushes[0].site.longitude);
    int row = series_row(forecaster->weather, now);
    size_t cells = (size_t)hours * (size_t)forecaster->streams;

    memset(sap_l, 0, (size_t)members * cells * sizeof *sap_l);
    add_members(forecaster, forecast, courses, row, hours, sap_l);
    memcpy(air_temp_c, control->air_temp_c + row,
           (size_t)hours * sizeof *air_temp_c);
    memcpy(shortwave_w_m2, control->shortwave_w_m2 + row,
           (size_t)hours * sizeof *shortwave_w_m2);
    forcing_free(control);
    members_free(courses);
    series_free(forecast);
}

static double *copy_from(const double *values, int row, int hours)
{
    double *copy = mem_alloc((size_t)hours + 1, sizeof *copy);

    memcpy(copy, values + row, (size_t)hours * sizeof *copy);
    return copy;
}

int forecaster_season(struct forecaster *forecaster, const struct zone *zone,
                      utc_s from, utc_s to, struct plan_season *season)
{
    const struct series *weather = forecaster->weather;
    utc_s begin = series_start(weather);
    utc_s end = begin + (utc_s)series_hours(weather) * SECONDS_PER_HOUR;
    utc_s first =
        zone_day_start(zone, civil_date_add(zone_date(zone, begin), 1));
    const struct forcing *forcing = bush_forcing(forecaster, 0);
    int row, hours;

    memset(season, 0, sizeof *season);
    from = from > first ? from : first;
    to = to < end ? to : end;
    if (to - from < SECONDS_PER_DAY)
        return -1;
    row = series_row(weather, from);
    hours = (int)((to - from) / SECONDS_PER_HOUR);
    season->zone = zone;
    season->start = from;
    season->hours = hours;
    season->air_temp_c = copy_from(forcing->air_temp_c, row, hours);
    season->shortwave_w_m2 = copy_from(forcing->shortwave_w_m2, row, hours);
    season->sap_l = mem_alloc((size_t)hours * (size_t)forecaster->streams + 1,
                              sizeof *season->sap_l);
    for (int i = 0; i < forecaster->bush_count; i++) {
        add_flow(forecaster, i, bush_forcing(forecaster, i), row, hours,
                 season->sap_l);
        season->run_l += OUTLOOK_RUN_L_PER_TAP * forecaster->bushes[i].taps;
    }
    return 0;
}

void forecaster_end(struct forecaster *forecaster)
{
    for (int i = 0; i < forecaster->bush_count; i++) {
        forcing_free(forecaster->forcing[i]);
        tree_course_free(forecaster->past[i]);
        forecaster->forcing[i] = NULL;
        forecaster->past[i] = NULL;
    }
}

void plan_season_free(struct plan_season *season)
{
    free(season->air_temp_c);
    free(season->shortwave_w_m2);
    free(season->sap_l);
    memset(season, 0, sizeof *season);
}
