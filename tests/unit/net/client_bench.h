/* A client against the faulty server, with a cache folder of its own. */
#ifndef CLIENT_BENCH_H
#define CLIENT_BENCH_H

#include "unit_test.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "fault_server.h"
#include "net/http.h"
#include "net/pace.h"
#include "own_folder.h"

enum { INTERVAL_S = 1500, MAX_BYTES = 2 * 1024 * 1024 };

/* 2026-03-08 12:20 UTC: what the tests add stays off the full hour, unless
 * they mean it. */
static const utc_s NOW = 1772972400;

struct bench {
    struct fault_server *server; /* one for all tests */
    char folder[OWN_FOLDER_SIZE];
    struct http *http;
    struct transport transport;
    struct transport_answer answer; /* of the last ask() */
};

static struct fault_server the_server;
static char server_folder[OWN_FOLDER_SIZE];

static inline int group_set_up(void **state)
{
    (void)state;
    own_folder_make(server_folder, "net-server");
    if (http_global_start(NULL) != 0)
        return -1;
    return fault_server_start(
        &the_server, PROJECT_DIR "/tests/faults/client.json", server_folder);
}

static inline int group_tear_down(void **state)
{
    (void)state;
    fault_server_stop(&the_server);
    own_folder_remove(server_folder);
    http_global_end();
    return 0;
}

/* Short caps, so that slow servers do not make slow tests. */
static inline void bench_open(struct bench *bench)
{
    struct http_caps caps = {.connect_ms = 2000,
                             .total_ms = 6000,
                             .low_bytes_s = 100,
                             .low_s = 2,
                             .fetch_ms = 15000,
                             .redirects_max = 3};

    bench->http =
        http_transport_open(bench->folder, "sugar@example.org", &caps, NULL);
    assert_non_null(bench->http);
    bench->transport = http_transport(bench->http);
}

static inline int set_up(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);

    bench->server = &the_server;
    own_folder_make(bench->folder, "net-cache");
    log_set_level(LOG_LEVEL_ERROR);
    bench_open(bench);
    *state = bench;
    return 0;
}

static inline int tear_down(void **state)
{
    struct bench *bench = *state;

    transport_answer_free(&bench->answer);
    http_transport_free(bench->http);
    own_folder_remove(bench->folder);
    free(bench);
    return 0;
}

/* Another process with the same cache: nothing in memory is left. */
static inline void bench_reopen(struct bench *bench)
{
    http_transport_free(bench->http);
    bench_open(bench);
}

/* One of four texts in turn. */
static inline const char *url_at(const struct bench *bench, int host,
                                 const char *path)
{
    static char urls[4][512];
    static int turn;

    turn = (turn + 1) % 4;
    snprintf(urls[turn], sizeof urls[turn], "http://127.0.0.%d:%d%s", host,
             bench->server->port, path);
    return urls[turn];
}

/* The service's words, as a source would find them: the body itself. */
static inline void body_words(const char *bytes, size_t length, char *out,
                              size_t out_size)
{
    snprintf(out, out_size, "%.*s", (int)length, bytes);
}

static inline struct transport_request request_for(const char *url)
{
    return (struct transport_request){.url = url,
                                      .accept = "application/json",
                                      .min_interval_s = INTERVAL_S,
                                      .max_bytes = MAX_BYTES,
                                      .error_words = body_words};
}

static inline struct transport_answer *
ask_with(struct bench *bench, utc_s now,
         const struct transport_request *request)
{
    transport_answer_free(&bench->answer);
    bench->transport.fetch(bench->transport.self, now, request, 1,
                           &bench->answer);
    return &bench->answer;
}

static inline struct transport_answer *ask(struct bench *bench, utc_s now,
                                           const char *path)
{
    struct transport_request request = request_for(url_at(bench, 1, path));

    return ask_with(bench, now, &request);
}

static inline void settle(struct bench *bench, utc_s now, const char *path,
                          bool good)
{
    bench->transport.settle(bench->transport.self, now, url_at(bench, 1, path),
                            good, good ? "" : "no series in it", NULL);
}

/* Asks and takes the body for good. */
static inline struct transport_answer *ask_good(struct bench *bench, utc_s now,
                                                const char *path)
{
    struct transport_answer *answer = ask(bench, now, path);

    assert_non_null(answer->body);
    assert_string_equal("", answer->trouble);
    settle(bench, now, path, true);
    return answer;
}

/* How often the server saw a path. */
static inline int seen(const struct bench *bench, const char *path)
{
    return fault_server_count(bench->server, path);
}

/* A header of the last request for a path, "" if it had none; the text lives
 * until the next call. */
static inline const char *header_seen(const struct bench *bench,
                                      const char *path, const char *name)
{
    static char value[512];
    cJSON *request = fault_server_request(bench->server, path, -1, NULL);
    const cJSON *headers = cJSON_GetObjectItem(request, "headers");
    const cJSON *header = cJSON_GetObjectItem(headers, name);

    assert_non_null(request);
    snprintf(value, sizeof value, "%s",
             cJSON_IsString(header) ? header->valuestring : "");
    cJSON_Delete(request);
    return value;
}

static inline double seconds(void)
{
    struct timespec clock = {0, 0};

    clock_gettime(CLOCK_MONOTONIC, &clock);
    return (double)clock.tv_sec + (double)clock.tv_nsec / 1e9;
}

static inline void assert_has(const char *text, const char *words)
{
    if (strstr(text, words) == NULL)
        fail_msg("\"%s\" is missing in \"%s\"", words, text);
}

static inline void assert_lacks(const char *text, const char *words)
{
    if (strstr(text, words) != NULL)
        fail_msg("\"%s\" is in \"%s\"", words, text);
}

/* Asks a fault of its own cache and says what came. */
static inline struct transport_answer *fault(struct bench *bench,
                                             const char *name)
{
    char path[64];

    snprintf(path, sizeof path, "/fault/%s", name);
    return ask(bench, NOW, path);
}

/* No body, a sentence that names the host, and a wait within bounds. */
static inline void assert_trouble(const struct transport_answer *answer,
                                  int status, const char *words, int64_t least,
                                  int64_t most)
{
    assert_null(answer->body);
    assert_int_equal(status, answer->status);
    assert_has(answer->trouble, words);
    assert_has(answer->trouble, "127.0.0.");
    assert_has(answer->trouble, "; asking again at 1");
    assert_has(answer->trouble, " UTC");
    assert_in_range(answer->next, NOW + least, NOW + most);
}

#define BENCH_TEST(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)

#endif
