/* The past weather of `thawbell replay`, and the seasons it makes. */
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "command/replay.h"
#include "weather/diurnal.h"

enum {
    WEATHER_MAX_BYTES = 64 * 1024 * 1024,
    DAYS_BEFORE = 60, /* of weather for the tree to settle */
    SHORT_GAP_H = 3,  /* closed by a straight line, as the daemon does */
    FIRST_OF_JANUARY = 61
};

static bool is_daily(const char *bytes, size_t length)
{
    struct csv *csv;
    bool daily;

    if (csv_parse(bytes, length, &csv, NULL)) {
        return false;
    }
    daily = csv_column(csv, "date") >= 0 && csv_column(csv, "time") < 0;
    csv_free(csv);
    return daily;
}

int replay_weather_read(const struct replay_options *options,
                        struct replay_weather *out, struct error *err)
{
    char *bytes;
    size_t length;
    int status;

    *out = (struct replay_weather){0};
    if (file_read(options->weather_path, WEATHER_MAX_BYTES, &bytes, &length,
                  err)) {
        return -1;
    }
    if (is_daily(bytes, length)) {
        status = daily_from_csv(bytes, length, &out->daily, err);
    } else {
        status = series_from_csv(bytes, length, options->setting.offset_s,
                                 &out->series, err);
        if (!status)
            series_interpolate(out->series, SHORT_GAP_H);
    }
    free(bytes);
    if (status) {
        return error_prefix(err, "%s: ", options->weather_path);
    }
    if (out->series) {
        out->daily = daily_from_series(out->series, options->setting.offset_s);
    }
    return 0;
}

void replay_weather_free(struct replay_weather *weather)
{
    series_free(weather->series);
    daily_free(weather->daily);
}

struct series *replay_weather_series(const struct replay_weather *weather,
                                     const struct replay_options *options,
                                     int64_t first, int64_t last,
                                     struct error *err)
{
    int count = (int)(last - first) + 1 + DAYS_BEFORE + 2;
    struct diurnal_day *days;
    struct series *series;

    if (weather->series) {
        return series_copy(weather->series);
    }
    if (count > SERIES_MAX_HOURS / 24) {
        error_set(err, _("the collections span more than two years"));
        return NULL;
    }
    days = mem_alloc((size_t)count, sizeof *days);
    for (int i = 0; i < count; i++) {
        const struct daily_row *row =
            daily_row(weather->daily, first - DAYS_BEFORE + i);

        if (row && row->has_min && row->has_max) {
            days[i] = (struct diurnal_day){true, row->min_c, row->max_c};
        }
    }
    series = diurnal_series(first - DAYS_BEFORE, days, count, options->latitude,
                            options->longitude, options->setting.offset_s);
    free(days);
    return series;
}

static int make_weather(const struct replay_weather *weather,
                        const struct replay_options *options, int year,
                        const struct season_general *general,
                        const struct season_climate *climate,
                        struct season_weather *out)
{
    if (weather->series) {
        return season_weather_from_series(weather->series,
                                          options->setting.offset_s, year,
                                          general, climate, out, NULL);
    }
    return season_weather_from_daily(weather->daily, year, general, climate,
                                     out, NULL);
}

static struct season_site site_of(const struct replay_options *options,
                                  int year)
{
    struct season_site site = {.latitude = options->latitude,
                               .longitude = options->longitude,
                               .elevation_m = options->elevation_m};
    int64_t tapped = civil_day_number(options->setting.tapped);

    site.tapped = options->setting.has_tapped && season_of_day(tapped) == year;
    site.tapped_on = options->setting.tapped;
    return site;
}

/* Adds the season if its weather reaches January; an autumn alone is a season
 * only if nothing else is there. */
static void add_season(const struct replay_weather *weather,
                       const struct replay_options *options, int year,
                       const struct season_model models[SPECIES_COUNT],
                       struct replay_seasons *out)
{
    struct season_weather *of_year = mem_alloc(1, sizeof *of_year);
    const struct season_weather *one = of_year;
    struct season_site site = site_of(options, year);
    const struct season_general *general = &models[0].general;
    struct season_climate climate;
    struct civil_date last = civil_date_from_day_number(
        weather->daily->first_day + weather->daily->count - 1);

    season_climate_at(general, options->latitude, options->elevation_m,
                      &climate);
    if (make_weather(weather, options, year, general, &climate, of_year) ||
        (of_year->known <= FIRST_OF_JANUARY && out->count > 0)) {
        free(of_year);
        return;
    }
    for (int i = 0; i < SPECIES_COUNT; i++) {
        out->rows[out->count].of[i] =
            season_make(&models[i], &site, &climate, &one, 1, last,
                        SEASON_DEFAULT_MEMBERS, (uint64_t)year);
    }
    out->count++;
    free(of_year);
}

static int load_models(const struct replay_options *options,
                       struct season_model models[SPECIES_COUNT],
                       struct replay_seasons *out, struct error *err)
{
    const struct season_model *model = &models[options->species];

    for (int i = 0; i < SPECIES_COUNT; i++) {
        if (season_model_load(options->models, (enum species)i, &models[i],
                              err)) {
            return -1;
        }
    }
    memcpy(out->model_name, model->name, sizeof out->model_name);
    memcpy(out->model_version, model->version, sizeof out->model_version);
    memcpy(out->model_digest, model->digest, sizeof out->model_digest);
    return 0;
}

int replay_seasons_make(const struct replay_weather *weather,
                        const struct replay_options *options,
                        struct replay_seasons *out, struct error *err)
{
    const struct daily *daily = weather->daily;
    int first = season_of_day(daily->first_day);
    int last = season_of_day(daily->first_day + daily->count - 1);
    struct season_model models[SPECIES_COUNT];

    *out = (struct replay_seasons){0};
    if (load_models(options, models, out, err)) {
        return -1;
    }
    out->rows = mem_alloc((size_t)(last - first) + 1, sizeof *out->rows);
    for (int year = first; year <= last; year++) {
        add_season(weather, options, year, models, out);
    }
    if (out->count == 0) {
        return error_set(err,
                         _("%s: no day between 1 November and 31 July, so no "
                           "season"),
                         options->weather_path);
    }
    return 0;
}

void replay_seasons_free(struct replay_seasons *seasons)
{
    for (int row = 0; row < seasons->count; row++) {
        for (int i = 0; i < SPECIES_COUNT; i++) {
            season_free(seasons->rows[row].of[i]);
        }
    }
    free(seasons->rows);
}
