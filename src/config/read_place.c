/* Only what is needed to find what an operation has published. */
#include <stdio.h>
#include <stdlib.h>

#include "base/file.h"
#include "base/memory.h"
#include "config/reading.h"
#include "config/slug.h"

enum { PLACE_MAX_BYTES = 1 << 20 };

static const char *find_value(const struct ini *ini, const char *section,
                              const char *key)
{
    const struct ini_value *found = ini_find(ini, section, key);

    return found != NULL ? found->value : NULL;
}

static struct config *take_place(const char *path, const struct ini *ini)
{
    const char *name = find_value(ini, "operation", "name");
    const char *folder = find_value(ini, "calendar", "publish");
    const char *language = find_value(ini, "operation", "language");
    const char *spool = find_value(ini, "operation", "spool");
    struct config *config = mem_alloc(1, sizeof *config);

    config->path = mem_copy_text(path);
    config->name = name != NULL && *name != '\0' ? mem_copy_text(name)
                                                 : name_from_path(path);
    config->slug = slug_from_name(config->name);
    if (language != NULL)
        snprintf(config->language, sizeof config->language, "%s", language);
    if (folder != NULL && *folder != '\0')
        config->publish.folder = path_resolve(path, folder);
    if (spool != NULL && *spool != '\0')
        config->spool = path_resolve(path, spool);
    return config;
}

struct config *config_read_place(const char *path, struct error *err)
{
    struct error_list errors = {NULL, 0};
    struct config *config;
    struct ini ini;
    char *bytes;
    size_t length;

    if (file_read(path, PLACE_MAX_BYTES, &bytes, &length, err) != 0)
        return NULL;
    ini_read(path, bytes, length, &ini, &errors);
    config = take_place(path, &ini);
    ini_free(&ini);
    error_list_free(&errors);
    free(bytes);
    return config;
}
