/* When to ask next: pure arithmetic, and the one random number of an
 * installation that keeps all installations from asking together.
 *
 * The services' own demands (terms of service of MET Norway, of Open-Meteo and
 * of the US National Weather Service): nothing before the stated expiry, no
 * bursts on the full hour, Retry-After obeyed, backing off on errors. */
#ifndef NET_PACE_H
#define NET_PACE_H

#include <stddef.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "net/http_headers.h"

enum {
    PACE_SEED_SIZE = 33,      /* 32 hex digits and a NUL */
    PACE_BACKOFF_MIN_S = 120, /* then 4, 8 … minutes */
    PACE_BACKOFF_MAX_S = 3600,
    PACE_REFUSED_S = 3600,      /* 400, 401, 404, 422 and the like */
    PACE_BLOCKED_S = 6 * 3600,  /* 403 */
    PACE_FRESH_MIN_S = 60,      /* whatever the answer says */
    PACE_OFFSET_MIN_S = 30,     /* after a service's expiry */
    PACE_OFFSET_SPREAD_S = 270, /* … and up to so much more */
    PACE_HOUR_GUARD_S = 60      /* nobody asks so close to the full hour */
};

/* Reads the installation's seed from the folder's file "seed"; makes one if
 * it is missing or no seed. -1 with a sentence if it cannot be made; `out`
 * then holds a seed for this run. */
int pace_seed_load(const char *folder, char out[PACE_SEED_SIZE],
                   struct error *err);

/* In [0, 1), the same for the same three. */
double pace_fraction(const char *seed, const char *key, int turn);

/* Seconds to wait after the `failures`th failure in a row (from 1): 2, 4, 8 …
 * 60 minutes and up to a quarter more. */
int64_t pace_backoff_s(const char *seed, const char *key, int failures);

/* The instant, moved later if it lies close to a full hour. */
utc_s pace_off_hour(const char *seed, utc_s instant);

/* After an answer with status 200, 203, 204 or 304: the service's expiry and
 * the installation's offset, or min_interval_s where it says nothing. */
utc_s pace_after_answer(const char *seed, const struct http_headers *headers,
                        int min_interval_s, utc_s now);

/* After an answer with an error status. `failures` counts this one. */
utc_s pace_after_error(const char *seed, const char *key, int status,
                       const struct http_headers *headers, int failures,
                       utc_s now);

#endif
