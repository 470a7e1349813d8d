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
#include "daemon/status.h"

enum { RETRY_S = 60 };

/* One address that is listened on. */
struct server {
    char *listen; /* owned */
    struct serve *serve;
    bool handed; /* the service manager's socket, whatever its address */
};

/* One operation that is to be served. Its figures are kept while it cannot be,
 * and when its address becomes another one. */
struct row {
    char *slug;   /* owned */
    char *listen; /* where it is served; NULL: it is not. Owned */
    char token[SERVE_TOKEN_SIZE];
    struct serve_figures figures;
    char *why;   /* it is not served; NULL: it is. Owned */
    utc_s since; /* … and since when */
    bool told;   /* in the log */
    bool kept;   /* while the configuration is gone through */
};

struct part {
    struct server *servers; /* owned */
    int server_count;
    struct row *rows; /* owned */
    int row_count;
    int handed;  /* a socket not yet used, or -1 */
    utc_s retry; /* SCHEDULE_NEVER: all is served */
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

/* Rows lie in the operations' order as long as all are to be served. */
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

static struct serve *server_of_row(const struct part *part,
                                   const struct row *row)
{
    return row != NULL && row->listen != NULL ? server_of(part, row->listen)
                                              : NULL;
}

/* It is served no more; its figures stay. */
static void unserve(struct part *part, struct row *row)
{
    struct serve *serve = server_of_row(part, row);

    if (serve != NULL)
        serve_drop(serve, row->token);
    free(row->listen);
    row->listen = NULL;
}

static void drop_row(struct part *part, int number)
{
    struct row *row = &part->rows[number];

    unserve(part, row);
    free(row->slug);
    free(row->why);
    memmove(row, row + 1, (size_t)(part->row_count - number - 1) * sizeof *row);
    part->row_count--;
}

static struct row *add_row(struct part *part, const char *slug)
{
    struct row *row;

    part->rows =
        mem_resize(part->rows, (size_t)part->row_count + 1, sizeof *part->rows);
    row = &part->rows[part->row_count++];
    memset(row, 0, sizeof *row);
    row->slug = mem_copy_text(slug);
    row->figures.mail_waiting = -1;
    return row;
}

/* Broken files are told; what was served before stays. */
static void load(struct part *part, struct row *row, const char *folder)
{
    struct serve *serve = server_of_row(part, row);
    struct error err;

    if (serve != NULL &&
        serve_folder(serve, row->token, folder, &row->figures, &err) != 0)
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

static void tell_figures(const struct daemon *daemon, struct row *row,
                         struct serve *serve)
{
    if (daemon->store != NULL)
        post_count(daemon->store, row->slug, &row->figures.mail_waiting,
                   &row->figures.mail_dead);
    serve_tell(serve, row->token, &row->figures);
}

static int serve_operation(struct part *part, const struct daemon *daemon,
                           const struct daemon_operation *operation,
                           struct row *row, struct error *err)
{
    const struct config *config = operation->config;
    const char *listen = config->publish.listen;
    char token[SERVE_TOKEN_SIZE], *file = config_token_file(config);
    int code = serve_token_read(file, token, err);

    free(file);
    if (code != 0 || find_or_start(part, listen, err) == NULL) {
        unserve(part, row);
        return -1;
    }
    if (row->listen != NULL && strcmp(row->token, token) == 0 &&
        strcmp(row->listen, listen) == 0)
        return 0;
    unserve(part, row);
    row->listen = mem_copy_text(listen);
    snprintf(row->token, sizeof row->token, "%s", token);
    load(part, row, operation->folder);
    tell_figures(daemon, row, server_of_row(part, row));
    tell_served(part, config, token);
    return 0;
}

/* Told once, and anew when it is for another reason. */
static void note_failure(struct row *row, const struct config *config,
                         utc_s now, const char *why)
{
    if (row->why == NULL)
        row->since = now;
    if (row->why == NULL || !row->told || strcmp(row->why, why) != 0)
        log_error(_("%s is not served: %s"), config->name, why);
    free(row->why);
    row->why = mem_copy_text(why);
    row->told = true;
}

/* True when it is served. */
static bool settle_one(struct part *part, const struct daemon *daemon,
                       const struct daemon_operation *operation)
{
    struct row *row = row_of(part, operation);
    struct error err;

    if (row == NULL)
        row = add_row(part, operation->config->slug);
    row->kept = true;
    if (serve_operation(part, daemon, operation, row, &err) != 0) {
        note_failure(row, operation->config, daemon->now, err.text);
        return false;
    }
    free(row->why);
    row->why = NULL;
    return true;
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
            used |= part->rows[k].listen != NULL &&
                    strcmp(part->rows[k].listen, server->listen) == 0;
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

        if (operation->config->publish.listen != NULL)
            all &= settle_one(part, daemon, operation);
    }
    drop_unused(part);
    accept_all(part);
    part->retry = all ? SCHEDULE_NEVER : daemon->now + RETRY_S;
}

static void serve_turned(void *self, struct daemon *daemon,
                         struct daemon_operation *operation,
                         const struct turn_result *result,
                         const struct bulletin *bulletin)
{
    struct part *part = self;
    struct row *row = row_of(part, operation);
    struct serve *serve = server_of_row(part, row);

    if (row == NULL)
        return;
    if (result->published > 0)
        load(part, row, operation->folder);
    if (bulletin != NULL && result->in_place) {
        row->figures.turns_made++;
        row->figures.made = bulletin->made;
    } else {
        row->figures.turns_failed++;
    }
    if (operation->weather_from != 0)
        row->figures.weather_from = operation->weather_from;
    if (bulletin != NULL)
        serve_note_sources(&row->figures, bulletin, true);
    if (serve != NULL)
        tell_figures(daemon, row, serve);
}

static void tell_mail(struct part *part, struct daemon *daemon,
                      struct daemon_operation *operation)
{
    struct row *row = row_of(part, operation);
    struct serve *serve = server_of_row(part, row);

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

    for (int i = 0; i < part->row_count; i++)
        part->rows[i].told = false;
    settle(part, daemon);
}

static void serve_status(void *self, const struct daemon *daemon,
                         struct text *out)
{
    const struct part *part = self;
    struct status_worst worst = {0};

    for (int i = 0; i < part->row_count; i++)
        if (part->rows[i].why != NULL)
            status_note(&worst, daemon, part->rows[i].slug, part->rows[i].since,
                        part->rows[i].why);
    if (worst.count > 0)
        text_addf(out, _("; %d not served, %s since %s: %s"), worst.count,
                  worst.name, worst.since_words, worst.why);
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
                                                 .status = serve_status,
                                                 .free = serve_free};
    struct part *part = mem_alloc(1, sizeof *part);

    part->handed = serve_handed_socket();
    if (daemon_plug(daemon, &functions, part) != 0) {
        serve_free(part);
        return;
    }
    settle(part, daemon);
}
