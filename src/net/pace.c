#include "net/pace.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/digest.h"
#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"

enum { SEED_BYTES = (PACE_SEED_SIZE - 1) / 2 };

static void seed_make(char out[PACE_SEED_SIZE])
{
    unsigned char bytes[SEED_BYTES];
    FILE *random = fopen("/dev/urandom", "rb");
    bool made =
        random != NULL && fread(bytes, 1, sizeof bytes, random) == sizeof bytes;

    if (random != NULL)
        fclose(random);
    if (!made) {
        /* Spreading installations is all it is for: the clock will do. */
        struct timespec clock = {0, 0};
        char hex[DIGEST_SIZE], *words;

        clock_gettime(CLOCK_REALTIME, &clock);
        words = mem_format("%ld %ld %ld", (long)clock.tv_sec, clock.tv_nsec,
                           (long)getpid());
        digest_hex(words, strlen(words), hex);
        free(words);
        memcpy(out, hex, PACE_SEED_SIZE - 1);
        out[PACE_SEED_SIZE - 1] = '\0';
        return;
    }
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(out + 2 * i, 3, "%02x", bytes[i]);
}

static bool seed_read(const char *path, char out[PACE_SEED_SIZE])
{
    char *bytes = NULL;
    size_t length = 0;
    bool good;

    if (!file_exists(path) || file_read(path, 256, &bytes, &length, NULL) != 0)
        return false;
    good = strspn(bytes, "0123456789abcdef") == PACE_SEED_SIZE - 1 &&
           length == PACE_SEED_SIZE && bytes[length - 1] == '\n';
    if (good) {
        memcpy(out, bytes, PACE_SEED_SIZE - 1);
        out[PACE_SEED_SIZE - 1] = '\0';
    }
    free(bytes);
    return good;
}

int pace_seed_load(const char *folder, char out[PACE_SEED_SIZE],
                   struct error *err)
{
    char *path = file_join(folder, "seed");
    int result = 0;

    if (!seed_read(path, out)) {
        char line[PACE_SEED_SIZE + 1];

        seed_make(out);
        snprintf(line, sizeof line, "%s\n", out);
        result = file_write_whole(path, line, strlen(line), 0600, err);
    }
    free(path);
    return result;
}

double pace_fraction(const char *seed, const char *key, int turn)
{
    char *words = mem_format("%s %s %d", seed, key, turn);
    char hex[DIGEST_SIZE];

    digest_hex(words, strlen(words), hex);
    free(words);
    hex[8] = '\0';
    return (double)strtoul(hex, NULL, 16) / 4294967296.0;
}

int64_t pace_backoff_s(const char *seed, const char *key, int failures)
{
    int64_t wait = PACE_BACKOFF_MIN_S;

    for (int i = 1; i < failures && wait < PACE_BACKOFF_MAX_S; i++)
        wait *= 2;
    if (wait > PACE_BACKOFF_MAX_S)
        wait = PACE_BACKOFF_MAX_S;
    return wait +
           (int64_t)((double)wait * pace_fraction(seed, key, failures) / 4);
}

utc_s pace_off_hour(const char *seed, utc_s instant)
{
    int64_t past = instant % SECONDS_PER_HOUR;
    int64_t spread =
        (int64_t)(PACE_OFFSET_SPREAD_S * pace_fraction(seed, "hour", 0));

    if (past > SECONDS_PER_HOUR - PACE_HOUR_GUARD_S)
        past -= SECONDS_PER_HOUR;
    if (past >= PACE_HOUR_GUARD_S)
        return instant;
    return instant - past + PACE_HOUR_GUARD_S + spread;
}

static int64_t at_least(int64_t value, int64_t least)
{
    return value > least ? value : least;
}

utc_s pace_after_answer(const char *seed, const struct http_headers *headers,
                        int min_interval_s, utc_s now)
{
    int64_t wait = http_headers_fresh_s(headers, now);

    if (wait < 0)
        wait = min_interval_s;
    else
        wait += PACE_OFFSET_MIN_S + (int64_t)(PACE_OFFSET_SPREAD_S *
                                              pace_fraction(seed, "expiry", 0));
    return pace_off_hour(seed, now + at_least(wait, PACE_FRESH_MIN_S));
}

utc_s pace_after_error(const char *seed, const char *key, int status,
                       const struct http_headers *headers, int failures,
                       utc_s now)
{
    int64_t wait = pace_backoff_s(seed, key, failures);
    int64_t retry = http_headers_retry_s(headers, now);
    bool passing =
        status < 300 || status == 408 || status == 429 || status >= 500;

    if (status == 403)
        wait = PACE_BLOCKED_S;
    else if (!passing)
        wait = at_least(http_headers_fresh_s(headers, now), PACE_REFUSED_S);
    else if (retry >= 0)
        wait = retry + (int64_t)(60 * pace_fraction(seed, key, failures));
    if (status == 403)
        wait = at_least(wait, retry);
    if (wait > SECONDS_PER_DAY)
        wait = SECONDS_PER_DAY;
    return pace_off_hour(seed, now + wait);
}
