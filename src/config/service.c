/* Which services are used, by what was told and by default. */
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

static bool is_known(const struct config_reading *reading, const char *name)
{
    for (int i = 0; i < reading->known_count; i++)
        if (strcmp(reading->known[i], name) == 0)
            return true;
    return false;
}

/* open-meteo works everywhere and brings past weather and the spread of the
 * forecast; metno is made by others, so that one may fail. */
static void use_defaults(struct config_reading *reading)
{
    static const char *const names[] = {"open-meteo", "metno"};
    struct config *config = reading->config;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (is_known(reading, names[i]))
            config->sources[config->source_count++].name =
                mem_copy_text(names[i]);
    error_list_add(&config->assumed, "%s",
                   _("The weather comes from open-meteo and metno."));
}

/* The services' terms ask for it (National Weather Service, MET Norway), and
 * it is good manners with the others. */
static void require_contact(struct config_reading *reading)
{
    if (reading_section_line(reading, "sources") > 0)
        return; /* told as any needed key */
    error_list_add(reading->errors,
                   _("%s:1: there is no contact, which the weather services "
                     "ask for; add [sources] with a mail address or the "
                     "address of a web page, as in contact = "
                     "ann@example.org"),
                   reading->path);
}

struct config_source *config_source_find(struct config *config,
                                         const char *name)
{
    for (int i = 0; i < config->source_count; i++)
        if (strcmp(config->sources[i].name, name) == 0)
            return &config->sources[i];
    return NULL;
}

/* Told or not, this is the default. As a told one it would stand for the
 * ensemble's host too, which is another. */
static bool is_default_url(const char *url)
{
    return url && strcmp(url, "https://api.open-meteo.com") == 0;
}

static void hand_over(struct config_reading *reading, int index)
{
    struct service_words *words = &reading->services[index];
    const char *name = reading->known[index];
    struct config_source *source = config_source_find(reading->config, name);
    if (source) {
        source->key = words->key;
        words->key = NULL;
        if (is_default_url(words->url))
            return;
        source->base_url = words->url;
        words->url = NULL;
    } else if (words->url || words->key) {
        error_list_add(reading->warnings,
                       _("%s:%d: this speaks of %s, which is not in use"),
                       reading->path, words->line, name);
    }
}

void services_settle(struct config_reading *reading)
{
    if (!reading_value(reading, "sources", "use"))
        use_defaults(reading);
    require_contact(reading);
    for (int i = 0; i < reading->known_count; i++)
        hand_over(reading, i);
}
