/* Readers of the trade's words, of the zone, and of alerts. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

const char *const config_alert_words[] = {
    "run starting", "overflow", "spoilage",       "freeze-up",
    "plan changed", "budding",  "forecast stale", NULL};

enum { ALERT_COUNT = sizeof config_alert_words / sizeof(char *) - 1 };
_Static_assert(ALERT_ALL == (1 << ALERT_COUNT) - 1, "a word for each alert");

/* Names of trees are written with capitals as well. */
static char *lower_case(const char *words)
{
    char *lower = mem_copy_text(words);
    for (char *at = lower; *at; at++)
        if (*at >= 'A' && *at <= 'Z')
            *at = (char)(*at + ('a' - 'A'));
    return lower;
}

void read_species(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value, void *section_data)
{
    char *word = lower_case(value->value);
    int species = species_from_word(word);
    const char *refusal = species_refusal(word);
    free(word);
    const char *known[SPECIES_COUNT];
    for (int i = 0; i < SPECIES_COUNT; i++)
        known[i] = species_word((enum species)i);
    if (species >= 0)
        *(enum species *)value_field(key, section_data) = (enum species)species;
    else if (refusal)
        refuse_because(reading, key, value, refusal);
    else
        refuse_word(reading, key, value, value->value, known, SPECIES_COUNT);
}

static void read_vacuum(struct config_reading *reading,
                        const struct config_key *key,
                        const struct ini_value *value, const char *strength,
                        struct config_bush *bush)
{
    const double min_kpa = 1 * KPA_PER_INHG, max_kpa = 30 * KPA_PER_INHG;
    double vacuum_kpa;
    struct error err = {""};
    strength += strspn(strength, " \t");
    if (*strength == '\0')
        refuse_because(reading, key, value,
                       _("the strength is missing, as in vacuum 22 inHg"));
    else if (quantity_parse(strength, DIMENSION_VACUUM_KPA, &vacuum_kpa, &err))
        refuse_because(reading, key, value, err.text);
    else if (vacuum_kpa < min_kpa || vacuum_kpa > max_kpa)
        refuse_range(reading, key, value);
    else {
        bush->gathering = GATHERING_VACUUM;
        bush->vacuum_kpa = vacuum_kpa;
    }
}

/* "vacum 22 inHg": the nearest to what stands before the number. */
static void refuse_gathering(struct config_reading *reading,
                             const struct config_key *key,
                             const struct ini_value *value,
                             const char *const *known)
{
    size_t length = strcspn(value->value, "0123456789");
    while (length > 0 && value->value[length - 1] == ' ')
        length--;
    char *word = mem_copy_bytes(value->value, length);
    refuse_near(reading, key, value, value->value,
                nearest_word(word, known, GATHERING_COUNT));
    free(word);
}

void read_gathering(struct config_reading *reading,
                    const struct config_key *key, const struct ini_value *value,
                    void *section_data)
{
    struct config_bush *bush = section_data;
    const char *vacuum = gathering_word(GATHERING_VACUUM);
    size_t length = strlen(vacuum);
    if (strncmp(value->value, vacuum, length) == 0 &&
        strchr(" \t", value->value[length])) {
        read_vacuum(reading, key, value, value->value + length, bush);
        return;
    }
    int gathering = gathering_from_word(value->value);
    const char *known[GATHERING_COUNT];
    for (int i = 0; i < GATHERING_COUNT; i++)
        known[i] = gathering_word((enum gathering)i);
    if (gathering < 0)
        refuse_gathering(reading, key, value, known);
    else
        bush->gathering = (enum gathering)gathering;
}

void read_zone(struct config_reading *reading, const struct config_key *key,
               const struct ini_value *value, void *section_data)
{
    struct zone *zone = zone_open(value->value, NULL);
    if (!zone) {
        char *near = zone_nearest_name(value->value);
        refuse_near(reading, key, value, value->value, near);
        free(near);
        return;
    }
    zone_free(zone);
    char **field = value_field(key, section_data);
    free(*field);
    *field = mem_copy_text(value->value);
}

void read_language(struct config_reading *reading, const struct config_key *key,
                   const struct ini_value *value, void *section_data)
{
    static const char *const known[] = {"en", "fr"};
    char *field = value_field(key, section_data);
    for (size_t i = 0; i < 2; i++)
        if (strcmp(value->value, known[i]) == 0) {
            memcpy(field, known[i], sizeof "en");
            return;
        }
    refuse_near(reading, key, value, value->value, NULL);
}

void read_quiet(struct config_reading *reading, const struct config_key *key,
                const struct ini_value *value, void *section_data)
{
    struct config_mail *mail = section_data;
    const char *dash = strchr(value->value, '-');
    if (!dash) {
        refuse_value(reading, key, value);
        return;
    }
    size_t before = (size_t)(dash - value->value);
    while (before > 0 && value->value[before - 1] == ' ')
        before--;
    const char *to = dash + 1 + strspn(dash + 1, " ");
    int from_min, to_min;
    if (!clock_parse(value->value, before, &from_min) ||
        !clock_parse(to, strlen(to), &to_min)) {
        refuse_value(reading, key, value);
        return;
    }
    if (from_min % (24 * 60) == to_min % (24 * 60)) {
        refuse_because(reading, key, value,
                       _("the two hours are the same; leave quiet out for "
                         "none, or write alerts = none"));
        return;
    }
    mail->has_quiet = true;
    mail->quiet_from_min = from_min % (24 * 60);
    mail->quiet_to_min = to_min % (24 * 60);
}

static unsigned alert_bit(const char *word)
{
    for (int i = 0; i < ALERT_COUNT; i++)
        if (strcmp(word, config_alert_words[i]) == 0)
            return 1U << i;
    return 0;
}

void read_alerts(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, void *section_data)
{
    struct config_mail *mail = section_data;
    bool all = strcmp(value->value, "all") == 0;
    if (all || strcmp(value->value, "none") == 0) {
        mail->alerts = all ? ALERT_ALL : 0;
        return;
    }
    int count;
    char **words = words_split(value->value, &count);
    mail->alerts = 0;
    for (int i = 0; i < count; i++) {
        unsigned bit = alert_bit(words[i]);
        if (bit == 0)
            refuse_word(reading, key, value, words[i], config_alert_words,
                        ALERT_COUNT);
        mail->alerts |= bit;
    }
    words_free(words, count);
}
