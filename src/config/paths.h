/* Where things lie on disk. Every returned path is owned by the caller.
 *
 * State: $STATE_DIRECTORY (the service manager's), else /var/lib/thawbell for
 * root, else $XDG_STATE_HOME/thawbell (default ~/.local/state/thawbell).
 * Cache of answers: $CACHE_DIRECTORY, else /var/cache/thawbell, else
 * $XDG_CACHE_HOME/thawbell (default ~/.cache/thawbell). */
#ifndef CONFIG_PATHS_H
#define CONFIG_PATHS_H

#include "config/config.h"

char *paths_state_folder(void);
char *paths_cache_folder(void);

/* The operation's publish folder: as configured, else SLUG in public/ of the
 * state folder. Holds bulletin.json and calendar.ics. */
char *paths_publish_folder(const struct config *config);

#endif
