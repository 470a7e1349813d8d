/* The numbers at the pan for programs (docs/syrup.md). */
#include <stdlib.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "command/syrup.h"
#include "sugarhouse/syrup.h"

enum {
    VERSION = 1,
    DIGITS_HPA = 1,
    DIGITS_C = 2,
    DIGITS_BRIX = 2,
    DIGITS_L = 2
};

static void add_time(cJSON *object, const char *key, const struct zone *zone,
                     utc_s at)
{
    char words[ISO_TIME_SIZE];

    iso_time_local(zone, at, words);
    cJSON_AddStringToObject(object, key, words);
}

static void add_heat(cJSON *root, const char *key, const struct pan_heat *heat)
{
    cJSON *object = cJSON_AddObjectToObject(root, key);

    json_add_rounded(object, "mean", heat->c, DIGITS_C);
    json_add_rounded(object, "min", heat->min_c, DIGITS_C);
    json_add_rounded(object, "max", heat->max_c, DIGITS_C);
}

static void add_air(cJSON *root, const struct syrup_day *day)
{
    static const char *const origins[] = {"forecast", "told", "standard"};
    static const char *const kinds[BAROMETER_COUNT] = {"station", "sea level",
                                                       "altimeter"};
    cJSON *object = cJSON_AddObjectToObject(root, "station_pressure_hpa");

    json_add_rounded(object, "mean", day->order.air.mean_hpa, DIGITS_HPA);
    json_add_rounded(object, "min", day->order.air.min_hpa, DIGITS_HPA);
    json_add_rounded(object, "max", day->order.air.max_hpa, DIGITS_HPA);
    cJSON_AddStringToObject(root, "pressure_from", origins[day->air_from]);
    json_add_rounded(root, "elevation_m", day->elevation_m, 0);
    if (day->air_from == SYRUP_AIR_TOLD) {
        cJSON_AddStringToObject(root, "pressure_kind", kinds[day->barometer]);
        json_add_rounded(root, "pressure_told_hpa", day->told_hpa, DIGITS_HPA);
    }
    if (day->air_from == SYRUP_AIR_FORECAST)
        add_time(root, "forecast_made", day->operation->zone, day->made);
}

static cJSON *cup_json(const struct pan_cup *cup)
{
    cJSON *object = cJSON_CreateObject();

    json_add_rounded(object, "cup_c", cup->cup_c, DIGITS_C);
    json_add_rounded(object, "brix", cup->brix, DIGITS_BRIX);
    json_add_rounded(object, "baume", cup->baume, DIGITS_BRIX);
    return object;
}

static void add_cups(cJSON *root, const struct syrup_day *day)
{
    cJSON *object = cJSON_AddObjectToObject(root, "hydrometer"), *array;

    json_add_rounded(object, "set_c", HYDROMETER_SET_C, DIGITS_C);
    array = cJSON_AddArrayToObject(object, "readings");
    for (int i = 0; i < day->numbers.cup_count; i++)
        cJSON_AddItemToArray(array, cup_json(&day->numbers.cups[i]));
    if (day->has_cup)
        cJSON_AddItemToObject(object, "told", cup_json(&day->cup));
}

static void add_boil(cJSON *root, const struct syrup_day *day)
{
    static const char *const sap[] = {"told", "plan", "storage", "example"};
    static const char *const sugar[] = {"told", "log", "assumed"};
    const struct pan_numbers *numbers = &day->numbers;
    cJSON *object = cJSON_AddObjectToObject(root, "boil");

    json_add_rounded(object, "sap_l", day->order.sap_l, DIGITS_L);
    cJSON_AddStringToObject(object, "sap_from", sap[day->sap_from]);
    json_add_rounded(object, "sap_brix", day->order.sap_brix, DIGITS_BRIX);
    cJSON_AddStringToObject(object, "sap_brix_from", sugar[day->sugar_from]);
    json_add_rounded(object, "syrup_l", numbers->boil.syrup_l, DIGITS_L);
    json_add_rounded(object, "sap_per_syrup", numbers->ratio, DIGITS_L);
    json_add_rounded(object, "rule_syrup_l", numbers->rule_syrup_l, DIGITS_L);
    if (numbers->rule != NULL)
        json_add_rounded(object, "rule_syrup_brix", numbers->rule->syrup_brix,
                         DIGITS_BRIX);
    json_add_rounded(object, "water_l", numbers->boil.water_l, DIGITS_L);
    if (numbers->boil.hours > 0)
        json_add_rounded(object, "hours", numbers->boil.hours, DIGITS_L);
    json_add_rounded(object, "heat_mj", numbers->boil.heat_mj, 0);
    json_add_rounded(object, "wood_m3", numbers->boil.wood_m3, DIGITS_L);
    if (day->order.smallest_boil_l > 0)
        json_add_rounded(object, "smallest_boil_l", day->order.smallest_boil_l,
                         DIGITS_L);
    if (numbers->finish_l > 0)
        json_add_rounded(object, "finish_l", numbers->finish_l, DIGITS_L);
    if (numbers->sweet.l > 0) {
        json_add_rounded(object, "sweet_l", numbers->sweet.l, DIGITS_L);
        json_add_rounded(object, "sweet_brix", numbers->sweet.brix,
                         DIGITS_BRIX);
        json_add_rounded(object, "dry_start_less_syrup_l", numbers->dry_start_l,
                         DIGITS_L);
    }
}

static void add_words(cJSON *root, const struct syrup_day *day)
{
    cJSON *doubts = cJSON_AddArrayToObject(root, "doubts");
    cJSON *cautions = cJSON_AddArrayToObject(root, "cautions");

    for (int i = 0; i < day->doubts.count; i++)
        cJSON_AddItemToArray(doubts, cJSON_CreateString(day->doubts.items[i]));
    for (int i = 0; syrup_cautions[i] != NULL; i++)
        cJSON_AddItemToArray(cautions,
                             cJSON_CreateString(_(syrup_cautions[i])));
}

char *syrup_json(const struct syrup_day *day)
{
    const struct config *config = day->operation->config;
    cJSON *root = cJSON_CreateObject(), *object;

    cJSON_AddNumberToObject(root, "version", VERSION);
    object = cJSON_AddObjectToObject(root, "operation");
    cJSON_AddStringToObject(object, "name", config->name);
    cJSON_AddStringToObject(object, "slug", config->slug);
    add_time(root, "from", day->operation->zone, day->from);
    add_time(root, "to", day->operation->zone, day->to);
    cJSON_AddBoolToObject(root, "of_plan", day->of_plan);
    add_air(root, day);
    add_heat(root, "water_boils_c", &day->numbers.water);
    add_heat(root, "draw_off_c", &day->numbers.draw_off);
    json_add_rounded(root, "syrup_brix", day->order.syrup_brix, DIGITS_BRIX);
    json_add_rounded(root, "syrup_baume", day->numbers.baume, DIGITS_BRIX);
    add_cups(root, day);
    add_boil(root, day);
    json_add_rounded(root, "pack_least_c", SYRUP_PACK_LEAST_C, DIGITS_C);
    json_add_rounded(root, "pack_most_c", SYRUP_PACK_MOST_C, DIGITS_C);
    add_words(root, day);
    return json_to_line(root);
}
