/* Tanks in series: "300 gal shade, 100 gal inside". */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

static const double least_l = 1, most_l = 1e7;

/* The site that ends the words, and the length of what stands before it. */
static enum storage_site site_at_end(const char *words, size_t *length)
{
    *length = strlen(words);
    for (int i = 0; site_words[i] != NULL; i++) {
        size_t site = strlen(site_words[i]);

        if (*length > site &&
            strcmp(words + *length - site, site_words[i]) == 0 &&
            strchr(" \t", words[*length - site - 1]) != NULL) {
            *length -= site;
            return (enum storage_site)i;
        }
    }
    return STORAGE_SHADE;
}

static int read_tank(const char *words, struct config_tank *tank,
                     struct error *err)
{
    size_t length;
    char *size;
    int result;

    tank->site = site_at_end(words, &length);
    while (length > 0 && strchr(" \t", words[length - 1]) != NULL)
        length--;
    size = mem_copy_bytes(words, length);
    result = quantity_parse(size, DIMENSION_VOLUME_L, &tank->size_l, err);
    free(size);
    if (result == 0 && (tank->size_l < least_l || tank->size_l > most_l))
        return error_set(err, "%s", _("a tank holds from 1 L to 10000 m3"));
    return result;
}

void read_tanks(struct config_reading *reading, const struct config_key *key,
                const struct ini_value *value, void *section_data)
{
    struct config_sugarhouse *house = section_data;
    struct error err = {""};
    int count;
    char **words = words_split(value->value, &count);

    if (count < 1 || count > CONFIG_MAX_TANKS)
        refuse_value(reading, key, value);
    for (int i = 0; i < count && count <= CONFIG_MAX_TANKS; i++) {
        if (read_tank(words[i], &house->tanks[i], &err) != 0) {
            refuse_because(reading, key, value, err.text);
            break;
        }
        house->tank_count = i + 1;
    }
    words_free(words, count);
}

/* `storage` is a row of one tank, and a row of tanks is storage. */
void tanks_settle(struct config_reading *reading)
{
    struct config_sugarhouse *house = &reading->config->sugarhouse;
    const struct ini_value *tanks =
        reading_value(reading, "sugarhouse", "tanks");
    const struct ini_value *storage =
        reading_value(reading, "sugarhouse", "storage");

    if (storage == NULL)
        storage = reading_value(reading, "sugarhouse", "storage site");
    if (tanks != NULL && storage != NULL) {
        error_list_add(reading->errors,
                       _("%s:%d: %s and tanks say the same in two ways; keep "
                         "one of them"),
                       reading->path, storage->line, storage->key);
        return;
    }
    if (house->tank_count > 0) {
        house->storage_l = 0;
        house->storage_site = house->tanks[0].site;
        for (int i = 0; i < house->tank_count; i++)
            house->storage_l += house->tanks[i].size_l;
    } else if (house->storage_l > 0) {
        house->tanks[house->tank_count++] =
            (struct config_tank){house->storage_l, house->storage_site};
    }
}
