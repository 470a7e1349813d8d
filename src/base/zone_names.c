#include <stdlib.h>
#include <string.h>

#include "base/civil_time.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/trade.h"

enum { TZDATA_MAX_BYTES = 4 << 20 };

struct names {
    char **items; /* into the file's bytes */
    int count;
};

static void names_add(struct names *names, char *name)
{
    names->items = mem_resize(names->items, (size_t)names->count + 1,
                              sizeof *names->items);
    names->items[names->count++] = name;
}

/* Word number `index` of a line, cut out in place; NULL if it has fewer. */
static char *take_word(char *line, int index)
{
    for (int i = 0; i < index; i++) {
        line += strcspn(line, " \t");
        line += strspn(line, " \t");
    }
    line[strcspn(line, " \t\r")] = '\0';
    return *line ? line : NULL;
}

/* Lines of tzdata.zi: "Z name …" is a zone, "L target name" a link. */
static void names_read(struct names *names, char *bytes)
{
    char *line = bytes;
    while (line) {
        char *end = strchr(line, '\n');
        if (end)
            *end = '\0';
        int word = line[0] == 'Z' ? 1 : line[0] == 'L' ? 2 : 0;
        char *name = word && line[1] == ' ' ? take_word(line, word) : NULL;
        if (name)
            names_add(names, name);
        line = end ? end + 1 : NULL;
    }
}

char *zone_nearest_name(const char *name)
{
    char *bytes = NULL;
    size_t length;
    if (file_read("/usr/share/zoneinfo/tzdata.zi", TZDATA_MAX_BYTES, &bytes,
                  &length, NULL) != 0)
        return NULL;
    struct names names = {0};
    names_read(&names, bytes);
    const char *nearest =
        nearest_word(name, (const char *const *)names.items, names.count);
    char *copy = nearest ? mem_copy_text(nearest) : NULL;
    free(names.items);
    free(bytes);
    return copy;
}
