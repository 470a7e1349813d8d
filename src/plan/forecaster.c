#include "plan/forecaster.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "weather/forcing.h"
#include "weather/members.h"

/* Adds a bush's flow over [row, row + hours) of the weather to its stream. */
static void add_flow(const struct forecaster_bush *bush,
                     const struct forcing *forcing, int row, int hours,
                     double *sap_l)
{
    struct tree_hour *course =
        mem_alloc((size_t)forcing->hours, sizeof *course);
    double *stream = sap_l + bush->stream * hours;

    tree_run(bush->model, &bush->site, forcing, course);
    for (int hour = 0; hour < hours && row + hour < forcing->hours; hour++)
        stream[hour] += course[row + hour].sap_l_per_tap * bush->taps;
    free(course);
}

static void add_all(const struct forecaster *forecaster,
                    const struct members *members, int member, int row,
                    int hours, double *sap_l)
{
    for (int i = 0; i < forecaster->bush_count; i++) {
        const struct forecaster_bush *bush = &forecaster->bushes[i];
        struct forcing *forcing =
            members == NULL
                ? forcing_from_series(forecaster->weather, bush->site.latitude,
                                      bush->site.longitude)
                : forcing_from_member(forecaster->weather, members, member,
                                      bush->site.latitude,
                                      bush->site.longitude);

        add_flow(bush, forcing, row, hours, sap_l);
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

    for (int hour = 0; hour < errors->hours; hour++)
        series_set(series, AIR_TEMP_C, hour,
                   errors->air_temp_c[errors->hours + hour], ORIGIN_FORECAST,
                   number);
    members_free(errors);
    return series;
}

void forecaster_forecast(void *self, utc_s now, int hours, int members,
                         double *air_temp_c, double *shortwave_w_m2,
                         double *sap_l)
{
    const struct forecaster *forecaster = self;
    struct series *forecast = issued(forecaster, now);
    struct members *courses =
        members_from_error_growth(forecast, now, members, forecaster->seed);
    struct forcing *control =
        forcing_from_series(forecast, forecaster->bushes[0].site.latitude,
                            forecaster->bushes[0].site.longitude);
    int row = series_row(forecaster->weather, now);
    size_t cells = (size_t)hours * (size_t)forecaster->streams;

    memset(sap_l, 0, (size_t)members * cells * sizeof *sap_l);
    for (int member = 0; member < members; member++)
        add_all(forecaster, courses, member, row, hours,
                sap_l + (size_t)member * cells);
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

void forecaster_season(const struct forecaster *forecaster,
                       const struct zone *zone, struct plan_season *season)
{
    struct civil_date first =
        zone_date(zone, series_start(forecaster->weather));
    utc_s start = zone_day_start(zone, civil_date_add(first, 1));
    int row = series_row(forecaster->weather, start);
    int hours = series_hours(forecaster->weather) - row;
    struct forcing *forcing = forcing_from_series(
        forecaster->weather, forecaster->bushes[0].site.latitude,
        forecaster->bushes[0].site.longitude);
    double *sap_l = mem_alloc((size_t)hours * (size_t)forecaster->streams + 1,
                              sizeof *sap_l);

    add_all(forecaster, NULL, 0, row, hours, sap_l);
    season->zone = zone;
    season->start = start;
    season->hours = hours;
    season->air_temp_c = copy_from(forcing->air_temp_c, row, hours);
    season->shortwave_w_m2 = copy_from(forcing->shortwave_w_m2, row, hours);
    season->sap_l = sap_l;
    forcing_free(forcing);
}

void plan_season_free(struct plan_season *season)
{
    free(season->air_temp_c);
    free(season->shortwave_w_m2);
    free(season->sap_l);
    memset(season, 0, sizeof *season);
}
