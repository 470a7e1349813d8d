#include "daemon/serve.h"

#include <errno.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/words.h"
#include "daemon/serve_guard.h"
#include "daemon/serve_http.h"
#include "daemon/serve_socket.h"
#include "daemon/serve_table.h"
#include "net/http_headers.h"

enum {
    SPARE_CONNECTIONS = 64, /* accepted while others are being closed */
    STACK_BYTES = 256 * 1024,
    ANSWER_MAX_BYTES = 64 * 1024,
};

struct serve {
    struct MHD_Daemon *daemon;
    struct guard *guard;
    struct serve_table table;
    struct MHD_Response *robots, *not_found, *wrong_method, *bad_request;
    atomic_ulong requests[SERVE_STATUS_COUNT];
    int port;
    int fd; /* the listening socket, or -1: libmicrohttpd has it */
    int threads, most, request_ms;
};

/* What a path means. */
enum route {
    ROUTE_NONE,
    ROUTE_ROBOTS,
    ROUTE_FILE,
    ROUTE_METRICS,
    ROUTE_HEALTH
};

struct request {
    struct serve *serve;
    struct MHD_Connection *connection;
    const char *token;
    size_t token_length;
    enum route route;
    int file;
};

static enum MHD_Result answer(const struct request *request, int status,
                              struct MHD_Response *response)
{
    for (int i = 0; i < SERVE_STATUS_COUNT; i++)
        if (serve_statuses[i] == status)
            atomic_fetch_add(&request->serve->requests[i], 1);
    return MHD_queue_response(request->connection, (unsigned)status, response);
}

static void route_name(struct request *request, const char *name)
{
    request->route = ROUTE_FILE;
    if (name[0] == '\0')
        return; /* the page */
    for (request->file = 0; request->file < SERVE_FILES; request->file++)
        if (strcmp(name, serve_names[request->file]) == 0)
            return;
    request->route = strcmp(name, "metrics") == 0  ? ROUTE_METRICS
                     : strcmp(name, "health") == 0 ? ROUTE_HEALTH
                                                   : ROUTE_NONE;
}

/* By an exact table: nothing of a path ever names a file of the machine. */
static void route_path(struct request *request, const char *path)
{
    const char *slash = path[0] == '/' ? strchr(path + 1, '/') : NULL;
    struct serve_table *table = &request->serve->table;

    if (strcmp(path, "/robots.txt") == 0) {
        request->route = ROUTE_ROBOTS;
        return;
    }
    if (slash == NULL || slash - path >= SERVE_TOKEN_SIZE)
        return;
    request->token = path + 1;
    request->token_length = (size_t)(slash - path) - 1;
    route_name(request, slash + 1);
    pthread_mutex_lock(&table->lock);
    if (serve_table_find(table, request->token, request->token_length) == NULL)
        request->route = ROUTE_NONE;
    pthread_mutex_unlock(&table->lock);
}

/* All lines of a header as one list. */
struct joined {
    const char *name;
    struct text *list;
};

static enum MHD_Result join_value(void *self, enum MHD_ValueKind kind,
                                  const char *name, const char *value)
{
    const struct joined *joined = self;

    (void)kind;
    if (strcasecmp(name, joined->name) != 0 || value == NULL)
        return MHD_YES;
    if (joined->list->length > 0)
        text_add(joined->list, ", ");
    text_add(joined->list, value);
    return MHD_YES;
}

/* Empty if the header is not there. */
static void header(struct MHD_Connection *connection, const char *name,
                   struct text *out)
{
    struct joined joined = {name, out};

    text_init(out, SERVE_HEADER_BYTES);
    MHD_get_connection_values(connection, MHD_HEADER_KIND, join_value, &joined);
}

/* If-None-Match goes before If-Modified-Since (RFC 9110 section 13.2.2). */
static bool not_modified(struct MHD_Connection *connection,
                         const struct served_form *form, utc_s modified)
{
    struct text tags;
    const char *since;
    bool same;
    utc_s date;

    header(connection, "If-None-Match", &tags);
    if (tags.length > 0) {
        same = serve_tag_listed(tags.bytes, form->tag);
    } else {
        since = MHD_lookup_connection_value(connection, MHD_HEADER_KIND,
                                            "If-Modified-Since");
        same = since != NULL && http_date_parse(since, modified, &date) &&
               modified <= date;
    }
    text_free(&tags);
    return same;
}

static enum MHD_Result answer_file(const struct request *request)
{
    struct serve_table *table = &request->serve->table;
    struct MHD_Connection *connection = request->connection;
    struct served_form form = {NULL, ""};
    struct served *row;
    struct text codings;
    enum MHD_Result result = MHD_NO;

    header(connection, "Accept-Encoding", &codings);
    pthread_mutex_lock(&table->lock);
    row = serve_table_find(table, request->token, request->token_length);
    if (row != NULL) {
        const struct served_file *file = &row->files[request->file];

        form = file->gzip.response != NULL && serve_takes_gzip(codings.bytes)
                   ? file->gzip
                   : file->plain;
        /* The same response for 304: its length is that of the 200. */
        if (form.response != NULL)
            result = answer(request,
                            not_modified(connection, &form, file->modified)
                                ? MHD_HTTP_NOT_MODIFIED
                                : MHD_HTTP_OK,
                            form.response);
    }
    pthread_mutex_unlock(&table->lock);
    text_free(&codings);
    if (form.response == NULL)
        result = answer(request, MHD_HTTP_NOT_FOUND, request->serve->not_found);
    return result;
}

static enum MHD_Result answer_words(const struct request *request, int status,
                                    const char *type, struct text *words)
{
    struct MHD_Response *response;
    enum MHD_Result result;
    size_t length = words->length;

    response = MHD_create_response_from_buffer_with_free_callback(
        length, text_steal(words), free);
    if (response == NULL)
        return MHD_NO;
    serve_add_headers(response, type);
    MHD_add_response_header(response, "Cache-Control", "no-store");
    result = answer(request, status, response);
    MHD_destroy_response(response);
    return result;
}

static bool figures_of(const struct request *request,
                       struct serve_figures *figures)
{
    struct serve_table *table = &request->serve->table;
    struct served *row;

    pthread_mutex_lock(&table->lock);
    row = serve_table_find(table, request->token, request->token_length);
    if (row != NULL)
        *figures = row->figures;
    pthread_mutex_unlock(&table->lock);
    return row != NULL;
}

/* Ages are those of the moment; all else was told by the daemon. */
static enum MHD_Result answer_state(const struct request *request)
{
    unsigned long requests[SERVE_STATUS_COUNT];
    struct serve_figures figures;
    struct text accept, words;
    utc_s now = time(NULL);
    enum MHD_Result result;
    bool open;

    if (!figures_of(request, &figures))
        return answer(request, MHD_HTTP_NOT_FOUND, request->serve->not_found);
    text_init(&words, ANSWER_MAX_BYTES);
    if (request->route == ROUTE_HEALTH) {
        bool good = serve_health(&figures, now, &words);

        return answer_words(request, good ? 200 : 503, "application/json",
                            &words);
    }
    for (int i = 0; i < SERVE_STATUS_COUNT; i++)
        requests[i] = atomic_load(&request->serve->requests[i]);
    header(request->connection, "Accept", &accept);
    open = serve_takes_openmetrics(accept.bytes);
    serve_metrics(&figures, requests, now, open, &words);
    result = answer_words(
        request, 200,
        open ? "application/openmetrics-text; version=1.0.0; charset=utf-8"
             : "text/plain; version=0.0.4; charset=utf-8",
        &words);
    text_free(&accept);
    return result;
}

/* What a proxy and we might read otherwise: two ways to say where the request
 * ends (RFC 9112 section 6.3), two hosts (section 3.2). */
struct doubles {
    int hosts, lengths, codings;
};

static enum MHD_Result count_doubles(void *self, enum MHD_ValueKind kind,
                                     const char *name, const char *value)
{
    struct doubles *doubles = self;

    (void)kind;
    (void)value;
    doubles->hosts += strcasecmp(name, "Host") == 0;
    doubles->lengths += strcasecmp(name, "Content-Length") == 0;
    doubles->codings += strcasecmp(name, "Transfer-Encoding") == 0;
    return MHD_YES;
}

static bool ambiguous(struct MHD_Connection *connection)
{
    struct doubles doubles = {0, 0, 0};

    MHD_get_connection_values(connection, MHD_HEADER_KIND, count_doubles,
                              &doubles);
    return doubles.hosts > 1 || doubles.lengths + doubles.codings > 1;
}

static enum MHD_Result handle(void *self, struct MHD_Connection *connection,
                              const char *path, const char *method,
                              const char *version, const char *body,
                              size_t *body_length, void **seen)
{
    struct serve *serve = self;
    struct request request = {.serve = serve, .connection = connection};
    bool reads = strcmp(method, "GET") == 0 || strcmp(method, "HEAD") == 0;

    (void)version;
    (void)body;
    if (*seen == NULL) {
        *seen = serve;
        if (ambiguous(connection))
            return answer(&request, MHD_HTTP_BAD_REQUEST, serve->bad_request);
        return MHD_YES;
    }
    if (*body_length > 0) { /* nobody reads it */
        *body_length = 0;
        return MHD_YES;
    }
    route_path(&request, path);
    if (request.route == ROUTE_NONE)
        return answer(&request, MHD_HTTP_NOT_FOUND, serve->not_found);
    if (!reads)
        return answer(&request, MHD_HTTP_METHOD_NOT_ALLOWED,
                      serve->wrong_method);
    if (request.route == ROUTE_ROBOTS)
        return answer(&request, MHD_HTTP_OK, serve->robots);
    if (request.route == ROUTE_FILE)
        return answer_file(&request);
    return answer_state(&request);
}

/* Paths are compared as they came: nothing of ours needs a % in them, and a
 * %00 would cut one. */
static size_t leave_escaped(void *self, struct MHD_Connection *connection,
                            char *words)
{
    (void)self;
    (void)connection;
    return strlen(words);
}

static void notice(void *self, struct MHD_Connection *connection,
                   void **context, enum MHD_ConnectionNotificationCode what)
{
    struct serve *serve = self;
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);

    if (what == MHD_CONNECTION_NOTIFY_STARTED && info != NULL)
        *context = guard_begin(serve->guard, info->connect_fd);
    else if (what == MHD_CONNECTION_NOTIFY_CLOSED && *context != NULL)
        guard_end(serve->guard, *context);
}

static void completed(void *self, struct MHD_Connection *connection,
                      void **seen, enum MHD_RequestTerminationCode code)
{
    struct serve *serve = self;
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);

    (void)code;
    *seen = NULL;
    if (info != NULL && info->socket_context != NULL)
        guard_answered(serve->guard, info->socket_context);
}

static struct MHD_Response *fixed(const char *words, const char *type)
{
    /* The words outlive the server; libmicrohttpd does not write there. */
    struct MHD_Response *response = MHD_create_response_from_buffer(
        strlen(words),
        (void *)(uintptr_t)words, /* NOLINT(performance-no-int-to-ptr) */
        MHD_RESPMEM_PERSISTENT);

    if (response != NULL)
        serve_add_headers(response, type);
    return response;
}

static bool make_fixed(struct serve *serve)
{
    static const char plain[] = "text/plain; charset=utf-8";

    serve->robots = fixed("User-agent: *\nDisallow:\n", plain);
    serve->not_found = fixed("Not found.\n", plain);
    serve->wrong_method = fixed("Only GET and HEAD.\n", plain);
    serve->bad_request = fixed("Bad request.\n", plain);
    if (serve->robots == NULL || serve->not_found == NULL ||
        serve->wrong_method == NULL || serve->bad_request == NULL)
        return false;
    MHD_add_response_header(serve->wrong_method, "Allow", "GET, HEAD");
    MHD_add_response_header(serve->bad_request, "Connection", "close");
    return true;
}

/* Half of the descriptors that the process may have are left to the rest. */
static int most_connections(int wanted)
{
    struct rlimit limit;
    int most = wanted > 0 ? wanted : SERVE_CONNECTIONS;

    if (getrlimit(RLIMIT_NOFILE, &limit) == 0 &&
        limit.rlim_cur / 2 < (rlim_t)most + SPARE_CONNECTIONS)
        most = (int)(limit.rlim_cur / 2) - SPARE_CONNECTIONS;
    return most > 8 ? most : 8;
}

static struct MHD_Daemon *start_daemon(struct serve *serve)
{
    struct MHD_OptionItem more[] = {
        {MHD_OPTION_THREAD_POOL_SIZE, serve->threads, NULL},
        {MHD_OPTION_END, 0, NULL}};

    return MHD_start_daemon(
        MHD_USE_EPOLL_INTERNAL_THREAD, 0, NULL, NULL, handle, serve,
        MHD_OPTION_LISTEN_SOCKET, serve->fd, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)(serve->most + SPARE_CONNECTIONS),
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)SERVE_HEADER_BYTES,
        MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_NOTIFY_CONNECTION, notice,
        serve, MHD_OPTION_NOTIFY_COMPLETED, completed, serve,
        MHD_OPTION_UNESCAPE_CALLBACK, leave_escaped, NULL,
        MHD_OPTION_THREAD_STACK_SIZE, (size_t)STACK_BYTES, MHD_OPTION_ARRAY,
        serve->threads > 1 ? more : more + 1, MHD_OPTION_END);
}

/* Threads inherit the mask: a signal must never be theirs to take. */
static void start_threads(struct serve *serve)
{
    sigset_t all, before;

    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    serve->guard = guard_start(serve->most, serve->request_ms);
    if (serve->guard != NULL && make_fixed(serve))
        serve->daemon = start_daemon(serve);
    pthread_sigmask(SIG_SETMASK, &before, NULL);
}

int serve_accept(struct serve *serve, struct error *err)
{
    if (serve->daemon != NULL)
        return 0;
    start_threads(serve);
    if (serve->daemon == NULL)
        return error_set(err,
                         _("the server on port %d could not be started: "
                           "%s"),
                         serve->port, words_errno(errno));
    serve->fd = -1;
    return 0;
}

struct serve *serve_start(const struct serve_options *options,
                          struct error *err)
{
    int fd = options->fd >= 0 ? options->fd
                              : serve_socket_open(options->listen, err);
    struct serve *serve;

    if (fd < 0)
        return NULL;
    serve = mem_alloc(1, sizeof *serve);
    serve_table_init(&serve->table);
    serve->fd = fd;
    serve->port = serve_socket_port(fd);
    serve->threads = options->threads;
    serve->most = most_connections(options->connections);
    serve->request_ms =
        options->request_ms > 0 ? options->request_ms : SERVE_REQUEST_MS;
    if (options->waits || serve_accept(serve, err) == 0)
        return serve;
    serve_stop(serve);
    return NULL;
}

int serve_port(const struct serve *serve)
{
    return serve->port;
}

int serve_swap(struct serve *serve, const char *token,
               const struct serve_file *files, int count, struct error *err)
{
    return serve_table_swap(&serve->table, token, files, count, err);
}

void serve_tell(struct serve *serve, const char *token,
                const struct serve_figures *figures)
{
    serve_table_tell(&serve->table, token, figures);
}

void serve_drop(struct serve *serve, const char *token)
{
    serve_table_drop(&serve->table, token);
}

void serve_stop(struct serve *serve)
{
    struct MHD_Response *fixed_ones[4];

    if (serve == NULL)
        return;
    if (serve->daemon != NULL)
        MHD_stop_daemon(serve->daemon);
    if (serve->fd >= 0)
        close(serve->fd);
    guard_stop(serve->guard);
    serve_table_free(&serve->table);
    fixed_ones[0] = serve->robots;
    fixed_ones[1] = serve->not_found;
    fixed_ones[2] = serve->wrong_method;
    fixed_ones[3] = serve->bad_request;
    for (int i = 0; i < 4; i++)
        if (fixed_ones[i] != NULL)
            MHD_destroy_response(fixed_ones[i]);
    free(serve);
}
