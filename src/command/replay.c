/* The model over past weather: held against what was collected, or the season
 * that the weather makes. */
#include "command/replay.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "command/operation.h"
#include "command/replay_plan.h"

enum { SAP_MAX_BYTES = 1024 * 1024 };

static int write_chart(const struct replay_options *options, char *svg,
                       struct error *err)
{
    int status =
        file_write_whole(options->svg_path, svg, strlen(svg), 0644, err);

    free(svg);
    return status;
}

static void print_json(cJSON *json)
{
    char *words = cJSON_Print(json);

    (void)puts(words);
    cJSON_free(words);
    cJSON_Delete(json);
}

static void tell_both(const struct replay_options *options,
                      const struct replay_seasons *seasons,
                      const struct replay_plan *plan)
{
    cJSON *json;

    if (!options->json) {
        replay_seasons_show(seasons, options->species);
        if (plan)
            replay_plan_show(plan, options->units);
        return;
    }
    json = replay_seasons_json(seasons, options->species);
    if (plan)
        cJSON_AddItemToObject(json, "plan", replay_plan_json(plan));
    print_json(json);
}

/* config: of the operation whose planner is run; NULL without. */
static int tell_seasons(const struct replay_options *options,
                        const struct replay_weather *weather,
                        const struct config *config, struct error *err)
{
    struct replay_seasons seasons;
    struct replay_plan plan;
    int status = replay_seasons_make(weather, options, &seasons, err);

    if (!status && options->svg_path) {
        status = write_chart(
            options,
            replay_season_svg(
                seasons.rows[seasons.count - 1].of[options->species]),
            err);
    }
    if (!status && config)
        status =
            replay_plan_make(config, options, weather, &seasons, &plan, err);
    if (!status)
        tell_both(options, &seasons, config ? &plan : NULL);
    replay_seasons_free(&seasons);
    return status;
}

int replay_sap_read(const struct replay_options *options,
                    struct replay_collection **out, int *count,
                    struct error *err)
{
    char *bytes;
    size_t length;
    int status;

    if (file_read(options->sap_path, SAP_MAX_BYTES, &bytes, &length, err)) {
        return -1;
    }
    status = replay_collections_read(bytes, length, out, count, err);
    free(bytes);
    return status ? error_prefix(err, "%s: ", options->sap_path) : 0;
}

static int64_t first_day(const struct replay_options *options,
                         const struct replay_collection *collections)
{
    int64_t first = civil_day_number(collections[0].date) - 1;

    if (options->setting.has_tapped &&
        civil_day_number(options->setting.tapped) < first) {
        first = civil_day_number(options->setting.tapped);
    }
    return first;
}

static int run_replay(const struct replay_options *options,
                      const struct replay_weather *weather,
                      const struct replay_collection *collections, int count,
                      struct replay **out, struct error *err)
{
    struct tree_site site = {.latitude = options->latitude,
                             .longitude = options->longitude,
                             .elevation_m = options->elevation_m,
                             .species = options->species,
                             .gathering = options->gathering,
                             .bucket_l = options->bucket_l};
    int64_t last = civil_day_number(collections[count - 1].date);
    struct series *series = replay_weather_series(
        weather, options, first_day(options, collections), last, err);
    struct tree_model *model = NULL;
    int status = -1;

    if (series && !tree_model_load(options->models, options->species,
                                   options->gathering, &model, err)) {
        status = replay_make(model, &site, series, collections, count,
                             &options->setting, out, err);
    }
    tree_model_free(model);
    series_free(series);
    return status;
}

static int tell_sap(const struct replay_options *options,
                    const struct replay_weather *weather, struct error *err)
{
    struct replay_collection *collections;
    struct replay *replay = NULL;
    int count;
    int status = replay_sap_read(options, &collections, &count, err);

    if (status) {
        return -1;
    }
    status = run_replay(options, weather, collections, count, &replay, err);
    if (!status && options->svg_path) {
        status = write_chart(options, replay_sap_svg(replay), err);
    }
    if (!status && options->json) {
        print_json(replay_sap_json(replay));
    } else if (!status) {
        replay_sap_show(replay, options->units);
    }
    replay_free(replay);
    free(collections);
    return status;
}

/* Place and species of the operation's first bush are those of the season. */
static void take_operation(const struct config *config,
                           struct replay_options *options)
{
    options->latitude = config->bushes[0].latitude;
    options->longitude = config->bushes[0].longitude;
    options->elevation_m = config->bushes[0].elevation_m;
    options->species = config->bushes[0].species;
    options->units = config->units;
}

static int replay_with(struct replay_options *options,
                       const struct config *config)
{
    struct replay_weather weather;
    struct error err;
    int status = replay_weather_read(options, &weather, &err);

    if (!status) {
        status = options->sap_path
                     ? tell_sap(options, &weather, &err)
                     : tell_seasons(options, &weather, config, &err);
    }
    replay_weather_free(&weather);
    if (status) {
        (void)fprintf(stderr, "thawbell: %s\n", err.text);
    }
    return status ? EXIT_FAILED : EXIT_DONE;
}

int command_replay(const struct options *options)
{
    struct replay_options own;
    struct config *config = NULL;
    struct error err;
    int status;

    if (replay_options_read(options, &own, &err)) {
        (void)fprintf(stderr, "thawbell: %s\n", err.text);
        return EXIT_USAGE;
    }
    if (own.plan) {
        config = operation_read_file(own.operation);
        if (!config)
            return EXIT_USAGE;
        take_operation(config, &own);
        if (options->has_units)
            own.units = options->units;
    }
    status = replay_with(&own, config);
    config_free(config);
    return status;
}
