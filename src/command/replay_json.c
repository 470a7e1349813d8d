/* What a replay gives, as JSON (docs/replay.md). */
#include "base/json.h"
#include "command/replay.h"

static void add_date(cJSON *parent, const char *key, bool known,
                     struct civil_date date)
{
    char words[ISO_DATE_SIZE];

    if (!known) {
        cJSON_AddNullToObject(parent, key);
        return;
    }
    iso_date(date, words);
    cJSON_AddStringToObject(parent, key, words);
}

static void add_spread(cJSON *parent, const char *key,
                       const struct season_date *date)
{
    cJSON *spread;

    if (!date->known) {
        cJSON_AddNullToObject(parent, key);
        return;
    }
    spread = cJSON_AddObjectToObject(parent, key);
    add_date(spread, "p10", true, date->p10);
    add_date(spread, "p50", true, date->p50);
    add_date(spread, "p90", true, date->p90);
}

static void add_pull(cJSON *parent, const struct season *season)
{
    cJSON *pull;

    if (!season->has_pull) {
        cJSON_AddNullToObject(parent, "pull_taps");
        return;
    }
    pull = cJSON_AddObjectToObject(parent, "pull_taps");
    add_date(pull, "from", true, season->pull_from);
    add_date(pull, "by", true, season->pull_by);
}

static cJSON *spell_json(const struct season_spell *spell)
{
    cJSON *json = cJSON_CreateObject();

    add_date(json, "first", true, spell->first);
    add_date(json, "last", true, spell->last);
    json_add_rounded(json, "run_days", spell->run_days, 1);
    return json;
}

static void add_runs(cJSON *parent, const struct season *season)
{
    cJSON *runs = cJSON_AddArrayToObject(parent, "main_runs");

    for (int i = 0; i < season->spell_count; i++) {
        cJSON_AddItemToArray(runs, spell_json(&season->spells[i]));
    }
    if (season->has_last_good_run) {
        cJSON_AddItemToObject(parent, "last_good_run",
                              spell_json(&season->last_good_run));
    } else {
        cJSON_AddNullToObject(parent, "last_good_run");
    }
}

static void add_core(cJSON *json, const struct season *season)
{
    add_spread(json, "bud_swell", &season->swell);
    add_spread(json, "bud_break", &season->bud_break);
    add_date(json, "tap_from", season->has_tap_from, season->tap_from);
    add_pull(json, season);
}

static void add_species(cJSON *json, const struct replay_season *row)
{
    cJSON *all = cJSON_AddObjectToObject(json, "species");

    for (int i = 0; i < SPECIES_COUNT; i++) {
        cJSON *one =
            cJSON_AddObjectToObject(all, species_word((enum species)i));

        add_core(one, row->of[i]);
    }
}

static cJSON *season_json(const struct replay_season *row, enum species species)
{
    const struct season *season = row->of[species];
    const struct season_day *last = &season->days[season->known_days - 1];
    cJSON *json = cJSON_CreateObject();

    cJSON_AddNumberToObject(json, "year", season->year);
    cJSON_AddStringToObject(json, "chosen", species_word(species));
    add_core(json, season);
    add_runs(json, season);
    add_date(json, "taphole_spent", season->has_taphole_end,
             season->taphole_end);
    add_date(
        json, "weather_until", true,
        civil_date_from_day_number(season->first_day + season->known_days - 1));
    cJSON_AddNumberToObject(json, "days_filled", season->filled_days);
    cJSON_AddStringToObject(json, "stage", season_stage_word(last->stage));
    json_add_rounded(json, "off_flavour", last->off_flavour, 2);
    json_add_rounded(json, "chance_of_more", season->chance_of_more, 2);
    add_species(json, row);
    return json;
}

cJSON *replay_seasons_json(const struct replay_seasons *seasons,
                           enum species species)
{
    cJSON *json = cJSON_CreateObject();
    cJSON *model = cJSON_AddObjectToObject(json, "bud_model");
    cJSON *all;

    cJSON_AddStringToObject(model, "name", seasons->model_name);
    cJSON_AddStringToObject(model, "version", seasons->model_version);
    cJSON_AddStringToObject(model, "digest", seasons->model_digest);
    cJSON_AddItemToObject(
        json, "season",
        season_json(&seasons->rows[seasons->count - 1], species));
    all = cJSON_AddArrayToObject(json, "seasons");
    for (int i = 0; i < seasons->count; i++) {
        cJSON_AddItemToArray(all, season_json(&seasons->rows[i], species));
    }
    return json;
}

static void add_figure(cJSON *json, const char *key,
                       struct replay_figure figure, int decimals)
{
    if (figure.known) {
        json_add_rounded(json, key, figure.value, decimals);
    } else {
        cJSON_AddNullToObject(json, key);
    }
}

static void add_skill(cJSON *json, const char *key,
                      const struct replay_skill *skill)
{
    cJSON *object = cJSON_AddObjectToObject(json, key);

    add_figure(object, "pearson", skill->pearson, 4);
    add_figure(object, "spearman", skill->spearman, 4);
    add_figure(object, "mae_l", skill->mae_l, 2);
    add_figure(object, "bias_l", skill->bias_l, 2);
    add_figure(object, "hit_rate", skill->hit_rate, 4);
    add_figure(object, "false_alarm_rate", skill->false_alarm_rate, 4);
    add_figure(object, "roc_area", skill->roc_area, 4);
}

cJSON *replay_sap_json(const struct replay *replay)
{
    cJSON *json = cJSON_CreateObject();
    cJSON *rows;

    cJSON_AddNumberToObject(json, "n", replay->count);
    cJSON_AddNumberToObject(json, "left_out", replay->left_out);
    for (int f = 0; f < REPLAY_FORECASTERS; f++) {
        add_skill(json, replay_forecaster_word((enum replay_forecaster)f),
                  &replay->skill[f]);
    }
    json_add_rounded(json, "overflow_l", replay->overflow_l, 1);
    rows = cJSON_AddArrayToObject(json, "collections");
    for (int i = 0; i < replay->count; i++) {
        const struct replay_row *row = &replay->rows[i];
        cJSON *one = cJSON_CreateObject();

        add_date(one, "date", true, row->date);
        json_add_rounded(one, "sap_l", row->sap_l, 2);
        json_add_rounded(one, "model_l", row->forecast_l[REPLAY_MODEL], 2);
        cJSON_AddItemToArray(rows, one);
    }
    return json;
}
