/* Any bytes as a configuration file: all that is wrong is told by file, or
 * the operation is one that makes sense; a service's key is told to nobody. */
#include "promise.h"

#include <math.h>

#include "config/config.h"
#include "config/slug.h"

static const char *const services[] = {"nws", "metno", "open-meteo",
                                       "open-meteo-ensemble"};
enum { SERVICES = sizeof services / sizeof *services };

static void check_bush(const struct config_bush *bush)
{
    PROMISE(bush->name && *bush->name);
    PROMISE(fabs(bush->latitude) <= 90 && fabs(bush->longitude) <= 180);
    PROMISE(isfinite(bush->elevation_m) && bush->taps > 0);
    PROMISE(bush->species >= 0 && bush->species < SPECIES_COUNT);
    PROMISE(bush->gathering >= 0 && bush->gathering < GATHERING_COUNT);
    PROMISE(bush->vacuum_kpa >= 0 && bush->vacuum_kpa < 102);
    PROMISE(bush->bucket_l >= 0 && isfinite(bush->bucket_l));
    PROMISE(!bush->has_tapped || civil_date_valid(bush->tapped));
}

static void check_house(const struct config_sugarhouse *house)
{
    PROMISE(house->tank_count >= 0 && house->tank_count <= CONFIG_MAX_TANKS);
    PROMISE(house->storage_l >= 0 && isfinite(house->storage_l));
    PROMISE(house->evaporation_l_h >= 0 && isfinite(house->evaporation_l_h));
    PROMISE(house->attended_from_min >= 0 && house->attended_to_min <= 24 * 60);
}

static void check_slug(const char *slug)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyz0123456789-";

    PROMISE(slug && *slug && strlen(slug) <= 60);
    PROMISE(strspn(slug, allowed) == strlen(slug));
}

static void check_config(const struct config *config)
{
    struct error err = {""};
    struct zone *zone = zone_open(config->zone_name, &err);

    PROMISE(zone);
    zone_free(zone);
    check_slug(config->slug);
    PROMISE(config->bush_count > 0 && config->bush_count <= CONFIG_MAX_BUSHES);
    PROMISE(strcmp(config->language, "en") == 0 ||
            strcmp(config->language, "fr") == 0);
    for (int i = 0; i < config->bush_count; i++)
        check_bush(&config->bushes[i]);
    check_house(&config->sugarhouse);
    PROMISE(config->source_count <= CONFIG_MAX_SOURCES);
    if (config->contact)
        PROMISE(!strpbrk(config->contact, "()\r\n"));
    for (int i = 0; i < config->mail.to_count; i++)
        PROMISE(!strpbrk(config->mail.to[i], "<>\r\n \t"));
}

/* A key that is not a word of the file's own language in another place. */
static void check_secrets(const struct config *config,
                          const struct error_list *list)
{
    for (int i = 0; i < config->source_count; i++) {
        const char *key = config->sources[i].key;

        if (key == NULL || strlen(key) < 12)
            continue;
        for (int k = 0; k < list->count; k++)
            PROMISE(!strstr(list->items[k], key));
    }
}

static void check_list(const struct error_list *list)
{
    for (int i = 0; i < list->count; i++)
        promise_sentence(list->items[i]);
}

static void check_place(const char *path)
{
    struct error err = {""};
    struct config *place = config_read_place(path, &err);

    if (place == NULL) {
        promise_sentence(err.text);
        return;
    }
    check_slug(place->slug);
    config_free(place);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *path = input_file("tamarack-bend.conf", data, size);
    struct error_list errors = {0}, warnings = {0};
    struct config *config = NULL;
    int result =
        config_read(path, services, SERVICES, &config, &errors, &warnings);

    PROMISE(result == 0 || result == -1);
    PROMISE((result == 0) == (errors.count == 0));
    check_list(&errors);
    check_list(&warnings);
    for (int i = 0; i < errors.count; i++)
        PROMISE(strncmp(errors.items[i], path, strlen(path)) == 0);
    if (result == 0) {
        check_config(config);
        check_list(&config->assumed);
        check_secrets(config, &warnings);
        config_free(config);
    }
    error_list_free(&errors);
    error_list_free(&warnings);
    check_place(path);
    return 0;
}
