/* `place = LATITUDE, LONGITUDE, ELEVATION` in a bush stands for its three
 * keys: it is taken apart before the keys are read, so that ranges, doubts
 * and messages are those of the three. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

enum { PARTS = 3 };

static const char *const part_keys[PARTS] = {"latitude", "longitude",
                                             "elevation"};

static bool is_place(const struct ini_value *value)
{
    return strcmp(value->key, "place") == 0 &&
           strncmp(value->section, "bush ", 5) == 0;
}

static void add_parts(struct ini *ini, const struct ini_value *place,
                      char **parts)
{
    ini->values = mem_resize(ini->values, (size_t)ini->count + PARTS,
                             sizeof *ini->values);
    for (int i = 0; i < PARTS; i++)
        ini->values[ini->count++] =
            (struct ini_value){.section = mem_copy_text(place->section),
                               .key = mem_copy_text(part_keys[i]),
                               .value = mem_copy_text(parts[i]),
                               .line = place->line};
}

static void expand(struct config_reading *reading, struct ini_value place)
{
    int count;
    char **parts = words_split(place.value, &count);

    for (int i = 0; i < PARTS; i++)
        if (reading_value(reading, place.section, part_keys[i])) {
            error_list_add(reading->errors,
                           _("%s:%d: [%s] has both place and %s; leave one of "
                             "them out"),
                           reading->path, place.line, place.section,
                           part_keys[i]);
            words_free(parts, count);
            return;
        }
    if (count == PARTS)
        add_parts(&reading->ini, &place, parts);
    words_free(parts, count);
}

void places_expand(struct config_reading *reading)
{
    int count = reading->ini.count;

    for (int i = 0; i < count; i++)
        if (is_place(&reading->ini.values[i]))
            expand(reading, reading->ini.values[i]);
}

bool place_stands_for(const struct config_reading *reading, const char *section,
                      const char *key)
{
    for (int i = 0; i < PARTS; i++)
        if (strcmp(key, part_keys[i]) == 0)
            return reading_value(reading, section, "place") != NULL;
    return false;
}

void read_place(struct config_reading *reading, const struct config_key *key,
                const struct ini_value *value, void *section_data)
{
    int count;
    char **parts = words_split(value->value, &count);

    (void)section_data;
    words_free(parts, count);
    if (count != PARTS)
        refuse_value(reading, key, value);
}
