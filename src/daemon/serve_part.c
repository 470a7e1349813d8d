#include "daemon/serve_part.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/post_status.h"
#include "daemon/schedule.h"
#include "daemon/serve.h"

enum { RETRY_S = 60 };

/* One address that is listened on. */
struct server {
    char *listen; /* owned */
    struct serve *serve;
    bool handed; /* the service manager's socket, whatever its address */
};

/* One operation that is served. */
struct row {
    char *slug, *listen; /* owned */
    char token[SERVE_TOKEN_SIZE];
    struct serve_figures figures;
    bool kept; /* while the configuration is gone through */
};

struct part {
    struct server *servers; /* owned */
    int server_count;
    struct row *rows; /* owned */
    int row_count;
    int handed;  /* a socket not yet used, or -1 */
    utc_s retry; /* SCHEDULE_NEVER: all is served */
    bool told;   /* what is wrong, in the log */
};

static struct server *server_row(const struct part *part, const char *listen)
{
    for (int i = 0; i < part->server_count; i++)
        if (strcmp(part->servers[i].listen, listen) == 0)
            return &part->servers[i];
    return NULL;
}

static struct serve *server_of(const struct part *part, const char *listen)
{
    struct server *server = server_row(part, listen);

    return server != NULL ? server->serve : NULL;
}

static struct serve *find_or_start(struct part *part, const char *listen,
                                   struct error *err)
{
    struct serve_options options = {
        .listen = listen, .fd = part->handed, .waits = true};
    bool handed = part->handed >= 0;
    struct serve *serve = server_of(part, listen);
    struct server *row;

    if (serve != NULL)
        return serve;
    serve = serve_start(&options, err);
    part->handed = -1;
    if (serve == NULL)
        return NULL;
    part->servers = mem_resize(part->servers, (size_t)part->server_count + 1,
                               sizeof *part->servers);
    row = &part->servers[part->server_count++];
    row->listen = mem_copy_text(listen);
    row->serve = serve;
    row->handed = handed;
    return serve;
}

/* Rows lie in the operations' order as long as all are served. */
static struct row *row_of(struct part *part,
                          const struct daemon_operation *operation)
{
    const char *slug = operation->config->slug;
    int place = operation->place;

    if (place < part->row_count && strcmp(part->rows[place].slug, slug) == 0)
        return &part->rows[place];
    for (int i = 0; i < part->row_count; i++)
        if (strcmp(part->rows[i].slug, slug) == 0)
            return &part->rows[i];
    return NULL;
}

static void drop_row(struct part *part, int number)
{
    struct row *row = &part->rows[number];
    struct serve *serve = server_of(part, row->listen);

    if (serve != NULL)
        serve_drop(serve, row->token);
    free(row->slug);
    free(row->listen);
    memmove(row, row + 1, (size_t)(part->row_count - number - 1) * sizeof *row);
    part->row_count--;
}

static struct row *add_row(struct part *part, const struct config *config,
                           const char *token)
{
    struct row *row;

    part->rows =
        mem_resize(part->rows, (size_t)part->row_count + 1, sizeof *part->rows);
    row = &part->rows[part->row_count++];
    memset(row, 0, sizeof *row);
    row->slug = mem_copy_text(config->slug);
    row->listen = mem_copy_text(config->publish.listen);
    row->figures.mail_waiting = -1;
    snprintf(row->token, sizeof row->token, "%s", token);
    return row;
}

/* Broken files are told; what was served before stays. */
static void load(struct part *part, const struct row *row, const char *folder)
{
    struct serve *serve = server_of(part, row->listen);
    struct error err;

    if (serve != NULL && serve_folder(serve, row->token, folder, &err) != 0)
        log_warn(_("not served anew: %s"), err.text);
}

/* The token is known by its first letters alone. */
static void tell_served(const struct part *part, const struct config *config,
                        const char *token)
{
    const struct server *server = server_row(part, config->publish.listen);

    if (server != NULL && server->handed)
        log_info(_("%s is served on the service manager's socket under "
                   "/%.4s.../, the whole secret is told by thawbell check"),
                 config->name, token);
    else
        log_info(_("%s is served on %s under /%.4s.../, the whole address is "
                   "told by thawbell check"),
                 config->name, config->publish.listen, token);
}

static int serve_operation(struct part *part,
                           const struct daemon_operation *operation,
                           struct error *err)
{
    const struct config *config = operation->config;
    char token[SERVE_TOKEN_SIZE], *file = config_token_file(config);
    int code = serve_token_read(file, token, err);
    struct row *row = row_of(part, operation);

    free(file);
    if (code != 0 || find_or_start(part, config->publish.listen, err) == NULL)
        return -1;
    if (row != NULL && (strcmp(row->token, token) != 0 ||
                        strcmp(row->listen, config->publish.listen) != 0)) {
        drop_row(part, (int)(row - part->rows));
        row = NULL;
    }
    if (row == NULL) {
        row = add_row(part, config, token);
        load(part, row, operation->folder);
        tell_served(part, config, token);
    }
    row->kept = true;
    return 0;
}

static void drop_unused(struct part *part)
{
    for (int i = part->row_count - 1; i >= 0; i--)
        if (!part->rows[i].kept)
            drop_row(part, i);
    for (int i = part->server_count - 1; i >= 0; i--) {
        struct server *server = &part->servers[i];
        bool used = false;

        for (int k = 0; k < part->row_count; k++)
            used |= strcmp(part->rows[k].listen, server->listen) == 0;
        if (used)
            continue;
        serve_stop(server->serve);
        free(server->listen);
        memmove(server, server + 1,
                (size_t)(part->server_count - i - 1) * sizeof *server);
        part->server_count--;
    }
}

/* Now that what they are asked for is there. */
static void accept_all(struct part *part)
{
    struct error err;

    for (int i = 0; i < part->server_count; i++)
        if (serve_accept(part->servers[i].serve, &err) != 0)
            log_error("%s", err.text);
}

/* Brings what is served in line with the configuration. */
static void settle(struct part *part, struct daemon *daemon)
{
    bool all = true;

    for (int i = 0; i < part->row_count; i++)
        part->rows[i].kept = false;
    for (int i = 0; i < daemon->operation_count; i++) {
        const struct daemon_operation *operation = daemon->operations[i];
        struct error err;

        if (operation->config->publish.listen == NULL ||
            serve_operation(part, operation, &err) == 0)
            continue;
        all = false;
        if (!part->told)
            log_error(_("%s is not served: %s"), operation->config->name,
                      err.text);
    }
    drop_unused(part);
    accept_all(part);
    part->told = !all;
    part->retry = all ? SCHEDULE_NEVER : daemon->now + RETRY_S;
}

static void note_source(struct serve_figures *figures,
                        const struct bulletin_source *source)
{
    struct serve_source *row = NULL;

    for (int i = 0; i < figures->source_count; i++)
        if (strcmp(figures->sources[i].name, source->name) == 0)
            row = &figures->sources[i];
    if (row == NULL && figures->source_count == SERVE_MAX_SOURCES)
        return;
    if (row == NULL) {
        row = &figures->sources[figures->source_count++];
        memset(row, 0, sizeof *row);
        snprintf(row->name, sizeof row->name, "%s", source->name);
    }
    row->fetched = source->fetched;
    row->in_trouble = source->trouble[0] != '\0';
    if (row->in_trouble)
        row->bad_turns++;
    else
        row->good_turns++;
}

static void tell_figures(const struct daemon *daemon, struct row *row,
                         struct serve *serve)
{
    if (daemon->store != NULL)
        post_count(daemon->store, row->slug, &row->figures.mail_waiting,
                   &row->figures.mail_dead);
    serve_tell(serve, row->token, &row->figures);
}

static void serve_turned(void *self, struct daemon *daemon,
                         struct daemon_operation *operation,
                         const struct turn_result *result,
                         const struct bulletin *bulletin)
{
    struct part *part = self;
    struct row *row = row_of(part, operation);
    struct serve *serve = row != NULL ? server_of(part, row->listen) : NULL;

    if (serve == NULL)
        return;
    if (result->published > 0)
        load(part, row, operation->folder);
    if (bulletin != NULL && result->in_place) {
        row->figures.turns_made++;
        row->figures.made = bulletin->made;
    } else {
        row->figures.turns_failed++;
    }
    row->figures.weather_from = operation->weather_from;
    for (int i = 0; bulletin != NULL && i < bulletin->source_count; i++)
        note_source(&row->figures, &bulletin->sources[i]);
    tell_figures(daemon, row, serve);
}

static void tell_mail(struct part *part, struct daemon *daemon,
                      struct daemon_operation *operation)
{
    struct row *row = row_of(part, operation);
    struct serve *serve = row != NULL ? server_of(part, row->listen) : NULL;

    operation->mail_moved = false;
    if (serve != NULL)
        tell_figures(daemon, row, serve);
}

/* Mail goes, and is given up, between turns too. */
static void tell_all_mail(struct part *part, struct daemon *daemon)
{
    daemon->mail_moved = false;
    for (int i = 0; i < daemon->operation_count; i++)
        if (daemon->operations[i]->mail_moved)
            tell_mail(part, daemon, daemon->operations[i]);
}

static utc_s serve_due(void *self, const struct daemon *daemon)
{
    const struct part *part = self;

    return daemon->mail_moved ? daemon->now : part->retry;
}

static void serve_tick(void *self, struct daemon *daemon)
{
    struct part *part = self;

    if (daemon->mail_moved)
        tell_all_mail(part, daemon);
    if (part->retry <= daemon->now)
        settle(part, daemon);
}

static void serve_clock_set(void *self, struct daemon *daemon)
{
    struct part *part = self;

    if (part->retry != SCHEDULE_NEVER)
        part->retry = daemon->now;
}

static void serve_reloaded(void *self, struct daemon *daemon)
{
    struct part *part = self;

    part->told = false;
    settle(part, daemon);
}

static void serve_free(void *self)
{
    struct part *part = self;

    for (int i = part->row_count - 1; i >= 0; i--)
        part->rows[i].kept = false;
    drop_unused(part);
    if (part->handed >= 0)
        close(part->handed);
    free(part->servers);
    free(part->rows);
    free(part);
}

void serve_plug(struct daemon *daemon)
{
    static const struct daemon_part functions = {.name = "server",
                                                 .turned = serve_turned,
                                                 .due = serve_due,
                                                 .tick = serve_tick,
                                                 .clock_set = serve_clock_set,
                                                 .reloaded = serve_reloaded,
                                                 .free = serve_free};
    struct part *part = mem_alloc(1, sizeof *part);

    part->handed = serve_handed_socket();
    if (daemon_plug(daemon, &functions, part) != 0) {
        serve_free(part);
        return;
    }
    settle(part, daemon);
}
