/* The model's numbers for one bush, from its own log. */
#include "command/fit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/progress.h"
#include "base/words.h"

enum { OWN_BUSH = OWN_PAST_COUNT, OWN_INTO, OWN_REPLACE };

const struct option_row fit_rows[] = {
    PAST_ROWS,
    [OWN_SAP] = {"--sap", 0, N_("FILE"),
                 N_("what was collected: CSV date,sap_l; without it, the "
                    "operation's logbook")},
    [OWN_BUSH] = {"--bush", 0, N_("NAME"),
                  N_("whose log and place are taken from the operation")},
    [OWN_INTO] = {"--into", 0, N_("FOLDER"),
                  N_("write the parameter files there, for \"models\" of the "
                     "configuration")},
    [OWN_REPLACE] = {"--replace", 0, NULL,
                     N_("change parameter files that are there already")},
    {NULL, 0, NULL, NULL},
};

static int complain(const struct error *err, int code)
{
    (void)fprintf(stderr, "thawbell: %s\n", err->text);
    return code;
}

static int read_log(const struct options *options, struct replay_options *past,
                    struct fit_log *log)
{
    struct replay_collection *collections;
    struct error err;
    int count;

    if (past->sap_path == NULL)
        return fit_log_from_book(options, options->own[OWN_BUSH], past, log);
    if (replay_sap_read(past, &collections, &count, &err))
        return complain(&err, EXIT_FAILED);
    fit_log_from_collections(collections, count, &past->setting, log);
    free(collections);
    return EXIT_DONE;
}

/* The hours of the file, or made from its days about the collections. */
static struct series *weather_of(const struct replay_options *past,
                                 const struct fit_log *log, struct error *err)
{
    struct replay_weather weather;
    struct series *series = NULL;
    int offset_s = past->setting.offset_s;

    if (replay_weather_read(past, &weather, err) == 0) {
        int64_t first = utc_day(log->tapped_at[0] + offset_s);
        int64_t last = utc_day(log->rows[log->count - 1].to + offset_s);

        series = replay_weather_series(&weather, past, first, last, err);
    }
    replay_weather_free(&weather);
    return series;
}

static int learn(const struct replay_options *past, const struct fit_log *log,
                 struct tree_model *model, struct fit *out, struct error *err)
{
    struct series *series = weather_of(past, log, err);
    struct fit_bounds bounds[TREE_NUMBER_COUNT];
    struct fit_data data = {
        .series = series,
        .site = {.latitude = past->latitude,
                 .longitude = past->longitude,
                 .elevation_m = past->elevation_m,
                 .species = past->species,
                 .gathering = past->gathering,
                 .vacuum_kpa = past->vacuum_kpa,
                 .fall_m = past->fall_m,
                 .bucket_l = past->bucket_l},
        .taps = past->setting.taps,
        .rows = log->rows,
        .row_count = log->count,
        .season_count = log->season_count,
    };
    int status = -1;

    memcpy(data.tapped_at, log->tapped_at, sizeof data.tapped_at);
    if (series && fit_bounds_read(model, past->species, past->gathering, bounds,
                                  err) == 0) {
        progress_say(_("Fitting to %d collections..."), log->count);
        fit_make(model, &data, bounds, out);
        progress_end();
        status = 0;
    }
    series_free(series);
    return status;
}

static struct civil_date date_of(utc_s instant, int offset_s)
{
    return civil_date_from_day_number(utc_day(instant + offset_s));
}

static int write_files(const struct options *options,
                       const struct replay_options *past,
                       const struct fit_log *log,
                       const struct tree_model *model, const struct fit *fit,
                       struct error *err)
{
    int offset_s = past->setting.offset_s;
    struct fit_target target = {
        .folder = options->own[OWN_INTO],
        .replace = options->own[OWN_REPLACE] != NULL,
        .model = model,
        .species = past->species,
        .gathering = past->gathering,
        .first = date_of(log->rows[0].to, offset_s),
        .last = date_of(log->rows[log->count - 1].to, offset_s)};
    struct text told;
    int status;

    text_init(&told, 10000);
    status = fit_write(fit, &target, &told, err);
    if (status == 0 && !options->json)
        (void)printf(_("\n%s\"models = %s\" in the configuration uses "
                       "them.\n"),
                     told.bytes, target.folder);
    text_free(&told);
    return status;
}

static void tell(const struct options *options,
                 const struct replay_options *past, const struct fit *fit,
                 const struct fit_log *log)
{
    if (options->json) {
        cJSON *json = fit_json(fit, log);
        char *words = cJSON_Print(json);

        (void)puts(words);
        cJSON_free(words);
        cJSON_Delete(json);
    } else {
        fit_show(fit, log, past->units);
    }
}

static int run(const struct options *options, const struct replay_options *past,
               const struct fit_log *log)
{
    struct tree_model *model = NULL;
    struct error err;
    struct fit fit;
    int status =
        tree_model_load(NULL, past->species, past->gathering, &model, &err);

    if (status == 0)
        status = learn(past, log, model, &fit, &err);
    if (status == 0)
        tell(options, past, &fit, log);
    if (status == 0 && !fit.enough)
        status = error_set(&err,
                           _("%d collections with weather are too few to "
                             "learn from: %d are needed"),
                           fit.rows, FIT_LEAST_ROWS);
    if (status == 0 && options->own[OWN_INTO])
        status = write_files(options, past, log, model, &fit, &err);
    else if (status == 0 && !options->json)
        (void)puts(_("\nNothing is written; --into FOLDER does."));
    tree_model_free(model);
    return status ? complain(&err, EXIT_FAILED) : EXIT_DONE;
}

int command_fit(const struct options *options)
{
    struct replay_options past;
    struct fit_log log = {0};
    struct error err;
    int code;

    if (past_options_read(options, &past, &err))
        return complain(&err, EXIT_USAGE);
    code = read_log(options, &past, &log);
    if (code == EXIT_DONE && log.count == 0) {
        error_set(&err, "%s",
                  _("no collection with an amount is in the log: there is "
                    "nothing to learn from"));
        code = complain(&err, EXIT_FAILED);
    } else if (code == EXIT_DONE) {
        code = run(options, &past, &log);
    }
    fit_log_free(&log);
    return code;
}
