#include "publish/saying_json.h"

#include <math.h>
#include <string.h>

#include "publish/bulletin.h"

static const char *const keys[SAID_KINDS] = {
    [SAID_VOLUME] = "volume_l", [SAID_CHANCE] = "chance",
    [SAID_MOMENT] = "moment",   [SAID_CLOCK] = "clock",
    [SAID_DATE] = "date",       [SAID_HEAT] = "heat_c",
    [SAID_COUNT] = "count",     [SAID_NEAR_HEAT] = "near_heat_c"};

static const char *const places[SAYING_PLACES] = {[SAYING_REASON] = "reason",
                                                  [SAYING_DETAIL] = "detail",
                                                  [SAYING_UNLESS] = "unless"};

static void add_value(cJSON *array, const struct bulletin *bulletin,
                      const struct saying_value *value)
{
    cJSON *object = cJSON_CreateObject();
    const char *key = keys[value->kind];
    char date[ISO_DATE_SIZE];

    if (value->kind == SAID_MOMENT || value->kind == SAID_CLOCK) {
        field_add_time(object, key, bulletin, (utc_s)value->number);
    } else if (value->kind == SAID_DATE) {
        iso_date(civil_date_from_day_number((int64_t)value->number), date);
        json_add_text(object, key, date);
    } else {
        json_add_rounded(object, key, value->number,
                         saying_decimals(value->kind));
    }
    cJSON_AddItemToArray(array, object);
}

static void add_saying(cJSON *object, const struct bulletin *bulletin,
                       const struct saying *saying)
{
    cJSON *values;

    json_add_text(object, "words", saying->pattern);
    values = json_add_array(object, "values");
    for (int i = 0; i < SAYING_VALUES; i++)
        if (saying->values[i].kind != SAID_NOTHING)
            add_value(values, bulletin, &saying->values[i]);
}

void action_said_write(cJSON *object, const struct bulletin *bulletin,
                       const struct bulletin_action *action)
{
    cJSON *array;

    if (action->said_count == 0)
        return;
    array = json_add_array(object, "said");
    for (int i = 0; i < action->said_count; i++) {
        cJSON *row = cJSON_CreateObject();

        json_add_text(row, "in", places[action->said[i].place]);
        add_saying(row, bulletin, &action->said[i].saying);
        cJSON_AddItemToArray(array, row);
    }
}

void notes_said_write(cJSON *root, const struct bulletin *bulletin)
{
    cJSON *array;

    if (bulletin->note_said_count == 0)
        return;
    array = json_add_array(root, "notes_said");
    for (int i = 0; i < bulletin->note_said_count; i++) {
        cJSON *row = cJSON_CreateObject();

        json_add_number(row, "note", bulletin->notes_said[i].note);
        add_saying(row, bulletin, &bulletin->notes_said[i].saying);
        cJSON_AddItemToArray(array, row);
    }
}

static bool read_number(const cJSON *object, enum saying_kind kind, double *out)
{
    struct civil_date date;
    struct error err;
    utc_s instant = 0;

    if (kind == SAID_MOMENT || kind == SAID_CLOCK) {
        if (field_time(object, keys[kind], &instant, &err) != 0)
            return false;
        *out = (double)instant;
        return instant != 0;
    }
    if (kind == SAID_DATE) {
        if (field_date(object, &date, &err) != 0)
            return false;
        *out = (double)civil_day_number(date);
        return true;
    }
    return json_number(object, keys[kind], out) && isfinite(*out) &&
           *out >= 0 && *out < 1e9;
}

static bool read_value(const cJSON *object, struct saying_value *value)
{
    for (int kind = SAID_NOTHING + 1; kind < SAID_KINDS; kind++)
        if (cJSON_GetObjectItemCaseSensitive(object, keys[kind]) != NULL) {
            value->kind = (enum saying_kind)kind;
            return read_number(object, value->kind, &value->number);
        }
    return false;
}

static bool read_saying(const cJSON *object, struct saying *saying)
{
    const cJSON *array, *item;
    struct error err;
    int count = 0;

    memset(saying, 0, sizeof *saying);
    if (field_text(object, "words", saying->pattern, sizeof saying->pattern,
                   &err) != 0 ||
        field_array(object, "values", &array, &err) < 0 ||
        cJSON_GetArraySize(array) > SAYING_VALUES)
        return false;
    cJSON_ArrayForEach(item, array)
    {
        if (!read_value(item, &saying->values[count++]))
            return false;
    }
    return saying->pattern[0] != '\0';
}

static int place_from_word(const char *word)
{
    for (int i = 0; i < SAYING_PLACES; i++)
        if (strcmp(word, places[i]) == 0)
            return i;
    return -1;
}

/* All or none: half of a reason would be a wrong one. */
void action_said_read(const cJSON *object, struct bulletin_action *action)
{
    const cJSON *array = cJSON_GetObjectItemCaseSensitive(object, "said");
    const cJSON *item;
    struct error err;
    int count = 0, place;

    if (!cJSON_IsArray(array) || cJSON_GetArraySize(array) > ACTION_SAYINGS)
        return;
    cJSON_ArrayForEach(item, array)
    {
        if (field_word(item, "in", place_from_word, &place, &err) != 0 ||
            !read_saying(item, &action->said[count].saying))
            return;
        action->said[count++].place = (enum saying_place)place;
    }
    action->said_count = count;
}

void notes_said_read(const cJSON *root, struct bulletin *bulletin)
{
    const cJSON *array = cJSON_GetObjectItemCaseSensitive(root, "notes_said");
    const cJSON *item;
    long note;

    cJSON_ArrayForEach(item, array)
    {
        struct bulletin_note_said *said =
            &bulletin->notes_said[bulletin->note_said_count];

        if (bulletin->note_said_count == BULLETIN_NOTES_SAID)
            return;
        if (!json_integer(item, "note", 0, bulletin->notes.count - 1, &note) ||
            !read_saying(item, &said->saying))
            continue;
        said->note = (int)note;
        bulletin->note_said_count++;
    }
}
