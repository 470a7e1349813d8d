/* The memory as JSON: times in ISO 8601, so that a person who opens the store
 * can read it. */
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/words.h"
#include "daemon/post_decide.h"

static void add_time(cJSON *object, const char *key, utc_s instant)
{
    char words[ISO_TIME_SIZE];

    if (instant == 0)
        return;
    iso_time_utc(instant, words);
    cJSON_AddStringToObject(object, key, words);
}

static void add_date(cJSON *object, const char *key, struct civil_date date)
{
    char words[ISO_DATE_SIZE];

    if (date.year == 0)
        return;
    iso_date(date, words);
    cJSON_AddStringToObject(object, key, words);
}

static void add_conditions(cJSON *root, const struct post_memory *memory)
{
    cJSON *array = cJSON_AddArrayToObject(root, "conditions");

    for (int kind = 0; kind < MAIL_KINDS; kind++) {
        const struct post_condition *condition = &memory->conditions[kind];
        cJSON *object;

        if (!condition->active)
            continue;
        object = cJSON_CreateObject();
        cJSON_AddItemToArray(array, object);
        cJSON_AddStringToObject(object, "kind",
                                mail_kind_word((enum mail_kind)kind));
        add_time(object, "since", condition->since);
        add_time(object, "seen", condition->seen);
        add_time(object, "told", condition->told);
    }
}

static void add_told(cJSON *root, const struct post_memory *memory)
{
    cJSON *array;

    if (!memory->has_told)
        return;
    array = cJSON_AddArrayToObject(root, "plan");
    for (int i = 0; i < memory->told_count; i++) {
        cJSON *object = cJSON_CreateObject();

        cJSON_AddItemToArray(array, object);
        cJSON_AddStringToObject(object, "kind",
                                action_word(memory->told[i].kind));
        add_date(object, "date", memory->told[i].date);
        add_time(object, "start", memory->told[i].start);
        add_time(object, "end", memory->told[i].end);
    }
}

char *post_memory_to_json(const struct post_memory *memory)
{
    cJSON *root = cJSON_CreateObject();
    char *words;

    add_date(root, "morning", memory->morning);
    add_conditions(root, memory);
    add_told(root, memory);
    words = cJSON_PrintUnformatted(root);
    cJSON_Delete(root);
    return words;
}

static utc_s get_time(const cJSON *object, const char *key)
{
    const char *words = json_string(object, key);
    utc_s instant = 0;

    if (words == NULL || iso_time_parse(words, 0, &instant, NULL) != 0)
        return 0;
    return instant;
}

static void get_conditions(const cJSON *root, struct post_memory *out)
{
    const cJSON *item;

    cJSON_ArrayForEach(item, json_array(root, "conditions"))
    {
        const char *word = json_string(item, "kind");
        int kind = word != NULL ? mail_kind_from_word(word) : -1;

        if (kind < 0)
            continue;
        out->conditions[kind].active = true;
        out->conditions[kind].since = get_time(item, "since");
        out->conditions[kind].seen = get_time(item, "seen");
        out->conditions[kind].told = get_time(item, "told");
    }
}

static void get_told(const cJSON *root, struct post_memory *out)
{
    const cJSON *array = json_array(root, "plan"), *item;

    out->has_told = array != NULL;
    cJSON_ArrayForEach(item, array)
    {
        const char *word = json_string(item, "kind");
        const char *date = json_string(item, "date");
        struct mail_told *told = &out->told[out->told_count];
        int kind = word != NULL ? action_from_word(word) : -1;

        if (kind < 0 || date == NULL || out->told_count >= MAIL_MAX_TOLD ||
            iso_date_parse(date, &told->date, NULL) != 0)
            continue;
        told->kind = (enum action_kind)kind;
        told->start = get_time(item, "start");
        told->end = get_time(item, "end");
        out->told_count++;
    }
}

int post_memory_from_json(const char *words, struct post_memory *out,
                          struct error *err)
{
    const char *date;
    cJSON *root;

    memset(out, 0, sizeof *out);
    root = json_parse(words, strlen(words), err);
    if (root == NULL)
        return -1;
    date = json_string(root, "morning");
    if (date != NULL && iso_date_parse(date, &out->morning, NULL) != 0)
        memset(&out->morning, 0, sizeof out->morning);
    get_conditions(root, out);
    get_told(root, out);
    cJSON_Delete(root);
    return 0;
}
