#include "publish/bulletin_season.h"

#include <string.h>

#include "base/memory.h"
#include "base/words.h"

/* The dates of their own, and where they are kept. */
static const struct {
    const char *key;
    size_t offset;
} dates[] = {
    {"tapped", offsetof(struct bulletin_season, tapped)},
    {"pulled", offsetof(struct bulletin_season, pulled)},
    {"tap_from", offsetof(struct bulletin_season, tap_from)},
    {"pull_from", offsetof(struct bulletin_season, pull_from)},
    {"pull_by", offsetof(struct bulletin_season, pull_by)},
    {"last_good_run_first", offsetof(struct bulletin_season, last_run_first)},
    {"last_good_run_last", offsetof(struct bulletin_season, last_run_last)},
    {"taphole_spent", offsetof(struct bulletin_season, taphole_spent)},
};

enum { DATES = sizeof dates / sizeof dates[0] };

static void write_date(cJSON *object, const char *key, struct civil_date date)
{
    char words[ISO_DATE_SIZE];

    if (date.year == 0) {
        json_add_null(object, key);
        return;
    }
    iso_date(date, words);
    json_add_text(object, key, words);
}

static void write_spread(cJSON *object, const char *key,
                         const struct season_date *date)
{
    cJSON *spread;

    if (!date->known) {
        json_add_null(object, key);
        return;
    }
    spread = json_add_object(object, key);
    write_date(spread, "p10", date->p10);
    write_date(spread, "p50", date->p50);
    write_date(spread, "p90", date->p90);
}

static void write_model(cJSON *object, const struct bulletin_season *season)
{
    cJSON *model = json_add_object(object, "model");

    json_add_text(model, "name", season->model_name);
    json_add_text(model, "version", season->model_version);
    json_add_text(model, "sha256", season->model_digest);
}

static void write_days(cJSON *object, const struct bulletin_season *season)
{
    cJSON *array = json_add_array(object, "days");

    for (int i = 0; i < season->day_count; i++) {
        const struct bulletin_season_day *day = &season->days[i];
        cJSON *row = cJSON_CreateObject();

        write_date(row, "date", day->date);
        json_add_text(row, "stage", season_stage_word(day->stage));
        json_add_rounded(row, "off_flavour", day->off_flavour,
                         DIGITS_SEASON_SHARE);
        cJSON_AddItemToArray(array, row);
    }
}

void bulletin_season_write(cJSON *bush_object, const struct bulletin *bulletin,
                           const struct bulletin_bush *bush)
{
    const struct bulletin_season *season = bush->season;
    const struct bulletin_season_day *today =
        bulletin_season_day(bush, bulletin_date(bulletin, bulletin->made));
    cJSON *object;

    if (season == NULL)
        return;
    object = json_add_object(bush_object, "season");
    json_add_number(object, "year", season->year);
    if (today != NULL)
        json_add_text(object, "stage", season_stage_word(today->stage));
    write_spread(object, "bud_swell", &season->swell);
    write_spread(object, "bud_break", &season->bud_break);
    for (int i = 0; i < DATES; i++) {
        const struct civil_date *date =
            (const void *)((const char *)season + dates[i].offset);

        write_date(object, dates[i].key, *date);
    }
    json_add_rounded(object, "chance_of_more", season->chance_of_more,
                     DIGITS_SEASON_SHARE);
    if (season->has_taphole)
        json_add_rounded(object, "taphole", season->taphole,
                         DIGITS_SEASON_SHARE);
    else
        json_add_null(object, "taphole");
    json_add_number(object, "days_filled", season->days_filled);
    write_model(object, season);
    write_days(object, season);
}

/* Absent or null is none. */
static int read_date(const cJSON *object, const char *key,
                     struct civil_date *out, struct error *err)
{
    const char *words = json_string(object, key);

    if (words == NULL || iso_date_parse(words, out, err) == 0)
        return 0;
    return error_prefix(err, "\"%s\": ", key);
}

static int read_spread(const cJSON *object, const char *key,
                       struct season_date *out, struct error *err)
{
    const cJSON *spread = json_object(object, key);

    if (spread == NULL)
        return 0;
    if (read_date(spread, "p10", &out->p10, err) != 0 ||
        read_date(spread, "p50", &out->p50, err) != 0 ||
        read_date(spread, "p90", &out->p90, err) != 0)
        return error_prefix(err, "\"%s\": ", key);
    out->known = out->p10.year && out->p50.year && out->p90.year;
    return out->known ? 0 : field_missing(key, err);
}

static int stage_from_word(const char *word)
{
    for (int stage = 0; stage < SEASON_STAGE_COUNT; stage++)
        if (strcmp(word, season_stage_word((enum season_stage)stage)) == 0)
            return stage;
    return -1;
}

static int read_days(const cJSON *object, struct bulletin_season *season,
                     struct error *err)
{
    const cJSON *array, *item;
    int stage;

    if (field_array(object, "days", &array, err) < 0)
        return -1;
    cJSON_ArrayForEach(item, array)
    {
        struct bulletin_season_day *day = &season->days[season->day_count];

        if (season->day_count == BULLETIN_SEASON_DAYS)
            break;
        if (field_date(item, &day->date, err) != 0 ||
            field_word(item, "stage", stage_from_word, &stage, err) != 0)
            return -1;
        if (!json_number(item, "off_flavour", &day->off_flavour))
            return field_missing("off_flavour", err);
        day->stage = (enum season_stage)stage;
        season->day_count++;
    }
    return 0;
}

static int read_model(const cJSON *object, struct bulletin_season *season,
                      struct error *err)
{
    const cJSON *model = json_object(object, "model");

    if (model == NULL)
        return field_missing("model", err);
    if (field_text(model, "name", season->model_name, sizeof season->model_name,
                   err) != 0 ||
        field_text(model, "version", season->model_version,
                   sizeof season->model_version, err) != 0)
        return -1;
    return field_text(model, "sha256", season->model_digest,
                      sizeof season->model_digest, err);
}

static int read_figures(const cJSON *object, struct bulletin_season *season,
                        struct error *err)
{
    if (field_count(object, "year", 9999, &season->year, err) != 0 ||
        field_count(object, "days_filled", SEASON_MAX_DAYS,
                    &season->days_filled, err) != 0)
        return -1;
    if (!json_number(object, "chance_of_more", &season->chance_of_more))
        return field_missing("chance_of_more", err);
    season->has_taphole = json_number(object, "taphole", &season->taphole);
    return 0;
}

int bulletin_season_read(const cJSON *bush_object, struct bulletin_bush *bush,
                         struct error *err)
{
    const cJSON *object = json_object(bush_object, "season");
    struct bulletin_season *season;

    if (object == NULL)
        return 0;
    season = bush->season = mem_alloc(1, sizeof *season);
    for (int i = 0; i < DATES; i++) {
        struct civil_date *date = (void *)((char *)season + dates[i].offset);

        if (read_date(object, dates[i].key, date, err) != 0)
            return -1;
    }
    if (read_figures(object, season, err) != 0 ||
        read_spread(object, "bud_swell", &season->swell, err) != 0 ||
        read_spread(object, "bud_break", &season->bud_break, err) != 0 ||
        read_model(object, season, err) != 0)
        return -1;
    return read_days(object, season, err);
}
