/* Inside of the transport: one question on its way, and who works on it.
 *
 * http.c queues questions and concludes them, http_transfer.c runs one on an
 * easy handle, http_verdict.c says what an answer means and keeps it. */
#ifndef NET_HTTP_JOB_H
#define NET_HTTP_JOB_H

#include <curl/curl.h>
#include <stdint.h>

#include "base/text.h"
#include "net/cache.h"
#include "net/clock.h"
#include "net/http.h"
#include "net/http_headers.h"
#include "net/http_url.h"
#include "net/multi.h"
#include "net/pace.h"

enum { HTTP_ERROR_BODY_BYTES = 16384 };

/* A host and port. Held: it refused us as a whole, or is not there, so that
 * its other addresses need not be tried. */
struct http_host {
    char name[HTTP_HOST_SIZE];
    int port;
    bool busy;
    int64_t start_ms; /* steady time; the next question not before */
    utc_s held_since, held_until;
    char trouble[512];
};

/* The last question for an address, for settle(): kept until it is judged, or
 * was not within HTTP_ASKED_MS. */
enum { HTTP_ASKED_MS = 300000 };

struct http_asked {
    uint64_t hash; /* of the address, to find it quickly */
    char *url;
    char key[DIGEST_SIZE];
    char host[HTTP_HOST_SIZE];
    size_t max_bytes;
    int status;
    struct http_headers headers;
    int64_t noted_ms; /* steady time */
    bool has_fresh;   /* a body waits for its judgement in `fresh` */
    struct cache_record fresh;
};

struct http_job {
    struct http_job *next;
    struct http *http;
    struct transport_answer *answer; /* the caller's */
    utc_s now;
    char *asked_url; /* as the caller gave it */
    char *url;       /* after redirects */
    char *accept;    /* or NULL */
    char *agent;     /* User-Agent */
    int min_interval_s;
    int per_minute; /* of its host; 0: as quickly as it answers */
    size_t max_bytes;
    void (*error_words)(const char *bytes, size_t length, char *out,
                        size_t out_size);
    struct http_url parts; /* of url */
    struct cache_record record;
    int host; /* index */
    int redirects;
    bool unconditional; /* after a 304 with nothing held */
    bool running, done;
    int64_t deadline_ms; /* monotonic; 0: not begun */
    /* The transfer. */
    CURL *easy;
    struct curl_slist *lines;
    struct http_headers headers;
    struct text body;
    bool too_large;
};

struct http {
    struct multi *multi;
    struct cache *cache;
    char seed[PACE_SEED_SIZE];
    char *contact;
    struct http_caps caps;
    struct http_host *hosts;
    int host_count;
    struct http_job *jobs; /* in order of asking */
    struct http_asked *asked;
    int asked_count;
};

/* Starts the job's url on its own easy handle. -1: could not. */
int http_transfer_start(struct http_job *job);
/* Takes the handle off again; the body and the headers stay. */
void http_transfer_end(struct http_job *job);

/* The clock may be set back so far unnoticed; more makes what was noted with
 * the later clock worthless. */
enum { HTTP_CLOCK_SLACK_S = 300 };

/* Fills the answer of a question that ran, and writes the cache. `code` is
 * the transfer's result. */
void http_conclude(struct http_job *job, CURLcode code, int status);
/* Fills the answer of a question that was not asked: with what the cache
 * holds, or because its host is held, or for want of time. */
void http_conclude_cached(struct http_job *job);
void http_conclude_held(struct http_job *job);
void http_conclude_abandoned(struct http_job *job);
/* … or for an address that may not be asked or followed. */
void http_conclude_refused(struct http_job *job, int status,
                           const char *reason);

void http_settle(struct http *http, utc_s now, const char *url, bool good,
                 const char *reason, struct transport_answer *answer);
void http_asked_free(struct http_asked *asked);

/* Sentences. The time is told with its date if it is not within a day. */
enum { HTTP_TIME_SIZE = 40, HTTP_WORDS_SIZE = 200 };

void http_words_time(utc_s instant, utc_s now, char out[HTTP_TIME_SIZE]);
/* One line without control characters or keys, at most HTTP_WORDS_SIZE. */
void http_words_clean(const char *words, const char *url,
                      char out[HTTP_WORDS_SIZE]);
/* `words` may be "". */
void http_words_status(struct error *out, const char *host, int status,
                       const char *words, const char *again);
void http_words_failure(struct error *out, const char *host, CURLcode code,
                        bool too_large, const char *again);
void http_words_useless(struct error *out, const char *host, bool html,
                        const char *reason, const char *again);

#endif
