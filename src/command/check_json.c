/* thawbell check --json. */
#include <stdio.h>
#include <stdlib.h>

#include "base/json.h"
#include "command/check.h"

static void add_list(cJSON *object, const char *key,
                     const struct error_list *list)
{
    cJSON *array = cJSON_AddArrayToObject(object, key);
    for (int i = 0; i < list->count; i++)
        cJSON_AddItemToArray(array, cJSON_CreateString(list->items[i]));
}

static void add_source(cJSON *array, const struct bulletin_source *source)
{
    cJSON *object = cJSON_CreateObject();
    cJSON_AddItemToArray(array, object);
    cJSON_AddStringToObject(object, "name", source->name);
    cJSON_AddBoolToObject(object, "in_use", source->in_use);
    json_add_time(object, "fetched", source->fetched);
    cJSON_AddStringToObject(object, "trouble", source->trouble);
    json_add_time(object, "trouble_since", source->trouble_since);
}

static void add_bulletin(cJSON *object, const struct checked *checked,
                         utc_s now)
{
    const struct bulletin *bulletin = checked->bulletin;
    cJSON_AddStringToObject(object, "folder", checked->folder);
    if (checked->unreadable.text[0])
        cJSON_AddStringToObject(object, "bulletin_error",
                                checked->unreadable.text);
    if (!bulletin)
        return;
    cJSON *state = cJSON_AddObjectToObject(object, "bulletin");
    json_add_time(state, "made", bulletin->made);
    json_add_time(state, "weather_from", bulletin->weather_from);
    cJSON_AddNumberToObject(state, "age_s", (double)(now - bulletin->made));
    cJSON *sources = cJSON_AddArrayToObject(state, "sources");
    for (int i = 0; i < bulletin->source_count; i++)
        add_source(sources, &bulletin->sources[i]);
}

static void add_file(cJSON *array, const struct checked *checked, utc_s now)
{
    const struct config *config = checked->config;
    cJSON *object = cJSON_CreateObject();
    cJSON_AddItemToArray(array, object);
    cJSON_AddStringToObject(object, "path", checked->path);
    cJSON_AddBoolToObject(object, "ok", checked->errors.count == 0);
    add_list(object, "errors", &checked->errors);
    add_list(object, "warnings", &checked->warnings);
    if (!config)
        return;
    add_list(object, "assumed", &config->assumed);
    cJSON_AddStringToObject(object, "operation", config->name);
    cJSON_AddStringToObject(object, "slug", config->slug);
    cJSON_AddStringToObject(object, "time_zone", config->zone_name);
    add_bulletin(object, checked, now);
    if (checked->store_unusable.text[0])
        cJSON_AddStringToObject(object, "store_error",
                                checked->store_unusable.text);
    if (checked->mail != NULL)
        cJSON_AddItemToObject(object, "mail",
                              cJSON_Duplicate(checked->mail, true));
}

void check_print_json(const struct checked *files, int count, utc_s now)
{
    cJSON *root = cJSON_CreateObject();
    cJSON_AddNumberToObject(root, "version", 1);
    cJSON *array = cJSON_AddArrayToObject(root, "files");
    for (int i = 0; i < count; i++)
        add_file(array, &files[i], now);
    char *words = json_to_line(root);
    fputs(words, stdout);
    free(words);
}
