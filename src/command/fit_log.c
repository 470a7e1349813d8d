/* What a fit learns from: a file's collections, or the logbook's. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "command/fit.h"
#include "command/operation.h"

static const int NOON_S = 12 * SECONDS_PER_HOUR;

void fit_log_free(struct fit_log *log)
{
    free(log->rows);
    *log = (struct fit_log){0};
}

/* The season's place, a new one with this tapping if it is not there yet; -1
 * if there are too many. */
static int season_of(struct fit_log *log, int year, utc_s tapped_at)
{
    for (int i = 0; i < log->season_count; i++)
        if (log->years[i] == year)
            return i;
    if (log->season_count == FIT_MAX_SEASONS)
        return -1;
    log->years[log->season_count] = year;
    log->tapped_at[log->season_count] = tapped_at;
    return log->season_count++;
}

static utc_s instant_of(int64_t day, int seconds, int offset_s)
{
    return day * SECONDS_PER_DAY + seconds - offset_s;
}

static void add_row(struct fit_log *log, int season, utc_s from, utc_s to,
                    double sap_l)
{
    if (to <= from || log->count == FIT_MAX_ROWS)
        return;
    log->rows[log->count++] = (struct fit_row){from, to, sap_l, season};
}

void fit_log_from_collections(const struct replay_collection *collections,
                              int count, const struct replay_setting *setting,
                              struct fit_log *out)
{
    int64_t tapped = civil_day_number(setting->tapped);
    utc_s last = 0;

    *out = (struct fit_log){0};
    out->rows = mem_alloc((size_t)count + 1, sizeof *out->rows);
    for (int i = 0; i < count; i++) {
        int64_t day = civil_day_number(collections[i].date);
        int year = season_of_day(day), known = out->season_count;
        bool told = setting->has_tapped && season_of_day(tapped) == year;
        utc_s start =
            instant_of(told ? tapped : day - 1, NOON_S, setting->offset_s);
        utc_s to = instant_of(day, setting->collected_at_s, setting->offset_s);
        int season = season_of(out, year, start);

        if (season < 0)
            return;
        if (!collections[i].unmeasured)
            add_row(out, season, season == known ? start : last, to,
                    collections[i].sap_l);
        last = to;
    }
}

static const struct config_bush *find_bush(const struct config *config,
                                           const char *name, struct error *err)
{
    const char *names[CONFIG_MAX_BUSHES] = {NULL}, *near;

    for (int i = 0; i < config->bush_count; i++) {
        names[i] = config->bushes[i].name;
        if (name != NULL && utf8_compare_names(name, names[i]) == 0)
            return &config->bushes[i];
    }
    if (name == NULL && config->bush_count == 1)
        return &config->bushes[0];
    near = name ? nearest_word(name, names, config->bush_count) : NULL;
    if (name == NULL)
        error_set(err,
                  _("--bush NAME is needed: there are %d, the first is "
                    "\"%s\""),
                  config->bush_count, names[0]);
    else if (near != NULL)
        error_set(err, _("--bush %s: not known; did you mean \"%s\"?"), name,
                  near);
    else
        error_set(err, _("--bush %s: not known; the first is \"%s\""), name,
                  names[0]);
    return NULL;
}

static void take_bush(const struct config_bush *bush,
                      struct replay_options *past)
{
    past->species = bush->species;
    past->gathering = bush->gathering;
    past->latitude = bush->latitude;
    past->longitude = bush->longitude;
    past->elevation_m = bush->elevation_m;
    past->vacuum_kpa = bush->vacuum_kpa;
    past->fall_m = bush->fall_m;
    if (bush->bucket_l > 0 || bush->gathering != GATHERING_BUCKETS)
        past->bucket_l = bush->bucket_l;
    if (past->setting.taps == 0)
        past->setting.taps = bush->taps;
}

/* When the season of a first entry without a tapping was tapped: as configured,
 * or a day before. */
static utc_s tapped_before(const struct config_bush *bush,
                           const struct zone *zone, utc_s at)
{
    utc_s tapped;

    if (bush->has_tapped) {
        tapped = zone_instant(zone, bush->tapped, 12, 0, 0);
        if (tapped < at &&
            log_season_of(zone, tapped) == log_season_of(zone, at))
            return tapped;
    }
    return at - SECONDS_PER_DAY;
}

/* The first tapping of a season begins its first collection; a later one, a
 * hole reamed or made anew, leaves the buckets as they are. */
static void take_entries(const struct log_view *view,
                         const struct config_bush *bush, bool alone,
                         const struct zone *zone, struct fit_log *out)
{
    utc_s last = 0;

    for (int i = 0; i < view->count; i++) {
        const struct log_note *note = &view->entries[i].note;
        int known = out->season_count, season;
        bool own = strcmp(note->bush, bush->name) == 0 ||
                   (alone && note->bush[0] == '\0');

        if ((note->kind != LOG_COLLECTED && note->kind != LOG_TAPPED) || !own)
            continue;
        season = season_of(out, log_season_of(zone, note->at),
                           note->kind == LOG_TAPPED
                               ? note->at
                               : tapped_before(bush, zone, note->at));
        if (season < 0)
            return;
        if (season == known)
            last = out->tapped_at[season];
        if (note->kind == LOG_TAPPED)
            continue;
        add_row(out, season, last, note->at, note->figure[LOG_SAP_L]);
        last = note->at;
    }
}

static int read_book(const struct operation *operation, const char *name,
                     struct replay_options *past, struct fit_log *out)
{
    const struct config *config = operation->config;
    struct logbook book = {0};
    struct log_view view;
    struct error err;
    const struct config_bush *bush = find_bush(config, name, &err);

    if (bush == NULL) {
        (void)fprintf(stderr, "thawbell: %s\n", err.text);
        return EXIT_USAGE;
    }
    if (operation_read_log(operation, &book) != 0) {
        logbook_free(&book);
        return EXIT_FAILED;
    }
    take_bush(bush, past);
    log_view_make(&book, false, &view);
    out->rows = mem_alloc((size_t)view.count + 1, sizeof *out->rows);
    take_entries(&view, bush, config->bush_count == 1, operation->zone, out);
    log_view_free(&view);
    logbook_free(&book);
    return EXIT_DONE;
}

int fit_log_from_book(const struct options *options, const char *bush,
                      struct replay_options *past, struct fit_log *out)
{
    struct operation operation;
    int code = operation_open(options, &operation);

    *out = (struct fit_log){0};
    if (code == EXIT_DONE)
        code = read_book(&operation, bush, past, out);
    if (code == EXIT_DONE && !options->has_units)
        past->units = operation.config->units;
    operation_close(&operation);
    return code;
}
