/* The logbook for programs (docs/logbook.md). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "command/note.h"
#include "logbook/log_json.h"

enum { DIGITS_L = 3, DIGITS_BRIX = 2, DIGITS_PCT = 1, DIGITS_H = 2 };

static cJSON *begin(const struct operation *operation)
{
    cJSON *root = cJSON_CreateObject(), *object;

    cJSON_AddNumberToObject(root, "version", LOG_JSON_VERSION);
    object = cJSON_AddObjectToObject(root, "operation");
    cJSON_AddStringToObject(object, "name", operation->config->name);
    cJSON_AddStringToObject(object, "slug", operation->config->slug);
    return root;
}

static void add_time(cJSON *object, const char *key, const struct zone *zone,
                     utc_s at)
{
    char words[ISO_TIME_SIZE];

    iso_time_local(zone, at, words);
    cJSON_AddStringToObject(object, key, words);
}

static void add_history(cJSON *object, const struct logbook *book,
                        const char *uid, const struct zone *zone)
{
    cJSON *array = cJSON_AddArrayToObject(object, "history");

    for (int i = 0; i < book->count; i++) {
        const struct log_record *record = &book->records[i];
        cJSON *row;

        if (strcmp(record->uid, uid) != 0 && strcmp(record->target, uid) != 0)
            continue;
        row = cJSON_CreateObject();
        cJSON_AddStringToObject(row, "change", log_change_word(record->change));
        add_time(row, "written", zone, record->written);
        if (record->change != LOG_REMOVAL)
            log_json_add_note(row, &record->note);
        cJSON_AddItemToArray(array, row);
    }
}

char *note_list_json(const struct logbook *book,
                     const struct operation *operation, int season, bool all)
{
    cJSON *root = begin(operation);
    cJSON *array = cJSON_AddArrayToObject(root, "entries");
    struct log_view view;

    log_view_make(book, all, &view);
    for (int i = 0; i < view.count; i++) {
        const struct log_entry *entry = &view.entries[i];
        cJSON *object;

        if (!all && log_season_of(operation->zone, entry->note.at) != season)
            continue;
        object = cJSON_CreateObject();
        cJSON_AddNumberToObject(object, "number", entry->number);
        cJSON_AddStringToObject(object, "uid", entry->uid);
        log_json_add_note(object, &entry->note);
        add_time(object, "at_local", operation->zone, entry->note.at);
        cJSON_AddBoolToObject(object, "corrected", entry->corrected);
        cJSON_AddBoolToObject(object, "removed", entry->removed);
        cJSON_AddBoolToObject(object, "waiting", entry->waiting);
        if (all)
            add_history(object, book, entry->uid, operation->zone);
        cJSON_AddItemToArray(array, object);
    }
    log_view_free(&view);
    return json_to_line(root);
}

static void add_bush(cJSON *object, int taps,
                     const struct log_bush_season *bush,
                     const struct zone *zone)
{
    cJSON_AddNumberToObject(object, "taps", taps);
    if (bush->has_tapped)
        add_time(object, "tapped", zone, bush->tapped);
    if (bush->has_pulled)
        add_time(object, "pulled", zone, bush->pulled);
    cJSON_AddNumberToObject(object, "collections", bush->collections);
    json_add_rounded(object, "sap_l", bush->sap_l, DIGITS_L);
    if (taps > 0)
        json_add_rounded(object, "sap_l_per_tap", bush->sap_l / taps, DIGITS_L);
    if (bush->has_brix)
        json_add_rounded(object, "sap_brix", bush->brix, DIGITS_BRIX);
}

static void add_classes(cJSON *object, const double *grade_l)
{
    cJSON *classes = cJSON_AddObjectToObject(object, "syrup_l_by_class");

    for (int grade = 0; grade < GRADE_COUNT; grade++)
        json_add_rounded(classes, grade_word((enum grade)grade), grade_l[grade],
                         DIGITS_L);
}

static void add_weeks(cJSON *root, const struct log_season *season)
{
    cJSON *array = cJSON_AddArrayToObject(root, "weeks");

    for (int i = 0; i < season->week_count; i++) {
        const struct log_week *week = &season->weeks[i];
        cJSON *object = cJSON_CreateObject();
        char date[ISO_DATE_SIZE];

        iso_date(week->monday, date);
        cJSON_AddStringToObject(object, "monday", date);
        json_add_rounded(object, "syrup_l", week->syrup_l, DIGITS_L);
        if (week->has_light)
            json_add_rounded(object, "light_pct", week->light_pct, DIGITS_PCT);
        add_classes(object, week->grade_l);
        cJSON_AddBoolToObject(object, "off_flavour", week->off_flavour);
        cJSON_AddItemToArray(array, object);
    }
}

char *note_season_json(const struct log_season *season,
                       const struct log_bush *bushes, int bush_count,
                       const struct operation *operation)
{
    cJSON *root = begin(operation);
    cJSON *array = cJSON_AddArrayToObject(root, "bushes");

    cJSON_AddNumberToObject(root, "season", season->year);
    for (int i = 0; i < bush_count; i++) {
        cJSON *object = cJSON_CreateObject();

        cJSON_AddStringToObject(object, "name", bushes[i].name);
        add_bush(object, bushes[i].taps, &season->bushes[i], operation->zone);
        cJSON_AddItemToArray(array, object);
    }
    add_bush(cJSON_AddObjectToObject(root, "together"), season->taps,
             &season->together, operation->zone);
    cJSON_AddNumberToObject(root, "boils", season->boils);
    json_add_rounded(root, "boiled_l", season->boiled_l, DIGITS_L);
    json_add_rounded(root, "boil_hours", season->boil_hours, DIGITS_H);
    cJSON_AddNumberToObject(root, "draws", season->draws);
    json_add_rounded(root, "syrup_l", season->syrup_l, DIGITS_L);
    if (season->taps > 0)
        json_add_rounded(root, "syrup_l_per_tap",
                         season->syrup_l / season->taps, DIGITS_L);
    if (log_season_ratio(season) > 0)
        json_add_rounded(root, "sap_per_syrup", log_season_ratio(season),
                         DIGITS_BRIX);
    add_classes(root, season->grade_l);
    json_add_rounded(root, "unclassed_l", season->unclassed_l, DIGITS_L);
    add_weeks(root, season);
    return json_to_line(root);
}
