#include "daemon/store_care.h"

#include <stdlib.h>

#include "base/file.h"
#include "base/log.h"
#include "base/words.h"
#include "daemon/turns.h"

static void open_store(struct daemon *daemon)
{
    char *path = file_join(daemon->state, "thawbell.db"), *warning = NULL;
    struct error err = {""};

    if (store_open(path, daemon->now, &daemon->store, &warning, &err) != 0) {
        daemon->store = NULL;
        daemon->store_why = err;
        if (daemon->store_since == 0) {
            log_error(_("%s; trying again every minute"), err.text);
            daemon->store_since = daemon->now;
        }
        daemon->store_next = daemon->clock.steady_ms + STORE_RETRY_S * 1000;
    } else if (daemon->store_since != 0) {
        log_warn(_("%s: the store can be opened again"), path);
        daemon->store_since = 0;
    }
    if (warning != NULL)
        log_error("%s", warning);
    free(warning);
    free(path);
}

/* Turns under way still use it: they end first, with what they can. */
static void look_after(struct daemon *daemon)
{
    if (!store_lost(daemon->store) || turns_count(daemon->turns) > 0)
        return;
    log_error("%s", _("the store is damaged or was taken away; opening it "
                      "anew"));
    store_close(daemon->store);
    daemon->store = NULL;
    open_store(daemon);
}

void store_care(struct daemon *daemon)
{
    if (daemon->store != NULL)
        look_after(daemon);
    else if (daemon->clock.steady_ms >= daemon->store_next)
        open_store(daemon);
}
