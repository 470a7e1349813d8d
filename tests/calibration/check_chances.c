/* How far the stated chances can be relied on: on the open seasons' weather a
 * forecast is drawn that errs as forecasts err, the outlook is made from it,
 * and what it says is held against what the model makes of the weather that
 * came. So it judges members, quantiles and chances, not the tree: that the
 * tree errs too is in none of the spans.
 *
 * Prints, by lead day, Brier's score (Brier 1950, Monthly Weather Review
 * 78:1-3) beside that of the base rate, how often the volume lies between the
 * 10 and 90 % quantiles, and a table of reliability. Fails where they are out
 * of bounds.
 * Usage: check_chances DATA_FOLDER */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "outlook/outlook.h"
#include "steady_zone.h"

enum {
    LEAD_DAYS = 10,
    MEMBERS = 31,
    EVERY_DAYS = 3,
    BINS = 5,
    SKIPPED = 77,
    MAX_BYTES = 16 << 20
};

static const double LEAST_HELD = 0.65, MOST_HELD = 0.95;
static const double MOST_OFF = 0.2; /* of a bin of 20 or more */

struct lead {
    int days, runs, held, windows, window_held;
    double brier, width_l;
};

struct bin {
    int days, runs;
    double stated;
};

struct tally {
    struct lead leads[LEAD_DAYS];
    struct bin bins[BINS];
};

struct scene {
    struct tree_model *model;
    struct tree_site site;
    struct zone *zone;
    struct series *weather; /* that came */
    struct outlook *came;   /* what the model makes of it */
    struct civil_date first;
};

static struct series *read_weather(const char *folder, int year,
                                   struct error *err)
{
    char *path = mem_format("%s/whately-weather-%d.csv", folder, year);
    char *bytes = NULL;
    struct series *series = NULL;
    size_t length;

    if (file_read(path, MAX_BYTES, &bytes, &length, err) == 0 &&
        series_from_csv(bytes, length, 0, &series, err) != 0)
        series = NULL;
    free(bytes);
    free(path);
    return series;
}

/* The weather that came up to `now`, and from then on one of the courses that
 * a forecast may take about it. */
static struct series *draw_forecast(const struct scene *scene, utc_s now,
                                    uint64_t seed)
{
    struct members *drawn =
        members_from_error_growth(scene->weather, now, 2, seed);
    struct series *forecast = series_copy(scene->weather);
    int row = series_row(forecast, now);

    for (int hour = row; hour < series_hours(forecast); hour++)
        series_set(forecast, AIR_TEMP_C, hour,
                   drawn->air_temp_c[drawn->hours + hour], ORIGIN_FORECAST,
                   series_value_source(forecast, AIR_TEMP_C, hour));
    members_free(drawn);
    return forecast;
}

static void score_day(const struct outlook_day *told,
                      const struct outlook_day *came, int lead,
                      struct tally *tally)
{
    double volume_l = came->sap_l_per_tap_p50;
    bool ran = volume_l >= OUTLOOK_RUN_L_PER_TAP;
    struct lead *row = &tally->leads[lead];
    int at = (int)(told->chance * BINS);
    struct bin *bin = &tally->bins[at < BINS ? at : BINS - 1];

    row->days++;
    row->runs += ran;
    row->brier += (told->chance - ran) * (told->chance - ran);
    row->held += volume_l >= told->sap_l_per_tap_p10 - 1e-9 &&
                 volume_l <= told->sap_l_per_tap_p90 + 1e-9;
    row->width_l += told->sap_l_per_tap_p90 - told->sap_l_per_tap_p10;
    if (told->has_window_span && came->has_window) {
        row->windows++;
        row->window_held += came->run_start >= told->run_start_p10 &&
                            came->run_start <= told->run_start_p90;
    }
    bin->days++;
    bin->runs += ran;
    bin->stated += told->chance;
}

static void score_turn(const struct scene *scene, int day, uint64_t seed,
                       struct tally *tally)
{
    struct civil_date today = civil_date_add(scene->first, day);
    utc_s now = zone_instant(scene->zone, today, 6, 0, 0);
    struct series *forecast = draw_forecast(scene, now, seed);
    struct members *members =
        members_from_error_growth(forecast, now, MEMBERS, seed + 1000003);
    struct outlook *told =
        outlook_make(scene->model, &scene->site, scene->zone, forecast, members,
                     NULL, 0, now, today, LEAD_DAYS);

    for (int lead = 0; lead < LEAD_DAYS; lead++)
        if (told->days[lead].known && scene->came->days[day + lead].known)
            score_day(&told->days[lead], &scene->came->days[day + lead], lead,
                      tally);
    outlook_free(told);
    members_free(members);
    series_free(forecast);
}

static int score_season(const char *folder, int year, struct tally *tally,
                        struct error *err)
{
    enum { DAYS = 48 };
    struct scene scene = {.site = {.latitude = 42.4485,
                                   .longitude = -72.6806,
                                   .elevation_m = 251,
                                   .tapped = true},
                          .first = {year, 2, 24},
                          .zone = steady_zone(),
                          .weather = read_weather(folder, year, err)};

    if (scene.weather == NULL ||
        tree_model_load(NULL, SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS,
                        &scene.model, err) != 0)
        return -1;
    scene.site.tapped_at = zone_day_start(scene.zone, scene.first);
    scene.came =
        outlook_make(scene.model, &scene.site, scene.zone, scene.weather, NULL,
                     NULL, 0, 0, scene.first, DAYS + LEAD_DAYS);
    for (int day = 0; day < DAYS; day += EVERY_DAYS)
        score_turn(&scene, day, (uint64_t)(year * 1000 + day), tally);
    outlook_free(scene.came);
    tree_model_free(scene.model);
    series_free(scene.weather);
    zone_free(scene.zone);
    return 0;
}

/* The score of always stating the share of run days. */
static double base_brier(const struct lead *row)
{
    double share = (double)row->runs / row->days;

    return share * (1 - share);
}

static bool print_leads(const struct tally *tally)
{
    int days = 0, held = 0, starts = 0, started = 0;
    bool good = true;

    printf("lead  days  brier  base rate  in 10-90 %%  width L/tap\n");
    for (int lead = 0; lead < LEAD_DAYS; lead++) {
        const struct lead *row = &tally->leads[lead];
        double brier = row->brier / row->days;

        printf("%4d %5d  %5.3f      %5.3f       %5.2f        %5.2f\n", lead,
               row->days, brier, base_brier(row), (double)row->held / row->days,
               row->width_l / row->days);
        days += row->days;
        held += row->held;
        starts += row->windows;
        started += row->window_held;
        if (lead < 3 && brier >= base_brier(row))
            good = false;
    }
    printf("all: %.2f of the volumes and %.2f of the starts lie within\n\n",
           (double)held / days, (double)started / starts);
    return good && held >= LEAST_HELD * days && held <= MOST_HELD * days;
}

static bool print_bins(const struct tally *tally)
{
    bool good = true;

    printf("chance stated   days  mean stated  came\n");
    for (int i = 0; i < BINS; i++) {
        const struct bin *bin = &tally->bins[i];
        double stated = bin->days ? bin->stated / bin->days : 0;
        double came = bin->days ? (double)bin->runs / bin->days : 0;

        printf("%3d to %3d %%  %6d        %5.2f  %5.2f\n", 100 * i / BINS,
               100 * (i + 1) / BINS, bin->days, stated, came);
        if (bin->days >= 20 && fabs(stated - came) > MOST_OFF)
            good = false;
    }
    return good;
}

int main(int argc, char **argv)
{
    struct tally *tally = mem_alloc(1, sizeof *tally);
    struct error err = {""};
    const char *ci = getenv("CI");
    bool good;

    if (argc != 2) {
        (void)fprintf(stderr, "usage: check_chances DATA_FOLDER\n");
        return 2;
    }
    if (!file_exists(argv[1])) {
        printf("skipped: needs the open data named in docs\n");
        return ci && strcmp(ci, "true") == 0 ? 1 : SKIPPED;
    }
    if (score_season(argv[1], 2013, tally, &err) != 0 ||
        score_season(argv[1], 2015, tally, &err) != 0) {
        (void)fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    good = print_leads(tally);
    good = print_bins(tally) && good;
    free(tally);
    return good ? 0 : 1;
}
