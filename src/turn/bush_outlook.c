#include "turn/bush_outlook.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "weather/members.h"
#include "weather/merge.h"

enum { MAX_PARTS = 2 * CONFIG_MAX_SOURCES + 2 };

/* The series at hand for a bush, in order of preference; none owned. */
struct parts {
    const struct series *series[MAX_PARTS];
    int count;
    const struct series *past;      /* or NULL: no forecast of its own */
    const struct members *ensemble; /* or NULL */
};

int bush_past_days(struct store *store, const struct config *config, int bush,
                   utc_s now)
{
    struct series *history;
    struct error err;
    double temp;
    int hours = TURN_HISTORY_DAYS * 24, known = 0;

    if (store_get_air(store, config->slug, config->bushes[bush].name,
                      now - (utc_s)hours * SECONDS_PER_HOUR, hours, &history,
                      &err) != 0)
        return GATHER_MAX_PAST_DAYS;
    /* Counted back from now: the first gap of a day ends what is known. */
    for (int hour = hours - 1, missing = 0; hour >= 0 && missing < 24; hour--) {
        missing =
            series_get(history, AIR_TEMP_C, hour, &temp) ? 0 : missing + 1;
        known++;
    }
    series_free(history);
    return known >= hours - 48 ? GATHER_PAST_DAYS : GATHER_MAX_PAST_DAYS;
}

static void add_part(struct parts *parts, const struct series *series)
{
    if (series != NULL && parts->count < MAX_PARTS)
        parts->series[parts->count++] = series;
}

static void collect_parts(const struct gathering_result *gathered, int bush,
                          struct bush_station station, struct parts *parts)
{
    memset(parts, 0, sizeof *parts);
    add_part(parts, station.series);
    for (int i = 0; i < gathered->count; i++) {
        const struct gathered *item = &gathered->items[i];

        if (item->bush != bush || !item->in_use)
            continue;
        /* The ensemble's control is not a forecast of its own. */
        if (item->past)
            parts->past = item->answer.series;
        else if (item->answer.members != NULL)
            parts->ensemble = item->answer.members;
        else
            add_part(parts, item->answer.series);
    }
}

/* Hours from `row` on that hold air temperature without a gap. */
static int unbroken_hours(const struct series *series, int row)
{
    double temp;
    int hours = 0;

    while (row + hours < series_hours(series) &&
           series_get(series, AIR_TEMP_C, row + hours, &temp))
        hours++;
    return hours;
}

/* FNV-1a (Fowler, Noll, Vo). */
uint64_t bush_seed(const struct config *config, int bush)
{
    uint64_t hash = 14695981039346656037ULL;

    for (const char *
             parts[] = {config->slug, "/", config->bushes[bush].name, NULL},
            **p = parts;
         *p != NULL; p++)
        for (const char *c = *p; *c != '\0'; c++)
            hash = (hash ^ (unsigned char)*c) * 1099511628211ULL;
    return hash;
}

/* The air alone, from the hour before now on: members part at now. */
static struct series *air_ahead(const struct series *merged, utc_s now)
{
    int before = series_row(merged, now) - 1, first = before > 0 ? before : 0;
    struct series *air =
        series_new(series_time(merged, first), series_hours(merged) - first);
    double temp_c;

    for (int row = 0; row < series_hours(air); row++)
        if (series_get(merged, AIR_TEMP_C, first + row, &temp_c))
            series_set(air, AIR_TEMP_C, row, temp_c,
                       series_origin(merged, AIR_TEMP_C, first + row), -1);
    return air;
}

static struct members *make_members(const struct config *config, int bush,
                                    const struct parts *parts,
                                    const struct series *merged, utc_s now)
{
    uint64_t seed = bush_seed(config, bush);
    struct series *air = air_ahead(merged, now);
    struct members *members = NULL;

    if (parts->ensemble != NULL)
        members = members_around(parts->ensemble, air, now, seed);
    if (members == NULL)
        members = members_from_error_growth(air, now, TURN_MEMBERS, seed);
    series_free(air);
    return members;
}

struct tree_site bush_site(const struct config_bush *bush)
{
    return (struct tree_site){.latitude = bush->latitude,
                              .longitude = bush->longitude,
                              .elevation_m = bush->elevation_m,
                              .species = bush->species,
                              .gathering = bush->gathering,
                              .vacuum_kpa = bush->vacuum_kpa,
                              .fall_m = bush->fall_m,
                              .bucket_l = bush->bucket_l};
}

static struct tree_site site_now(const struct config_bush *bush, utc_s now,
                                 const struct zone *zone,
                                 const struct log_view *log)
{
    struct tree_site site = bush_site(bush);

    site.tapped = bush->has_tapped;
    /* Tapping is day work: noon stands for the hour that nobody wrote. */
    if (bush->has_tapped)
        site.tapped_at = zone_instant(zone, bush->tapped, 12, 0, 0);
    if (log_season_of(zone, site.tapped_at) != log_season_of(zone, now))
        site.tapped = false;
    if (log_tapped_at(log, zone, bush->name, now, &site.tapped_at))
        site.tapped = true;
    return site;
}

static void score(const struct config *config, int bush, utc_s now,
                  const struct zone *zone, const struct parts *parts,
                  const struct log_view *log, const struct tree_model *model,
                  struct bush_made *made)
{
    struct civil_date first =
        civil_date_add(zone_date(zone, now), -TURN_DAYS_BACK);

    made->site = site_now(&config->bushes[bush], now, zone, log);
    made->members = make_members(config, bush, parts, made->weather, now);
    made->outlook = outlook_make(model, &made->site, zone, made->weather,
                                 made->members, parts->series, parts->count,
                                 now, first, TURN_DAYS_BACK + TURN_DAYS_AHEAD);
}

/* History from the store is the last choice for every hour. */
static struct series *merge_all(const struct config_bush *bush, utc_s now,
                                const struct parts *parts,
                                const struct series *history)
{
    struct merge_place place = {bush->latitude, bush->longitude,
                                bush->elevation_m};
    const struct series *all[MAX_PARTS + 2];
    int count = parts->count;
    utc_s start = now - (utc_s)TURN_HISTORY_DAYS * SECONDS_PER_DAY;

    memcpy(all, parts->series, sizeof parts->series);
    if (parts->past != NULL)
        all[count++] = parts->past;
    if (history != NULL)
        all[count++] = history;
    return merge_series(all, count, &place, start,
                        (TURN_HISTORY_DAYS + GATHER_FORECAST_DAYS) * 24,
                        TURN_STALE_H);
}

/* A turn that begins just before the hour may have answers that begin with
 * the next: the hour under way is as that one then, but for sums. */
static void begin_under_way(struct series *merged, utc_s now)
{
    int row = series_row(merged, now);
    double value;

    if (row < 0 || series_get(merged, AIR_TEMP_C, row, &value))
        return;
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        enum quantity quantity = (enum quantity)i;

        if (!quantity_is_sum(quantity) &&
            !series_get(merged, quantity, row, &value) &&
            series_get(merged, quantity, row + 1, &value))
            series_set(merged, quantity, row, value, ORIGIN_INTERPOLATED,
                       series_value_source(merged, quantity, row + 1));
    }
}

static bool knows_ahead(const struct series *merged, utc_s now)
{
    int row = series_row(merged, now);

    return row >= 0 && unbroken_hours(merged, row) > 0;
}

static struct series *history_of(const struct config *config, int bush,
                                 utc_s now, struct store *store,
                                 struct error *doubt)
{
    struct series *history;

    if (store_get_weather(store, config->slug, config->bushes[bush].name,
                          now - (utc_s)TURN_HISTORY_DAYS * SECONDS_PER_DAY,
                          (TURN_HISTORY_DAYS + GATHER_FORECAST_DAYS) * 24,
                          &history, doubt) != 0)
        return NULL;
    return history;
}

void bush_made_free(struct bush_made *made)
{
    outlook_free(made->outlook);
    series_free(made->weather);
    members_free(made->members);
    *made = (struct bush_made){0};
}

int bush_outlook(const struct config *config, int bush, utc_s now,
                 const struct zone *zone,
                 const struct gathering_result *gathered,
                 struct bush_station station, const struct log_view *log,
                 struct store *store, struct turn_models *models,
                 struct error *doubt, struct bush_made *out, struct error *err)
{
    const struct config_bush *place = &config->bushes[bush];
    struct series *history = history_of(config, bush, now, store, doubt);
    const struct tree_model *model;
    struct parts parts;
    int result = -1;

    *out = (struct bush_made){0};
    collect_parts(gathered, bush, station, &parts);
    out->weather = merge_all(place, now, &parts, history);
    begin_under_way(out->weather, now);
    if (!knows_ahead(out->weather, now))
        error_set(err,
                  _("bush %s is left out: no weather service has a forecast "
                    "for it"),
                  place->name);
    else if ((model =
                  turn_models_tree(models, now, config->models, place->species,
                                   place->gathering, err)) != NULL) {
        store_put_weather(store, config->slug, place->name, out->weather,
                          now + GATHER_FORECAST_DAYS * SECONDS_PER_DAY, doubt);
        score(config, bush, now, zone, &parts, log, model, out);
        result = 0;
    }
    series_free(history);
    if (result != 0)
        bush_made_free(out);
    return result;
}
