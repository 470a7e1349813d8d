#include "config/paths.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"

static const char *set_variable(const char *name)
{
    const char *value = getenv(name);

    return value != NULL && value[0] != '\0' ? value : NULL;
}

/* The service manager may name several folders, parted by colons: ours is
 * the first. */
static char *first_folder(const char *list)
{
    return mem_copy_bytes(list, strcspn(list, ":"));
}

static char *folder(const char *unit_variable, const char *system_folder,
                    const char *xdg_variable, const char *home_folder)
{
    const char *given = set_variable(unit_variable);
    const char *home = set_variable("HOME");

    if (given != NULL)
        return first_folder(given);
    given = set_variable(xdg_variable);
    if (given != NULL && geteuid() != 0)
        return file_join(given, "thawbell");
    if (geteuid() == 0 || home == NULL)
        return mem_copy_text(system_folder);
    return mem_format("%s/%s/thawbell", home, home_folder);
}

char *paths_state_folder(void)
{
    return folder("STATE_DIRECTORY", "/var/lib/thawbell", "XDG_STATE_HOME",
                  ".local/state");
}

char *paths_cache_folder(void)
{
    return folder("CACHE_DIRECTORY", "/var/cache/thawbell", "XDG_CACHE_HOME",
                  ".cache");
}

char *paths_publish_folder(const struct config *config)
{
    char *state, *path;

    if (config->publish.folder != NULL)
        return mem_copy_text(config->publish.folder);
    state = paths_state_folder();
    path = mem_format("%s/public/%s", state, config->slug);
    free(state);
    return path;
}
