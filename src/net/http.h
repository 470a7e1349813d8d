/* A transport on libcurl's multi interface: one connection at a time per
 * host, hosts in parallel, answers kept on disk, the services' own expiry and
 * wishes obeyed also from one process to the next.
 *
 * Addresses: https, or plain http to this machine alone. Redirects: at most
 * three, within one registrable host. A key in an address (apikey=…) is never
 * logged, told in a trouble or written in a file's name. Not to be shared
 * between threads. */
#ifndef NET_HTTP_H
#define NET_HTTP_H

#include <stdbool.h>

#include "base/error.h"
#include "source/transport.h"

/* Times that nothing exceeds. */
struct http_caps {
    long connect_ms;    /* name look-up, connection and TLS */
    long total_ms;      /* one address, with its redirects */
    long low_bytes_s;   /* slower than this … */
    long low_s;         /* … for so long is given up */
    long fetch_ms;      /* a whole fetch(); what is left is told so */
    long redirects_max; /* followed for one address */
};

/* 10 s, 40 s, 100 bytes/s for 15 s, 120 s, 3. */
struct http_caps http_caps_default(void);

/* Once in main, before any thread, and once at its end. */
int http_global_start(struct error *err);
void http_global_end(void);

struct http;

/* The cache folder is made if missing. `contact` (a mail or web address) goes
 * into "User-Agent: thawbell/VERSION (contact)" of requests that have none of
 * their own; printable ASCII without parentheses, not empty. caps may be NULL:
 * the default ones. NULL and a sentence on failure. */
struct http *http_transport_open(const char *cache_folder, const char *contact,
                                 const struct http_caps *caps,
                                 struct error *err);
/* Valid until http_transport_free. */
struct transport http_transport(struct http *http);
void http_transport_free(struct http *http);

/* What fetch() is made of, for a loop that has other things to do.
 *
 * http_begin answers at once from the cache or queues the question; `answer`
 * must stay in place until http_step has said that nothing is under way or
 * http_abandon was called. The request's strings are copied. */
void http_begin(struct http *http, utc_s now,
                const struct transport_request *request,
                struct transport_answer *answer);
/* Works on the queue for at most wait_ms; true while questions are left. */
bool http_step(struct http *http, int wait_ms);
/* … or, for a loop that polls: http_work() does what can be done at once (true
 * while questions are left), then waits for http_fd() to be readable or for
 * http_wait_ms() milliseconds (-1: for ever) to pass. */
bool http_work(struct http *http);
int http_fd(const struct http *http);
int http_wait_ms(const struct http *http);
/* Is any of these answers still awaited? */
bool http_pending(const struct http *http,
                  const struct transport_answer *answers, int count);
/* Lets go of the answers that nobody has asked for since HTTP_KEEP_DAYS; when
 * all who are to ask have just asked. */
enum { HTTP_KEEP_DAYS = 14 };
void http_prune(struct http *http, utc_s now);
/* Gives up all that is left: those answers tell that there was no time. */
void http_abandon(struct http *http);

#endif
