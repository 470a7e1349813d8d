/* A bush with its days and hours out of the JSON. */
#include "base/memory.h"
#include "base/words.h"
#include "publish/bulletin_fields.h"
#include "publish/bulletin_season.h"

enum { MAX_HOURS = 24 * 60, MAX_TAPS = 10000000 };

/* Left out where the members do not agree on a window. */
static int read_window_span(const cJSON *object, struct outlook_day *day,
                            struct error *err)
{
    if (field_time(object, "run_start_p10", &day->run_start_p10, err) != 0 ||
        field_time(object, "run_start_p90", &day->run_start_p90, err) != 0 ||
        field_time(object, "run_end_p10", &day->run_end_p10, err) != 0 ||
        field_time(object, "run_end_p90", &day->run_end_p90, err) != 0)
        return -1;
    day->has_window_span = day->run_start_p10 && day->run_start_p90 &&
                           day->run_end_p10 && day->run_end_p90;
    return 0;
}

static int read_bush_day(const cJSON *object, void *out, struct error *err)
{
    struct outlook_day *day = out;
    int strength;

    if (field_date(object, &day->date, err) != 0 ||
        field_flag(object, "known", &day->known, err) != 0 ||
        field_flag(object, "past", &day->past, err) != 0 ||
        field_count(object, "day_hours", 48, &day->day_hours, err) != 0 ||
        field_count(object, "known_hours", 48, &day->known_hours, err) != 0)
        return -1;
    if (!day->known)
        return 0;
    if (field_word(object, "strength", strength_from_word, &strength, err) !=
            0 ||
        field_window(object, &day->has_window, &day->run_start, &day->run_end,
                     err) != 0 ||
        field_time(object, "run_peak", &day->run_peak, err) != 0)
        return -1;
    day->strength = (enum strength)strength;
    if (read_window_span(object, day, err) != 0)
        return -1;
    day->has_spread =
        json_number(object, "source_spread_k", &day->source_spread_k);
    return field_figures(object, bulletin_bush_day_figures, day, err);
}

static int read_bush_days(const cJSON *object, struct outlook *outlook,
                          struct error *err)
{
    void *rows = NULL;
    int status = field_rows(object, "days", sizeof *outlook->days,
                            read_bush_day, &rows, &outlook->count, err);

    outlook->days = rows;
    return status;
}

/* An array of as many numbers as there are hours; a null is 0 and, where
 * `known` is given, not known. NULL if there is no such array. */
static int read_numbers(const cJSON *hours, const char *key, int count,
                        double **out, bool **known, struct error *err)
{
    const cJSON *array = json_array(hours, key), *item;
    int row = 0;

    if (array == NULL)
        return 0;
    if (cJSON_GetArraySize(array) != count)
        return error_set(err, _("\"%s\" does not hold %d values"), key, count);
    *out = mem_alloc((size_t)count + 1, sizeof **out);
    if (known != NULL)
        *known = mem_alloc((size_t)count + 1, sizeof **known);
    cJSON_ArrayForEach(item, array)
    {
        if (cJSON_IsNumber(item))
            (*out)[row] = item->valuedouble;
        if (known != NULL)
            (*known)[row] = cJSON_IsNumber(item);
        row++;
    }
    return 0;
}

static int read_hours(const cJSON *object, struct bulletin_bush *bush,
                      struct error *err)
{
    const cJSON *hours = json_object(object, "hours");
    struct outlook *outlook = bush->outlook;
    int count;

    if (hours == NULL)
        return field_missing("hours", err);
    if (field_time(hours, "start", &outlook->start, err) != 0 ||
        field_count(hours, "count", MAX_HOURS, &count, err) != 0)
        return -1;
    outlook->hours = count;
    if (read_numbers(hours, "sap_l_per_tap_p50", count, &outlook->sap_l_per_tap,
                     NULL, err) != 0 ||
        read_numbers(hours, "sap_l_per_tap_p10", count,
                     &outlook->sap_l_per_tap_p10, NULL, err) != 0 ||
        read_numbers(hours, "sap_l_per_tap_p90", count,
                     &outlook->sap_l_per_tap_p90, NULL, err) != 0 ||
        read_numbers(hours, "air_temp_c_p10", count, &outlook->air_temp_c_p10,
                     NULL, err) != 0 ||
        read_numbers(hours, "air_temp_c_p90", count, &outlook->air_temp_c_p90,
                     NULL, err) != 0)
        return -1;
    return read_numbers(hours, "air_temp_c", count, &bush->air_temp_c,
                        &bush->air_known, err);
}

static int read_model(const cJSON *object, struct outlook *outlook,
                      struct error *err)
{
    const cJSON *model = json_object(object, "model");

    if (model == NULL)
        return field_missing("model", err);
    if (field_text(model, "name", outlook->model_name,
                   sizeof outlook->model_name, err) != 0 ||
        field_text(model, "version", outlook->model_version,
                   sizeof outlook->model_version, err) != 0 ||
        field_text(model, "sha256", outlook->model_digest,
                   sizeof outlook->model_digest, err) != 0)
        return -1;
    return field_count(model, "members", FIELD_MAX_ROWS, &outlook->member_count,
                       err);
}

int bulletin_read_bush(const cJSON *object, void *out, struct error *err)
{
    struct bulletin_bush *bush = out;
    int species, gathering;

    bush->outlook = mem_alloc(1, sizeof *bush->outlook);
    if (field_text(object, "name", bush->name, sizeof bush->name, err) != 0 ||
        field_word(object, "species", species_from_word, &species, err) != 0 ||
        field_word(object, "gathering", gathering_from_word, &gathering, err) !=
            0 ||
        field_count(object, "taps", MAX_TAPS, &bush->taps, err) != 0 ||
        read_model(object, bush->outlook, err) != 0 ||
        read_bush_days(object, bush->outlook, err) != 0)
        return -1;
    bush->species = (enum species)species;
    bush->gathering = (enum gathering)gathering;
    if (read_hours(object, bush, err) != 0)
        return -1;
    return bulletin_season_read(object, bush, err);
}
