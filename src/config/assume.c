/* What is not told: a default for each, and a sentence for those that change
 * what the forecast or the plan says. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"
#include "config/slug.h"

static bool told(const struct config_reading *reading, const char *section,
                 const char *key)
{
    return reading_value(reading, section, key);
}

static void assume_name(struct config_reading *reading)
{
    struct config *config = reading->config;
    if (!config->name) {
        config->name = name_from_path(reading->path);
        if (!reading_value(reading, "operation", "name"))
            error_list_add(&config->assumed,
                           _("The operation is called %s, after its file."),
                           config->name);
    }
    config->slug = slug_from_name(config->name);
}

static void assume_zone(struct config_reading *reading)
{
    /* Standard time seldom differs by more from the sun's. */
    const double plausible_h = 2;
    struct config *config = reading->config;
    /* Without a place, or with a wrong one, a guess would mislead. */
    if (told(reading, "operation", "time zone") ||
        reading->errors->count > reading->errors_before)
        return;
    const struct config_bush *bush = &config->bushes[0];
    char *zone = zone_guess_system();
    if (zone && !zone_is_fixed(zone) &&
        fabs(zone_sun_gap_h(zone, bush->longitude)) <= plausible_h) {
        error_list_add(&config->assumed,
                       _("The time zone is %s, as on this machine."), zone);
        config->zone_name = zone;
        return;
    }
    free(zone);
    const char *guess = zone_guess_by_place(bush->latitude, bush->longitude);
    if (!guess) {
        error_list_add(reading->errors,
                       _("%s:1: there is no time zone, and this machine's "
                         "own does not go with the bush; add it to "
                         "[operation], as in time zone = America/New_York"),
                       reading->path);
        return;
    }
    config->zone_name = mem_copy_text(guess);
    error_list_add(&config->assumed,
                   _("The time zone is %s, by the longitude of bush %s; if "
                     "the clock there is another, write time zone in "
                     "[operation]."),
                   guess, bush->name);
}

/* Those who write the height in feet, "ft" or "FT", think in feet. */
static void assume_units(struct config_reading *reading)
{
    struct config *config = reading->config;
    if (reading_value(reading, "operation", "units"))
        return;
    bool feet = false;
    for (int i = 0; i < reading->ini.count; i++) {
        const struct ini_value *value = &reading->ini.values[i];
        if (strcmp(value->key, "elevation") == 0)
            feet = feet || strpbrk(value->value, "fF");
    }
    config->units = feet ? UNITS_US : UNITS_METRIC;
    error_list_add(&config->assumed, "%s",
                   feet ? _("Units are those of the US, as the elevation is "
                            "in feet.")
                        : _("Units are metric."));
}

static void assume_bushes(struct config_reading *reading)
{
    struct config *config = reading->config;
    for (int i = 0; i < config->bush_count; i++) {
        const char *name = config->bushes[i].name;
        char *section = mem_format("bush %s", name);
        if (!reading_value(reading, section, "species"))
            error_list_add(&config->assumed,
                           _("The trees of bush %s are sugar maples."), name);
        if (!reading_value(reading, section, "gathering"))
            error_list_add(&config->assumed,
                           _("Bush %s is gathered in buckets."), name);
        free(section);
    }
}

static bool has_buckets(const struct config *config)
{
    for (int i = 0; i < config->bush_count; i++)
        if (config->bushes[i].gathering == GATHERING_BUCKETS)
            return true;
    return false;
}

static bool has_bucket_untold(const struct config *config)
{
    for (int i = 0; i < config->bush_count; i++)
        if (config->bushes[i].gathering == GATHERING_BUCKETS &&
            config->bushes[i].bucket_l <= 0)
            return true;
    return false;
}

/* What the plan takes where nothing is told (turn/plan_rules.h); tubing needs
 * no rounds. */
static void assume_rounds(struct config_reading *reading)
{
    struct config *config = reading->config;
    const struct config_sugarhouse *house = &config->sugarhouse;
    bool planned = house->tank_count > 0 &&
                   (house->evaporation_l_h > 0 || house->pan_area_m2 > 0);
    if (!planned || !has_buckets(config))
        return;
    if (has_bucket_untold(config))
        error_list_add(
            &config->assumed, "%s",
            config->units == UNITS_US
                ? _("For the plan, a bucket of unknown size holds 4 gal.")
                : _("For the plan, a bucket of unknown size holds 15 L."));
    if (!told(reading, "sugarhouse", "collecting"))
        error_list_add(
            &config->assumed, "%s",
            config->units == UNITS_US
                ? _("Sap is carried in from the buckets at 150 gal an hour.")
                : _("Sap is carried in from the buckets at 570 L an hour."));
    if (!told(reading, "sugarhouse", "hands"))
        error_list_add(&config->assumed, "%s",
                       _("One person is at work, and does not collect while "
                         "the fire burns."));
}

static void assume_sugarhouse(struct config_reading *reading)
{
    struct config *config = reading->config;
    const struct config_sugarhouse *house = &config->sugarhouse;
    bool from = told(reading, "sugarhouse", "attended from");
    bool to = told(reading, "sugarhouse", "attended to");
    if (!house->present)
        return;
    if (!from)
        error_list_add(&config->assumed, "%s",
                       _("Nobody is at the fire before 06:00."));
    if (!to)
        error_list_add(&config->assumed, "%s",
                       _("The fire must be out by 22:00."));
    if (told(reading, "sugarhouse", "storage") &&
        !told(reading, "sugarhouse", "storage site"))
        error_list_add(&config->assumed, "%s",
                       _("The storage tanks stand in the shade."));
    if (house->pan_area_m2 > 0 && house->evaporation_l_h <= 0 &&
        !told(reading, "sugarhouse", "type"))
        error_list_add(&config->assumed, "%s", _("The pan is flat."));
}

static void assume_mail(struct config_reading *reading)
{
    struct config *config = reading->config;
    if (config->mail.present && !told(reading, "mail", "morning"))
        error_list_add(&config->assumed, "%s",
                       _("The morning mail goes out at 05:30."));
}

void config_preset(struct config *config)
{
    memcpy(config->language, "en", sizeof "en");
    config->sugarhouse.syrup_brix = 66.9;
    config->sugarhouse.attended_from_min = 6 * 60;
    config->sugarhouse.attended_to_min = 22 * 60;
    config->mail.morning_min = 5 * 60 + 30;
    config->mail.alerts = ALERT_ALL;
}

void config_assume(struct config_reading *reading)
{
    assume_name(reading);
    assume_zone(reading);
    assume_units(reading);
    assume_bushes(reading);
    assume_sugarhouse(reading);
    assume_rounds(reading);
    assume_mail(reading);
}
