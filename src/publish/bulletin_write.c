/* The bulletin as JSON: docs/bulletin.md says what each key means. */
#include <stdlib.h>

#include "base/json.h"
#include "base/memory.h"
#include "publish/bulletin.h"
#include "publish/bulletin_figures.h"
#include "publish/bulletin_plan.h"
#include "publish/bulletin_season.h"
#include "publish/saying_json.h"

enum { KEEP_BEFORE_MADE_DAYS = 1 };

void field_add_time(cJSON *object, const char *key,
                    const struct bulletin *bulletin, utc_s instant)
{
    char words[ISO_TIME_SIZE];

    if (instant == 0) {
        json_add_null(object, key);
        return;
    }
    iso_time_at(instant, bulletin_civil(bulletin, instant).offset_s, words);
    json_add_text(object, key, words);
}

static void add_date(cJSON *object, struct civil_date date)
{
    char words[ISO_DATE_SIZE];

    iso_date(date, words);
    json_add_text(object, "date", words);
}

static void add_count(cJSON *object, const char *key, int count)
{
    json_add_number(object, key, count);
}

static void add_offset(cJSON *array, const struct bulletin *bulletin,
                       utc_s from, int offset_s)
{
    cJSON *row = cJSON_CreateObject();

    field_add_time(row, "from", bulletin, from);
    add_count(row, "offset_s", offset_s);
    cJSON_AddItemToArray(array, row);
}

/* Looks at a quarter of an hour after the other only where the clock changes:
 * no zone changes it and back within half a day. */
static utc_s next_look(const struct bulletin *bulletin, utc_s at, int offset_s)
{
    utc_s far = at + SECONDS_PER_DAY / 2;

    return bulletin_civil(bulletin, far).offset_s == offset_s
               ? far
               : at + SECONDS_PER_HOUR / 4;
}

/* The offsets in force over the days told and a week more: a bulletin that
 * is read late still tells the right hour. */
static void add_offsets(cJSON *parent, const struct bulletin *bulletin)
{
    cJSON *array = json_add_array(parent, "utc_offsets");
    utc_s from = bulletin->made - 4 * SECONDS_PER_DAY;
    utc_s to = bulletin->made + 18 * SECONDS_PER_DAY;
    int rows = 0, last = 0;

    from -= from % SECONDS_PER_HOUR;
    for (utc_s at = from; at < to && rows < BULLETIN_MAX_OFFSETS;
         at = next_look(bulletin, at, last)) {
        int offset = bulletin_civil(bulletin, at).offset_s;

        if (rows > 0 && offset == last)
            continue;
        add_offset(array, bulletin, at, offset);
        last = offset;
        rows++;
    }
}

static void add_operation(cJSON *root, const struct bulletin *bulletin)
{
    cJSON *object = json_add_object(root, "operation");

    json_add_text(object, "name", bulletin->operation);
    json_add_text(object, "slug", bulletin->slug);
    json_add_text(object, "language", bulletin->language);
    json_add_text(object, "units",
                  bulletin->units == UNITS_US ? "us" : "metric");
    json_add_text(object, "time_zone", bulletin->zone_name);
    add_offsets(object, bulletin);
}

static void add_sources(cJSON *root, const struct bulletin *bulletin)
{
    cJSON *array = json_add_array(root, "sources");

    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];
        cJSON *object = cJSON_CreateObject();

        json_add_text(object, "name", source->name);
        json_add_text(object, "credit", source->credit);
        json_add_text(object, "credit_url", source->credit_url);
        json_add_bool(object, "in_use", source->in_use);
        field_add_time(object, "issued", bulletin, source->issued);
        field_add_time(object, "fetched", bulletin, source->fetched);
        json_add_text(object, "trouble", source->trouble);
        field_add_time(object, "trouble_since", bulletin,
                       source->trouble_since);
        cJSON_AddItemToArray(array, object);
    }
}

static void add_figures(cJSON *object, const struct bulletin_figure *figures,
                        const void *row)
{
    for (; figures->key != NULL; figures++) {
        const double *value =
            (const void *)((const char *)row + figures->offset);

        json_add_rounded(object, figures->key, *value, figures->decimals);
    }
}

static void add_window(cJSON *object, const struct bulletin *bulletin,
                       bool has_window, utc_s start, utc_s end)
{
    field_add_time(object, "run_start", bulletin, has_window ? start : 0);
    field_add_time(object, "run_end", bulletin, has_window ? end : 0);
}

static cJSON *day_to_json(const struct bulletin *bulletin,
                          const struct bulletin_day *day)
{
    cJSON *object = cJSON_CreateObject();

    add_date(object, day->date);
    json_add_bool(object, "known", day->known);
    if (!day->known)
        return object;
    json_add_text(object, "strength", strength_word(day->strength));
    add_window(object, bulletin, day->has_window, day->run_start, day->run_end);
    add_figures(object, bulletin_day_figures, day);
    return object;
}

static void add_days(cJSON *root, const struct bulletin *bulletin,
                     struct civil_date first)
{
    cJSON *array = json_add_array(root, "days");

    for (int i = 0; i < bulletin->day_count; i++)
        if (civil_date_compare(bulletin->days[i].date, first) >= 0)
            cJSON_AddItemToArray(array,
                                 day_to_json(bulletin, &bulletin->days[i]));
}

static cJSON *bush_day_to_json(const struct bulletin *bulletin,
                               const struct outlook_day *day)
{
    cJSON *object = cJSON_CreateObject();

    add_date(object, day->date);
    json_add_bool(object, "known", day->known);
    json_add_bool(object, "past", day->past);
    add_count(object, "day_hours", day->day_hours);
    add_count(object, "known_hours", day->known_hours);
    if (!day->known)
        return object;
    json_add_text(object, "strength", strength_word(day->strength));
    add_window(object, bulletin, day->has_window, day->run_start, day->run_end);
    field_add_time(object, "run_peak", bulletin,
                   day->has_window ? day->run_peak : 0);
    if (day->has_window_span) {
        field_add_time(object, "run_start_p10", bulletin, day->run_start_p10);
        field_add_time(object, "run_start_p90", bulletin, day->run_start_p90);
        field_add_time(object, "run_end_p10", bulletin, day->run_end_p10);
        field_add_time(object, "run_end_p90", bulletin, day->run_end_p90);
    }
    add_figures(object, bulletin_bush_day_figures, day);
    if (day->has_spread)
        json_add_rounded(object, "source_spread_k", day->source_spread_k,
                         DIGITS_C);
    return object;
}

static void add_bush_days(cJSON *object, const struct bulletin *bulletin,
                          const struct outlook *outlook)
{
    cJSON *array = json_add_array(object, "days");

    for (int i = 0; i < outlook->count; i++)
        cJSON_AddItemToArray(array,
                             bush_day_to_json(bulletin, &outlook->days[i]));
}

static int first_hour_kept(const struct bulletin *bulletin,
                           const struct outlook *outlook)
{
    struct civil_date day = civil_date_add(
        bulletin_date(bulletin, bulletin->made), -KEEP_BEFORE_MADE_DAYS);
    utc_s hours =
        (bulletin_noon(bulletin, day) - outlook->start) / SECONDS_PER_HOUR;

    if (hours < 0)
        return 0;
    return hours < outlook->hours ? (int)hours : outlook->hours;
}

static void add_hours(cJSON *object, const struct bulletin *bulletin,
                      const struct bulletin_bush *bush)
{
    const struct outlook *outlook = bush->outlook;
    const struct {
        const char *key;
        const double *values;
        const bool *known;
        int decimals;
    } rows[] = {
        {"sap_l_per_tap_p50", outlook->sap_l_per_tap, NULL, DIGITS_HOUR_L},
        {"sap_l_per_tap_p10", outlook->sap_l_per_tap_p10, NULL, DIGITS_HOUR_L},
        {"sap_l_per_tap_p90", outlook->sap_l_per_tap_p90, NULL, DIGITS_HOUR_L},
        {"air_temp_c", bush->air_temp_c, bush->air_known, DIGITS_C},
        {"air_temp_c_p10", outlook->air_temp_c_p10, bush->air_known, DIGITS_C},
        {"air_temp_c_p90", outlook->air_temp_c_p90, bush->air_known, DIGITS_C},
    };
    int first = first_hour_kept(bulletin, outlook), count = outlook->hours;
    cJSON *hours = json_add_object(object, "hours");

    field_add_time(hours, "start", bulletin,
                   outlook->start + (utc_s)first * SECONDS_PER_HOUR);
    add_count(hours, "count", count - first);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (rows[i].values != NULL)
            json_add_numbers(hours, rows[i].key, rows[i].values + first,
                             rows[i].known != NULL ? rows[i].known + first
                                                   : NULL,
                             count - first, rows[i].decimals);
}

static cJSON *bush_to_json(const struct bulletin_bush *bush)
{
    cJSON *object = cJSON_CreateObject(), *model;

    json_add_text(object, "name", bush->name);
    json_add_text(object, "species", species_word(bush->species));
    json_add_text(object, "gathering", gathering_word(bush->gathering));
    add_count(object, "taps", bush->taps);
    model = json_add_object(object, "model");
    json_add_text(model, "name", bush->outlook->model_name);
    json_add_text(model, "version", bush->outlook->model_version);
    json_add_text(model, "sha256", bush->outlook->model_digest);
    add_count(model, "members", bush->outlook->member_count);
    return object;
}

static void add_bushes(cJSON *root, const struct bulletin *bulletin)
{
    cJSON *array = json_add_array(root, "bushes");

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        cJSON *object = bush_to_json(bush);

        add_bush_days(object, bulletin, bush->outlook);
        add_hours(object, bulletin, bush);
        bulletin_season_write(object, bulletin, bush);
        cJSON_AddItemToArray(array, object);
    }
}

static cJSON *action_to_json(const struct bulletin *bulletin,
                             const struct bulletin_action *action)
{
    cJSON *object = cJSON_CreateObject();

    json_add_text(object, "kind", action_word(action->kind));
    add_date(object, action->date);
    json_add_bool(object, "all_day", action->all_day);
    field_add_time(object, "start", bulletin,
                   action->all_day ? 0 : action->start);
    field_add_time(object, "end", bulletin, action->all_day ? 0 : action->end);
    json_add_rounded(object, "sap_l", action->sap_l, DIGITS_L);
    json_add_text(object, "reason", action->reason);
    json_add_text(object, "unless", action->unless);
    if (action->detail[0] != '\0')
        json_add_text(object, "detail", action->detail);
    if (action->syrup_l > 0)
        json_add_rounded(object, "syrup_l", action->syrup_l, DIGITS_L);
    if (action->draw_off_c > 0)
        json_add_rounded(object, "draw_off_c", action->draw_off_c, DIGITS_C);
    if (action->start_by != 0)
        field_add_time(object, "start_by", bulletin, action->start_by);
    if (action->done_by != 0)
        field_add_time(object, "done_by", bulletin, action->done_by);
    if (action->bush[0] != '\0')
        json_add_text(object, "bush", action->bush);
    if (action->averts != AVERTS_NOTHING)
        json_add_text(object, "averts", averts_word(action->averts));
    action_said_write(object, bulletin, action);
    return object;
}

static void add_actions(cJSON *root, const struct bulletin *bulletin)
{
    cJSON *array = json_add_array(root, "actions");

    for (int i = 0; i < bulletin->action_count; i++)
        cJSON_AddItemToArray(array,
                             action_to_json(bulletin, &bulletin->actions[i]));
}

static void add_notes(cJSON *root, const struct bulletin *bulletin)
{
    cJSON *array = json_add_array(root, "notes");

    for (int i = 0; i < bulletin->notes.count; i++)
        cJSON_AddItemToArray(array,
                             cJSON_CreateString(bulletin->notes.items[i]));
    notes_said_write(root, bulletin);
}

static void add_pan(cJSON *root, const struct bulletin *bulletin)
{
    const struct bulletin_pan *pan = &bulletin->pan;
    cJSON *object;

    if (pan->hours == 0)
        return;
    object = json_add_object(root, "pan");
    json_add_rounded(object, "elevation_m", pan->elevation_m, DIGITS_M);
    if (pan->syrup_brix > 0)
        json_add_rounded(object, "syrup_brix", pan->syrup_brix, DIGITS_BRIX);
    field_add_time(object, "start", bulletin, pan->start);
    add_count(object, "count", pan->hours);
    json_add_numbers(object, "station_pressure_hpa", pan->station_pressure_hpa,
                     pan->known, pan->hours, DIGITS_HPA);
}

static cJSON *begin(const struct bulletin *bulletin)
{
    cJSON *root = cJSON_CreateObject();

    add_count(root, "version", BULLETIN_VERSION);
    add_operation(root, bulletin);
    field_add_time(root, "made", bulletin, bulletin->made);
    field_add_time(root, "weather_fetched", bulletin, bulletin->weather_from);
    return root;
}

char *bulletin_to_json(const struct bulletin *bulletin)
{
    static const struct civil_date always = {1, 1, 1};
    cJSON *root = begin(bulletin);

    add_days(root, bulletin, always);
    add_actions(root, bulletin);
    bulletin_lack_write(root, bulletin);
    add_notes(root, bulletin);
    add_sources(root, bulletin);
    add_bushes(root, bulletin);
    add_pan(root, bulletin);
    bulletin_plan_write(root, bulletin);
    return json_to_line(root);
}

char *bulletin_week_json(const struct bulletin *bulletin, utc_s now)
{
    cJSON *root = begin(bulletin);

    add_days(root, bulletin, bulletin_date(bulletin, now));
    add_actions(root, bulletin);
    bulletin_lack_write(root, bulletin);
    add_notes(root, bulletin);
    return json_to_line(root);
}

static void add_bush_day(cJSON *array, const struct bulletin *bulletin,
                         const struct bulletin_bush *bush,
                         struct civil_date date)
{
    const struct outlook_day *day = bulletin_bush_day(bush, date);
    cJSON *object;

    if (day == NULL)
        return;
    object = bush_to_json(bush);
    cJSON_AddItemToObject(object, "day", bush_day_to_json(bulletin, day));
    bulletin_season_write(object, bulletin, bush);
    cJSON_AddItemToArray(array, object);
}

char *bulletin_day_json(const struct bulletin *bulletin, struct civil_date date)
{
    const struct bulletin_day *day = bulletin_day(bulletin, date);
    cJSON *root, *array;

    if (day == NULL)
        return NULL;
    root = begin(bulletin);
    cJSON_AddItemToObject(root, "day", day_to_json(bulletin, day));
    array = json_add_array(root, "bushes");
    for (int i = 0; i < bulletin->bush_count; i++)
        add_bush_day(array, bulletin, &bulletin->bushes[i], date);
    bulletin_lack_write(root, bulletin);
    return json_to_line(root);
}
