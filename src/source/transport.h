/* How answers are obtained: net/ does it with libcurl and a cache on disk,
 * the demo from files, tests as they like. A transport never decodes. */
#ifndef SOURCE_TRANSPORT_H
#define SOURCE_TRANSPORT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/civil_time.h"
#include "base/error.h"

struct transport_request {
    const char *url;
    const char *accept;
    int min_interval_s; /* where the answer names no expiry of its own */
    size_t max_bytes;   /* unpacked */
    int per_minute;     /* requests that the host may get; 0: no limit */
    /* Of the operation, for the User-Agent; NULL: the transport's own. */
    const char *contact;
    /* Ask although the held answer is still fresh, yet at most hourly: a
     * look-up whose result has just led to a 404. */
    bool renew;
    /* The service's own words in an error body, as in struct source; may be
     * NULL: then no words are told. */
    void (*error_words)(const char *bytes, size_t length, char *out,
                        size_t out_size);
};

/* Freed with transport_answer_free. */
struct transport_answer {
    /* The newest body, to be decoded and then judged with settle(). NULL if
     * nothing new came. */
    char *body;
    size_t length;
    utc_s fetched;
    /* The last body that was judged good, with its own time; NULL if none.
     * When `body` is NULL this is what there is (still fresh, or the best
     * that is left). */
    char *held;
    size_t held_length;
    utc_s held_fetched;
    /* Its forecast's issue time, if it was told with its judgement. */
    bool held_issued_known;
    utc_s held_issued;
    /* The caller's, before settle(): that of the body; 0: it names none. */
    utc_s issued;
    utc_s next;        /* not to be asked again before */
    int status;        /* HTTP status of this attempt; 0: none, or not asked */
    bool deprecated;   /* the service says that this version will go (203) */
    char trouble[512]; /* "" if all is well; else a sentence naming the host */
};

void transport_answer_free(struct transport_answer *answer);

struct transport {
    void *self;
    /* Asks for `count` addresses at once, one connection at a time per host;
     * fresh ones come from the cache without asking. Never fails as a whole:
     * each answer tells its own trouble. `now` is the clock for expiry. */
    void (*fetch)(void *self, utc_s now,
                  const struct transport_request *requests, int count,
                  struct transport_answer *answers);
    /* The caller's judgement of the body of the last fetch of this address:
     * good replaces the held one, with answer->issued; bad is counted as a
     * server error, for `reason`, and the held one stays. On bad the answer's
     * trouble and next (answer may be NULL, then or always) tell what is wrong
     * and when it is asked again; a transport that does not know leaves them.
     * Settling an address twice is harmless: there is nothing left to judge. */
    void (*settle)(void *self, utc_s now, const char *url, bool good,
                   const char *reason, struct transport_answer *answer);
};

#endif
