/* CPU time of the tree and the season on one core: a season of hourly weather
 * for one member and for fifty; a bush's turn with fifty members over its past
 * and ten days ahead; its season. Prints all; fails where one takes more than
 * its bound in milliseconds. Weather is invented.
 * Usage: season_cpu ONE FIFTY TURN SEASON */
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "invented.h"
#include "outlook/outlook.h"
#include "steady_zone.h"
#include "tree/season.h"

enum {
    SEASON_HOURS = 24 * 151, /* January to May */
    MEMBERS = 50
};

static double cpu_ms(void)
{
    return cpu_ns() / 1e6;
}

static void must(int status, const struct error *err)
{
    if (status == 0)
        return;
    (void)fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static bool tell(const char *what, double took_ms, const char *bound)
{
    double most_ms = strtod(bound, NULL);

    printf("%-52s %8.1f ms, at most %g\n", what, took_ms, most_ms);
    return took_ms <= most_ms;
}

static bool replay(const struct tree_model *model, const struct tree_site *site,
                   int times, const char *what, const char *bound)
{
    struct series *series = invent(SEASON_HOURS);
    struct tree_hour *hours = mem_alloc(SEASON_HOURS, sizeof *hours);
    struct forcing *forcing;
    double from_ms = cpu_ms();

    forcing = forcing_from_series(series, site->latitude, site->longitude);
    for (int i = 0; i < times; i++)
        tree_run(model, site, forcing, hours);
    from_ms = cpu_ms() - from_ms;
    forcing_free(forcing);
    free(hours);
    series_free(series);
    return tell(what, from_ms, bound);
}

static bool turn(const struct tree_model *model, const struct tree_site *site,
                 const char *bound)
{
    struct series *series = invent((PAST_DAYS + AHEAD_DAYS) * 24);
    utc_s now = START + (utc_s)PAST_DAYS * SECONDS_PER_DAY;
    struct zone *zone = steady_zone();
    struct members *members =
        members_from_error_growth(series, now, MEMBERS, 1);
    double from_ms = cpu_ms();
    struct outlook *outlook =
        outlook_make(model, site, zone, series, members, NULL, 0, now,
                     civil_date_add(zone_date(zone, now), -2), 12);

    from_ms = cpu_ms() - from_ms;
    outlook_free(outlook);
    members_free(members);
    zone_free(zone);
    series_free(series);
    return tell("outlook of a bush, 50 members", from_ms, bound);
}

static bool make_season(const char *bound)
{
    struct series *series = invent((PAST_DAYS + AHEAD_DAYS) * 24);
    struct season_site site = {.latitude = 45, .longitude = -72};
    struct season_weather *weather = mem_alloc(1, sizeof *weather);
    const struct season_weather *each[MEMBERS];
    struct season_climate climate;
    struct season_model model;
    struct error err;
    double from_ms;

    must(season_model_load(NULL, SPECIES_SUGAR_MAPLE, &model, &err), &err);
    season_climate_at(&model.general, 45, 450, &climate);
    must(season_weather_from_series(series, -5 * SECONDS_PER_HOUR, 2026,
                                    &model.general, &climate, weather, &err),
         &err);
    for (int i = 0; i < MEMBERS; i++)
        each[i] = weather;
    from_ms = cpu_ms();
    season_free(season_make(&model, &site, &climate, each, MEMBERS,
                            (struct civil_date){2026, 4, 2},
                            SEASON_DEFAULT_MEMBERS, 1));
    from_ms = cpu_ms() - from_ms;
    free(weather);
    series_free(series);
    return tell("season of a bush, 50 members", from_ms, bound);
}

int main(int argc, char **argv)
{
    struct tree_site site = {.latitude = 45,
                             .longitude = -72,
                             .elevation_m = 450,
                             .tapped = true,
                             .tapped_at = START + 50 * SECONDS_PER_DAY};
    struct tree_model *model;
    struct error err;
    bool good;

    if (argc != 5) {
        (void)fprintf(stderr, "usage: season_cpu ONE FIFTY TURN SEASON\n");
        return 2;
    }
    must(tree_model_load(NULL, SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS, &model,
                         &err),
         &err);
    good = replay(model, &site, 1, "season of hourly weather", argv[1]);
    good = replay(model, &site, MEMBERS, "the same 50 times", argv[2]) && good;
    good = turn(model, &site, argv[3]) && good;
    good = make_season(argv[4]) && good;
    tree_model_free(model);
    return good ? 0 : 1;
}
