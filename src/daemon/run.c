#include "daemon/run.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/loop.h"
#include "daemon/notify.h"
#include "daemon/post.h"
#include "daemon/serve_part.h"
#include "daemon/turns.h"
#include "daemon/upload_part.h"
#include "net/http.h"

static int read_operations(struct daemon *daemon)
{
    struct error_list errors = {NULL, 0}, warnings = {NULL, 0};
    int code = operations_read(&daemon->options, &daemon->operations,
                               &daemon->operation_count, &errors, &warnings);

    for (int i = 0; i < errors.count; i++)
        log_error("%s", errors.items[i]);
    for (int i = 0; i < warnings.count; i++)
        log_warn("%s", warnings.items[i]);
    error_list_free(&errors);
    error_list_free(&warnings);
    return code;
}

/* The parts beside the turns; each plugs itself in. */
static void plug_parts(struct daemon *daemon)
{
    struct error err;

    if (post_plug(daemon, &err) != 0)
        log_error(_("no mail will be sent: %s"), err.text);
    serve_plug(daemon);
    upload_plug(daemon);
}

static void close_all(struct daemon *daemon)
{
    /* The transport first: it may still write into the turns' answers. */
    http_transport_free(daemon->http);
    turns_free(daemon->turns);
    turn_models_free(daemon->models);
    for (int i = 0; i < daemon->plug_count; i++)
        if (daemon->plugs[i].part.free != NULL)
            daemon->plugs[i].part.free(daemon->plugs[i].self);
    store_close(daemon->store);
    operations_free(daemon->pending, daemon->pending_count);
    operations_free(daemon->operations, daemon->operation_count);
    notify_free(daemon->notify);
    free(daemon->reload_trouble);
}

/* What a killed process left half written. The answers' folder is swept by
 * those who open it. */
static void sweep(const struct daemon *daemon)
{
    file_sweep(daemon->state);
    for (int i = 0; i < daemon->operation_count; i++)
        file_sweep(daemon->operations[i]->folder);
}

static int run_locked(struct daemon *daemon)
{
    int code;

    sweep(daemon);
    daemon->notify = notify_open();
    daemon->turns = turns_open();
    daemon->models = turn_models_new();
    daemon_clock_read(&daemon->clock);
    daemon->now = daemon->clock.now;
    operations_inherit(daemon->operations, daemon->operation_count, NULL, 0,
                       daemon->clock.now);
    daemon->clock = (struct daemon_clock){0, 0};
    log_info(words_count("thawbelld %s begins: %d operation, state in %s",
                         "thawbelld %s begins: %d operations, state in %s",
                         daemon->operation_count),
             program_version(), daemon->operation_count, daemon->state);
    plug_parts(daemon);
    code = loop_run(daemon);
    close_all(daemon);
    log_info("%s", _("thawbelld ends"));
    return code;
}

int daemon_run(const struct options *options)
{
    struct daemon daemon = {.options = *options};
    struct error err = {""};
    bool at_work = false;
    int lock = -1, code;

    mem_few_heaps();
    if (loop_open(&daemon) != 0)
        return EXIT_FAILED;
    if (read_operations(&daemon) != 0)
        return EXIT_USAGE;
    /* A unit's environment asks for no language; the operator's does. */
    if (options->language == NULL)
        words_program(daemon.operations[0]->config->language);
    daemon.state = config_state_folder(daemon.operations[0]->config);
    if (file_make_folder(daemon.state, 0750, &err) == 0)
        lock = state_lock(daemon.state, &at_work, &err);
    if (lock >= 0) {
        code = run_locked(&daemon);
        close(lock);
    } else {
        log_error("%s", err.text);
        operations_free(daemon.operations, daemon.operation_count);
        code = at_work ? EXIT_TRY_LATER : EXIT_FAILED;
    }
    free(daemon.state);
    return code;
}
