#include "turn/turn.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "turn/bush_outlook.h"
#include "turn/gather.h"
#include "turn/log_intake.h"
#include "turn/make_plan.h"
#include "turn/make_season.h"
#include "turn/publishing.h"

enum {
    STATION_MAX_BYTES = 32 * 1024 * 1024,
    LONGEST_REST_S = SECONDS_PER_HOUR,
    SHORTEST_REST_S = 60,
    STALE_S = 12 * SECONDS_PER_HOUR,
};

/* One's own thermometer. A file that cannot be read is a trouble, not the
 * end: the services still answer. */
static bool read_station(const struct config *config, utc_s now,
                         struct source_answer *answer,
                         struct turn_result *result)
{
    struct error err;
    size_t length;
    char *bytes;
    bool good;

    memset(answer, 0, sizeof *answer);
    if (config->station == NULL)
        return false;
    if (file_read(config->station, STATION_MAX_BYTES, &bytes, &length, &err)) {
        turn_tell(result, err.text);
        return false;
    }
    good = station_decode(bytes, length, now, answer, &err) == 0;
    free(bytes);
    if (!good) {
        error_prefix(&err, "%s: ", config->station);
        turn_tell(result, err.text);
    }
    return good;
}

/* Since when a source is in trouble: kept in the store through restarts. */
static utc_s trouble_since(struct store *store, const char *operation,
                           const char *source, bool in_trouble, utc_s now)
{
    char *name = mem_format("trouble-since %s", source);
    char *held = NULL, words[ISO_TIME_SIZE];
    utc_s since = 0;

    if (store_get_note(store, operation, name, &held, NULL) == 0 &&
        held != NULL && held[0] != '\0' &&
        iso_time_parse(held, 0, &since, NULL) != 0)
        since = 0;
    if (in_trouble && since == 0) {
        since = now;
        iso_time_utc(now, words);
        store_put_note(store, operation, name, words, NULL);
    } else if (!in_trouble && held != NULL && held[0] != '\0') {
        since = 0;
        store_put_note(store, operation, name, "", NULL);
    }
    free(held);
    free(name);
    return since;
}

static struct bulletin_source *source_row(struct bulletin *bulletin,
                                          const struct source *source)
{
    struct bulletin_source *row;

    for (int i = 0; i < bulletin->source_count; i++)
        if (strcmp(bulletin->sources[i].name, source->name) == 0)
            return &bulletin->sources[i];
    row = &bulletin->sources[bulletin->source_count++];
    snprintf(row->name, sizeof row->name, "%s", source->name);
    snprintf(row->credit, sizeof row->credit, "%s", source->credit);
    snprintf(row->credit_url, sizeof row->credit_url, "%s", source->credit_url);
    return row;
}

/* A service is in use if any bush uses it; of several bushes the first
 * trouble is told. */
static void add_source(struct bulletin *bulletin, const struct gathered *item)
{
    struct bulletin_source *row = source_row(bulletin, item->source);
    const struct series *series = item->answer.series;

    if (row->trouble[0] == '\0')
        snprintf(row->trouble, sizeof row->trouble, "%s", item->trouble);
    if (!item->in_use || item->past)
        return;
    row->in_use = true;
    if (row->fetched < item->fetched)
        row->fetched = item->fetched;
    if (series != NULL && series_source_count(series) > 0)
        row->issued = series_source(series, 0)->issued;
    if (bulletin->weather_from < item->fetched)
        bulletin->weather_from = item->fetched;
}

/* MET Norway gives about a month's notice so; nothing else is wrong yet. */
static void tell_deprecated(struct turn_result *result,
                            const struct source *source)
{
    struct error words;

    error_set(&words,
              _("%s says that this version of its service will go; a newer "
                "thawbell will be needed within weeks"),
              source->name);
    turn_tell(result, words.text);
}

static void add_sources(struct bulletin *bulletin,
                        const struct gathering_result *gathered,
                        struct store *store, struct turn_result *result)
{
    bulletin->sources =
        mem_alloc((size_t)gathered->count + 1, sizeof *bulletin->sources);
    for (int i = 0; i < gathered->count; i++)
        add_source(bulletin, &gathered->items[i]);
    for (int i = 0; i < gathered->count; i++)
        if (gathered->items[i].deprecated)
            tell_deprecated(result, gathered->items[i].source);
    for (int i = 0; i < bulletin->source_count; i++) {
        struct bulletin_source *row = &bulletin->sources[i];

        row->trouble_since =
            trouble_since(store, bulletin->slug, row->name,
                          row->trouble[0] != '\0', bulletin->made);
        if (row->trouble[0] != '\0')
            turn_tell(result, row->trouble);
    }
}

/* Takes the outlook over from *made. */
static struct bulletin_bush *add_bush(struct bulletin *bulletin,
                                      const struct config *config, int number,
                                      struct bush_made *made)
{
    const struct config_bush *bush = &config->bushes[number];
    struct bulletin_bush *row = &bulletin->bushes[bulletin->bush_count++];

    snprintf(row->name, sizeof row->name, "%s", bush->name);
    row->species = bush->species;
    row->gathering = bush->gathering;
    row->taps = bush->taps;
    row->outlook = made->outlook;
    bulletin_take_weather(row, made->weather);
    bulletin_take_pressure(bulletin, made->weather, bush->elevation_m);
    return row;
}

static struct bulletin *begin_bulletin(const struct config *config, utc_s now,
                                       struct error *err)
{
    struct bulletin *bulletin = bulletin_new();

    snprintf(bulletin->operation, sizeof bulletin->operation, "%s",
             config->name);
    snprintf(bulletin->slug, sizeof bulletin->slug, "%s", config->slug);
    snprintf(bulletin->zone_name, sizeof bulletin->zone_name, "%s",
             config->zone_name);
    snprintf(bulletin->language, sizeof bulletin->language, "%s",
             config->language);
    bulletin->units = config->units;
    bulletin->pan.syrup_brix = config->sugarhouse.syrup_brix;
    bulletin->made = now;
    bulletin->bushes =
        mem_alloc((size_t)config->bush_count, sizeof *bulletin->bushes);
    bulletin->zone = zone_open(config->zone_name, err);
    if (bulletin->zone != NULL)
        return bulletin;
    bulletin_free(bulletin);
    return NULL;
}

/* The bushes whose weather is known; a bush without is told and left out. */
static int score_bushes(const struct config *config, struct bulletin *bulletin,
                        const struct gathering_result *gathered,
                        struct bush_station station, const struct log_view *log,
                        struct store *store, struct turn_models *models,
                        struct turn_result *result, struct error *err)
{
    for (int bush = 0; bush < config->bush_count; bush++) {
        struct bush_made made;
        struct error doubt = {""};

        if (bush_outlook(config, bush, bulletin->made, bulletin->zone, gathered,
                         station, log, store, models, &doubt, &made,
                         err) == 0) {
            struct bulletin_bush *row = add_bush(bulletin, config, bush, &made);

            if (make_season(config, bush, &made, log, store, models, bulletin,
                            row, &doubt, err) != 0)
                turn_tell(result, err->text);
            if (row->season != NULL && row->season->pulled.year != 0)
                outlook_pulled(row->outlook, bulletin->zone,
                               row->season->pulled);
            made.outlook = NULL;
            bush_made_free(&made);
        } else {
            turn_tell(result, err->text);
        }
        if (doubt.text[0] != '\0') {
            turn_tell(result, doubt.text);
            result->unpublished = true;
        }
    }
    return bulletin->bush_count > 0 ? 0 : -1;
}

/* Stored hours alone make no forecast, nor do an ensemble's members: the last
 * bulletin is better. */
static void judge_forecasts(const struct gathering_result *gathered, utc_s now,
                            struct turn_result *result)
{
    result->no_forecast = true;
    for (int i = 0; i < gathered->count; i++) {
        const struct gathered *item = &gathered->items[i];

        if (!item->in_use || item->past || item->answer.members != NULL)
            continue;
        result->no_forecast = false;
        if (item->trouble[0] == '\0' && item->fetched > now - STALE_S)
            result->fresh = true;
    }
}

static int no_forecast(const char *folder, struct error *err)
{
    char *path = file_join(folder, "bulletin.json");
    bool held = file_exists(path);

    free(path);
    return error_set(
        err, "%s",
        held ? _("no weather service has a forecast to give; what was "
                 "published before stays")
             : _("no weather service has a forecast to give; nothing is "
                 "published yet"));
}

/* When a service may be asked again, when the day changes, at most an hour. */
static utc_s next_turn(const struct gathering_result *gathered,
                       const struct zone *zone, utc_s now)
{
    struct civil_date tomorrow = civil_date_add(zone_date(zone, now), 1);
    utc_s next = now + LONGEST_REST_S;

    if (zone_day_start(zone, tomorrow) < next)
        next = zone_day_start(zone, tomorrow);
    for (int i = 0; i < gathered->count; i++)
        if (gathered->items[i].next > now && gathered->items[i].next < next)
            next = gathered->items[i].next;
    return next < now + SHORTEST_REST_S ? now + SHORTEST_REST_S : next;
}

struct turning {
    const struct config *config;
    utc_s now;
    struct store *store;
    struct turn_models *models, *own_models;
    char *folder;
    enum file_set_flush flush;
    int *past_days;
    struct asking *asking;
    struct gathering_result gathered;
    struct turn_result result;
    struct bulletin *made;
    bool complete; /* is it? */
    struct logbook book;
    struct log_view log;
};

static struct turning *begin(const struct config *config, utc_s now,
                             const struct transport *transport,
                             struct store *store, struct turn_models *models,
                             const char *folder, struct error *err)
{
    struct bulletin *made = begin_bulletin(config, now, err);
    struct turning *turning;

    if (made == NULL)
        return NULL;
    turning = mem_alloc(1, sizeof *turning);
    turning->config = config;
    turning->now = now;
    turning->store = store;
    if (models == NULL)
        models = turning->own_models = turn_models_new();
    turning->models = models;
    turning->folder = mem_copy_text(folder);
    turning->made = made;
    turning->result.published = log_intake(
        config, now, store, folder, &turning->book, &turning->result.troubles);
    log_view_make(&turning->book, false, &turning->log);
    turning->past_days =
        mem_alloc((size_t)config->bush_count, sizeof *turning->past_days);
    for (int bush = 0; bush < config->bush_count; bush++)
        turning->past_days[bush] = bush_past_days(store, config, bush, now);
    turning->asking = gather_begin(config, now, transport, turning->past_days,
                                   &turning->gathered);
    return turning;
}

struct turning *turn_begin(const struct config *config, utc_s now,
                           const struct transport *transport,
                           struct store *store, struct turn_models *models,
                           const char *folder, struct error *err)
{
    const char *before = words_use(config->language);
    struct turning *turning =
        begin(config, now, transport, store, models, folder, err);

    words_use(before);
    return turning;
}

int turn_round(struct turning *turning, struct transport_request **requests,
               struct transport_answer **answers)
{
    const char *before = words_use(turning->config->language);
    int count = gather_round(turning->asking, requests, answers);

    words_use(before);
    return count;
}

void turn_take(struct turning *turning)
{
    const char *before = words_use(turning->config->language);

    gather_take(turning->asking);
    words_use(before);
}

void turn_among_many(struct turning *turning)
{
    turning->flush = FILE_SET_FILE_SYSTEM;
}

void turn_drop(struct turning *turning)
{
    if (turning == NULL)
        return;
    turn_result_free(&turning->result);
    turn_models_free(turning->own_models);
    bulletin_free(turning->made);
    log_view_free(&turning->log);
    logbook_free(&turning->book);
    gather_end(turning->asking);
    gathering_result_free(&turning->gathered);
    free(turning->past_days);
    free(turning->folder);
    free(turning);
}

/* Whatever the calendar's own end has not committed. */
static void keep_rest(struct turning *turning)
{
    struct error err = {""};

    if (!store_is_begun(turning->store) ||
        store_commit(turning->store, &err) == 0)
        return;
    turn_tell(&turning->result, err.text);
    turning->result.unpublished = true;
}

/* From what came to what is published; the bulletin is turning->made. All that
 * is stored of it is stored together; where that cannot be begun, each part
 * tries for itself, and tells. */
static int conclude(struct turning *turning, struct error *err)
{
    struct bush_station thermometer = {NULL};
    struct turn_result *result = &turning->result;
    struct source_answer station;
    int code;

    store_begin(turning->store, NULL);
    if (read_station(turning->config, turning->now, &station, result))
        thermometer.series = station.series;
    add_sources(turning->made, &turning->gathered, turning->store, result);
    judge_forecasts(&turning->gathered, turning->now, result);
    result->next =
        next_turn(&turning->gathered, turning->made->zone, turning->now);
    code = result->no_forecast
               ? no_forecast(turning->folder, err)
               : score_bushes(turning->config, turning->made,
                              &turning->gathered, thermometer, &turning->log,
                              turning->store, turning->models, result, err);
    if (turning->made->bush_count < turning->config->bush_count)
        result->fresh = false;
    if (code == 0) {
        bulletin_sum_days(turning->made);
        make_season_actions(turning->config, turning->store, turning->made);
        make_plan(turning->config, &turning->log, turning->made);
        make_season_notes(turning->made);
        bulletin_settle(turning->made);
        turning->complete = true;
        code = turn_publish(turning->config, &turning->log, turning->made,
                            turning->store, turning->folder, turning->flush,
                            result, err);
        result->in_place = code == 0;
    }
    keep_rest(turning);
    source_answer_free(&station);
    return code;
}

int turn_end(struct turning *turning, struct turn_result *result,
             struct bulletin **bulletin, struct error *err)
{
    const char *before = words_use(turning->config->language);
    int code = conclude(turning, err);

    words_use(before);
    *result = turning->result;
    turning->result = (struct turn_result){.next = 0};
    if (turning->complete && bulletin != NULL) {
        *bulletin = turning->made;
        turning->made = NULL;
    }
    turn_drop(turning);
    return code;
}

int turn(const struct config *config, utc_s now,
         const struct transport *transport, struct store *store,
         const char *folder, struct turn_result *result,
         struct bulletin **bulletin, struct error *err)
{
    struct transport_request *requests;
    struct transport_answer *answers;
    struct turning *turning;
    int count;

    memset(result, 0, sizeof *result);
    turning = turn_begin(config, now, transport, store, NULL, folder, err);
    if (turning == NULL)
        return -1;
    while ((count = turn_round(turning, &requests, &answers)) > 0) {
        transport->fetch(transport->self, now, requests, count, answers);
        turn_take(turning);
    }
    return turn_end(turning, result, bulletin, err);
}
