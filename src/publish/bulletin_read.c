/* The bulletin out of its JSON. */
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/bulletin_fields.h"
#include "publish/bulletin_plan.h"
#include "publish/saying_json.h"

/* What can be written as hours and minutes. */
enum { MAX_OFFSET_S = 86400 - 60 };

/* Between fetching the weather and making the bulletin. */
enum { WEATHER_MAX_AGE_S = 366 * SECONDS_PER_DAY };

static int read_offsets(const cJSON *operation, struct bulletin *bulletin,
                        struct error *err)
{
    const cJSON *array, *item;
    int length = field_array(operation, "utc_offsets", &array, err);

    if (length < 0)
        return -1;
    cJSON_ArrayForEach(item, array)
    {
        struct bulletin_offset *row =
            &bulletin->offsets[bulletin->offset_count];
        long offset_s;

        if (bulletin->offset_count == BULLETIN_MAX_OFFSETS)
            break;
        if (field_time(item, "from", &row->from, err) != 0)
            return -1;
        if (!json_integer(item, "offset_s", -MAX_OFFSET_S, MAX_OFFSET_S,
                          &offset_s))
            return field_missing("offset_s", err);
        row->offset_s = (int)offset_s;
        bulletin->offset_count++;
    }
    return 0;
}

static int read_operation(const cJSON *root, struct bulletin *bulletin,
                          struct error *err)
{
    const cJSON *object = json_object(root, "operation");
    char units[16];

    if (object == NULL)
        return field_missing("operation", err);
    if (field_text(object, "name", bulletin->operation,
                   sizeof bulletin->operation, err) != 0 ||
        field_text(object, "slug", bulletin->slug, sizeof bulletin->slug,
                   err) != 0 ||
        field_text(object, "time_zone", bulletin->zone_name,
                   sizeof bulletin->zone_name, err) != 0 ||
        field_text(object, "language", bulletin->language,
                   sizeof bulletin->language, err) != 0 ||
        field_text(object, "units", units, sizeof units, err) != 0)
        return -1;
    bulletin->units = strcmp(units, "us") == 0 ? UNITS_US : UNITS_METRIC;
    return read_offsets(object, bulletin, err);
}

static int read_source(const cJSON *object, void *out, struct error *err)
{
    struct bulletin_source *row = out;
    if (field_text(object, "name", row->name, sizeof row->name, err) != 0 ||
        field_text(object, "credit", row->credit, sizeof row->credit, err) !=
            0 ||
        field_text(object, "credit_url", row->credit_url,
                   sizeof row->credit_url, err) != 0 ||
        field_text(object, "trouble", row->trouble, sizeof row->trouble, err) !=
            0 ||
        field_flag(object, "in_use", &row->in_use, err) != 0 ||
        field_time(object, "issued", &row->issued, err) != 0 ||
        field_time(object, "fetched", &row->fetched, err) != 0)
        return -1;
    return field_time(object, "trouble_since", &row->trouble_since, err);
}

static int read_sources(const cJSON *root, struct bulletin *bulletin,
                        struct error *err)
{
    void *rows = NULL;
    int status = field_rows(root, "sources", sizeof *bulletin->sources,
                            read_source, &rows, &bulletin->source_count, err);

    bulletin->sources = rows;
    return status;
}

static int read_day(const cJSON *object, void *out, struct error *err)
{
    struct bulletin_day *day = out;
    int strength;

    if (field_date(object, &day->date, err) != 0 ||
        field_flag(object, "known", &day->known, err) != 0)
        return -1;
    if (!day->known)
        return 0;
    if (field_word(object, "strength", strength_from_word, &strength, err) !=
            0 ||
        field_window(object, &day->has_window, &day->run_start, &day->run_end,
                     err) != 0)
        return -1;
    day->strength = (enum strength)strength;
    return field_figures(object, bulletin_day_figures, day, err);
}

static int read_days(const cJSON *root, struct bulletin *bulletin,
                     struct error *err)
{
    void *rows = NULL;
    int status = field_rows(root, "days", sizeof *bulletin->days, read_day,
                            &rows, &bulletin->day_count, err);

    bulletin->days = rows;
    return status;
}

static int read_bushes(const cJSON *root, struct bulletin *bulletin,
                       struct error *err)
{
    void *rows = NULL;
    int status =
        field_rows(root, "bushes", sizeof *bulletin->bushes, bulletin_read_bush,
                   &rows, &bulletin->bush_count, err);

    bulletin->bushes = rows;
    return status;
}

static int read_action(const cJSON *object, void *out, struct error *err)
{
    struct bulletin_action *action = out;
    int kind, averts;

    if (field_word(object, "kind", action_from_word, &kind, err) != 0 ||
        field_date(object, &action->date, err) != 0 ||
        field_flag(object, "all_day", &action->all_day, err) != 0 ||
        field_time(object, "start", &action->start, err) != 0 ||
        field_time(object, "end", &action->end, err) != 0 ||
        field_text(object, "reason", action->reason, sizeof action->reason,
                   err) != 0 ||
        field_text(object, "unless", action->unless, sizeof action->unless,
                   err) != 0)
        return -1;
    action->kind = (enum action_kind)kind;
    if (json_string(object, "detail") != NULL &&
        field_text(object, "detail", action->detail, sizeof action->detail,
                   err) != 0)
        return -1;
    action_said_read(object, action);
    (void)json_number(object, "syrup_l", &action->syrup_l);
    (void)json_number(object, "draw_off_c", &action->draw_off_c);
    if (field_time(object, "start_by", &action->start_by, err) != 0 ||
        field_time(object, "done_by", &action->done_by, err) != 0)
        return -1;
    if (json_string(object, "bush") != NULL &&
        field_text(object, "bush", action->bush, sizeof action->bush, err) != 0)
        return -1;
    /* A word of a later version is none that is known here. */
    if (json_string(object, "averts") != NULL &&
        field_word(object, "averts", averts_from_word, &averts, NULL) == 0)
        action->averts = (enum action_averts)averts;
    return json_number(object, "sap_l", &action->sap_l)
               ? 0
               : field_missing("sap_l", err);
}

static int read_actions(const cJSON *root, struct bulletin *bulletin,
                        struct error *err)
{
    void *rows = NULL;
    int status = field_rows(root, "actions", sizeof *bulletin->actions,
                            read_action, &rows, &bulletin->action_count, err);

    bulletin->actions = rows;
    return status;
}

static int read_notes(const cJSON *root, struct bulletin *bulletin,
                      struct error *err)
{
    const cJSON *array, *item;

    if (field_array(root, "notes", &array, err) < 0)
        return -1;
    cJSON_ArrayForEach(item, array)
    {
        if (cJSON_IsString(item))
            error_list_add(&bulletin->notes, "%s", item->valuestring);
    }
    notes_said_read(root, bulletin);
    return 0;
}

/* Absent in a bulletin without pressure: it then holds no hours. */
static int read_pan(const cJSON *root, struct bulletin_pan *pan,
                    struct error *err)
{
    const cJSON *object = json_object(root, "pan"), *array, *item;
    int hour = 0;

    if (object == NULL)
        return 0;
    if (field_count(object, "count", BULLETIN_PAN_HOURS, &pan->hours, err) !=
            0 ||
        field_time(object, "start", &pan->start, err) != 0 ||
        field_array(object, "station_pressure_hpa", &array, err) < 0)
        return -1;
    json_number(object, "syrup_brix", &pan->syrup_brix); /* may be absent */
    if (!json_number(object, "elevation_m", &pan->elevation_m))
        return field_missing("elevation_m", err);
    if (cJSON_GetArraySize(array) != pan->hours)
        return error_set(err, _("\"%s\" does not hold %d values"),
                         "station_pressure_hpa", pan->hours);
    cJSON_ArrayForEach(item, array)
    {
        pan->known[hour] = cJSON_IsNumber(item);
        if (pan->known[hour])
            pan->station_pressure_hpa[hour] = item->valuedouble;
        hour++;
    }
    return 0;
}

static int read_version(const cJSON *root, struct error *err)
{
    long version;

    if (!json_integer(root, "version", 1, 1000000, &version))
        return field_missing("version", err);
    if (version > BULLETIN_VERSION)
        return error_set(err,
                         _("it is of version %ld, written by a newer thawbell;"
                           " this one reads version %d"),
                         version, BULLETIN_VERSION);
    return 0;
}

static int read_made(const cJSON *root, struct bulletin *bulletin,
                     struct error *err)
{
    if (field_time(root, "made", &bulletin->made, err) != 0 ||
        field_time(root, "weather_fetched", &bulletin->weather_from, err) != 0)
        return -1;
    if (bulletin->made == 0)
        return field_missing("made", err);
    /* No forecast reaches so far; 0 is none. */
    if (bulletin->weather_from != 0 &&
        bulletin->weather_from < bulletin->made - WEATHER_MAX_AGE_S)
        return error_set(err, _("\"weather_fetched\" is more than a year "
                                "before \"made\""));
    return 0;
}

static int read_root(const cJSON *root, struct bulletin *bulletin,
                     struct error *err)
{
    if (read_version(root, err) != 0 ||
        read_operation(root, bulletin, err) != 0 ||
        read_made(root, bulletin, err) != 0 ||
        read_days(root, bulletin, err) != 0 ||
        read_actions(root, bulletin, err) != 0 ||
        read_notes(root, bulletin, err) != 0 ||
        read_sources(root, bulletin, err) != 0 ||
        read_pan(root, &bulletin->pan, err) != 0 ||
        bulletin_plan_read(root, bulletin, err) != 0)
        return -1;
    return read_bushes(root, bulletin, err);
}

int bulletin_from_json(const char *bytes, size_t length, struct bulletin **out,
                       struct error *err)
{
    cJSON *root = json_parse(bytes, length, err);
    struct bulletin *bulletin;
    int result;

    *out = NULL;
    if (root == NULL)
        return -1;
    bulletin = bulletin_new();
    result = read_root(root, bulletin, err);
    cJSON_Delete(root);
    if (result == 0)
        *out = bulletin;
    else
        bulletin_free(bulletin);
    return result;
}
