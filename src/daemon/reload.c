#include "daemon/reload.h"

#include <stdlib.h>
#include <time.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/notify.h"
#include "daemon/turns.h"

static int64_t monotonic_us(void)
{
    struct timespec clock = {0, 0};

    clock_gettime(CLOCK_MONOTONIC, &clock);
    return (int64_t)clock.tv_sec * 1000000 + clock.tv_nsec / 1000;
}

static void refuse(struct daemon *daemon, const struct error_list *errors)
{
    for (int i = 0; i < errors->count; i++)
        log_error("%s", errors->items[i]);
    log_error("%s", _("the configuration is wrong and was not taken; the old "
                      "one stays in force"));
    free(daemon->reload_trouble);
    daemon->reload_trouble = mem_copy_text(errors->items[0]);
    if (daemon->reload_since == 0)
        daemon->reload_since = daemon->now;
    notify_ready(daemon->notify);
}

void reload_begin(struct daemon *daemon)
{
    struct error_list errors = {NULL, 0}, warnings = {NULL, 0};
    struct daemon_operation **operations;
    int count;

    notify_reloading(daemon->notify, monotonic_us());
    if (operations_read(&daemon->options, &operations, &count, &errors,
                        &warnings) == 0) {
        operations_free(daemon->pending, daemon->pending_count);
        daemon->pending = operations;
        daemon->pending_count = count;
        for (int i = 0; i < warnings.count; i++)
            log_warn("%s", warnings.items[i]);
    } else {
        refuse(daemon, &errors);
    }
    error_list_free(&errors);
    error_list_free(&warnings);
}

void reload_finish(struct daemon *daemon)
{
    if (daemon->pending == NULL || turns_count(daemon->turns) > 0)
        return;
    operations_inherit(daemon->pending, daemon->pending_count,
                       daemon->operations, daemon->operation_count,
                       daemon->now);
    operations_free(daemon->operations, daemon->operation_count);
    daemon->operations = daemon->pending;
    daemon->operation_count = daemon->pending_count;
    daemon->pending = NULL;
    daemon->pending_count = 0;
    daemon->turn_next = 0;
    free(daemon->reload_trouble);
    daemon->reload_trouble = NULL;
    daemon->reload_since = 0;
    log_info(words_count("configuration read anew: %d operation",
                         "configuration read anew: %d operations",
                         daemon->operation_count),
             daemon->operation_count);
    for (int i = 0; i < daemon->plug_count; i++)
        if (daemon->plugs[i].part.reloaded != NULL)
            daemon->plugs[i].part.reloaded(daemon->plugs[i].self, daemon);
    notify_ready(daemon->notify);
}
