/* The feed and page server: what is published, over HTTP, in threads of its
 * own (libmicrohttpd). It sees copies alone, never the store.
 *
 * An operation lies behind a path that cannot be guessed, /TOKEN/:
 *   /TOKEN/  and  /TOKEN/index.html   the page
 *   /TOKEN/calendar.ics               the feed
 *   /TOKEN/bulletin.json              the bulletin
 *   /TOKEN/metrics                    OpenMetrics 1.0, or Prometheus 0.0.4
 *   /TOKEN/health                     200, or 503 once the weather is a day
 *                                     old, or none is published yet; one line
 *                                     of JSON
 * and /robots.txt, which allows all (some calendars on the web give up
 * otherwise; X-Robots-Tag keeps the rest out of indexes). Everything else is
 * 404, whatever the method.
 *
 * Encryption is for a proxy in front (contrib/proxy). */
#ifndef DAEMON_SERVE_H
#define DAEMON_SERVE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/civil_time.h"
#include "base/error.h"

enum {
    SERVE_CONNECTIONS = 512, /* at once; the one that waits longest goes */
    SERVE_REQUEST_MS = 30000,
    SERVE_HEADER_BYTES = 16 * 1024, /* a request's, and buffers */
    SERVE_TOKEN_SIZE = 129,
    SERVE_MAX_SOURCES = 16,
    SERVE_VERY_OLD_S = SECONDS_PER_DAY
};

struct serve_options {
    const char *listen; /* "127.0.0.1:8420", "[::1]:8420"; port 0: any */
    int fd;             /* a listening socket handed over, or -1 */
    int connections;    /* 0: SERVE_CONNECTIONS */
    int request_ms;     /* from one answer, or the connection, to the end of
                           the next answer; 0: SERVE_REQUEST_MS */
    int threads;        /* 0: one */
    bool waits;         /* until serve_accept: who connects before is not
                           refused, but answered then */
};

/* One published file as it is served. */
struct serve_file {
    const char *name; /* "calendar.ics" */
    const char *type; /* "text/calendar; charset=utf-8" */
    const char *bytes;
    size_t length;
    utc_s modified; /* never "now": what the reader sees changed then */
};

/* How an operation fares, for metrics and health. */
struct serve_source {
    char name[32];
    utc_s fetched; /* 0: none */
    bool in_trouble;
    unsigned long good_turns, bad_turns;
};
struct serve_figures {
    utc_s made;         /* the last bulletin; 0: none yet */
    utc_s weather_from; /* 0: none yet */
    unsigned long turns_made, turns_failed;
    int mail_waiting, mail_dead; /* -1: not told */
    struct serve_source sources[SERVE_MAX_SOURCES];
    int source_count;
};

struct serve;

/* Listens from here on. NULL and a sentence that names the address; a socket
 * that was handed over is then closed. */
struct serve *serve_start(const struct serve_options *options,
                          struct error *err);
/* Begins to answer: once what is published lies in the table, lest a reader
 * who comes early is told that it does not exist. Done already: 0. */
int serve_accept(struct serve *serve, struct error *err);
/* The port it listens on. */
int serve_port(const struct serve *serve);
/* Puts the files in place of those the token had, whole: a reader gets the old
 * ones or the new ones. An answer under way keeps its own. The bytes are
 * copied (and compressed once). -1 and a sentence if a file is not one of the
 * table above; the old ones then stay. */
int serve_swap(struct serve *serve, const char *token,
               const struct serve_file *files, int count, struct error *err);
void serve_tell(struct serve *serve, const char *token,
                const struct serve_figures *figures);
/* The token is 404 from here on. */
void serve_drop(struct serve *serve, const char *token);
/* Ends; connections are closed. NULL is allowed. */
void serve_stop(struct serve *serve);

/* What an operation's folder holds, each file checked (calendar_check,
 * bulletin_from_json, page_check) before all are swapped in; a file that is
 * not there is left out. `figures` (may be NULL) then hold what its bulletin
 * tells: made, weather_from, sources. -1 and a sentence: what was served
 * before stays, and so do the figures. */
int serve_folder(struct serve *serve, const char *token, const char *folder,
                 struct serve_figures *figures, struct error *err);
/* How the bulletin's sources fare; `turned`: that was a turn, and counts. */
struct bulletin;
void serve_note_sources(struct serve_figures *figures,
                        const struct bulletin *bulletin, bool turned);

/* The token of a file, which is made with 130 bits of the kernel's randomness
 * and mode 0600 if it is not there. Refused: one that others may read, of
 * fewer than 22 letters, digits, - and _. The token belongs in no log. */
int serve_token_read(const char *path, char out[SERVE_TOKEN_SIZE],
                     struct error *err);

/* A socket that the service manager listens on for us (LISTEN_PID and
 * LISTEN_FDS), or -1. Once: the variables are taken away. */
int serve_handed_socket(void);

#endif
