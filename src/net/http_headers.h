/* The header lines of an answer that matter to us, and what they say about
 * time. Pure. Field syntax and meaning: RFC 9110 (dates 5.6.7, validators
 * 8.8, Retry-After 10.2.3), RFC 9111 (freshness 4.2). */
#ifndef NET_HTTP_HEADERS_H
#define NET_HTTP_HEADERS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/civil_time.h"

enum {
    HTTP_ETAG_SIZE = 256,
    HTTP_DATE_SIZE = 64,
    HTTP_TYPE_SIZE = 128,
    HTTP_FRESH_MAX_S = 7 * SECONDS_PER_DAY,
    HTTP_RETRY_MIN_S = 60,
    HTTP_RETRY_MAX_S = SECONDS_PER_DAY
};

/* Text fields are "" if absent, too long or not printable ASCII. */
struct http_headers {
    bool complete; /* the blank line came: what follows are trailers */
    char etag[HTTP_ETAG_SIZE];          /* as sent, byte for byte */
    char last_modified[HTTP_DATE_SIZE]; /* as sent, never computed with */
    char date[HTTP_DATE_SIZE];
    char expires[HTTP_DATE_SIZE];
    char retry_after[HTTP_DATE_SIZE];
    char content_type[HTTP_TYPE_SIZE];
    int64_t max_age_s; /* -1: none */
    int64_t age_s;     /* 0: none */
};

void http_headers_clear(struct http_headers *headers);
/* One line as it came, with or without its end. A status line starts anew
 * (after a "100 Continue"), lines after the blank one are not looked at. */
void http_headers_add(struct http_headers *headers, const char *line,
                      size_t length);

/* An HTTP date in any of its three forms; two-digit years as RFC 9110 says
 * (more than 50 years ahead of `now` is the past). The whole text must be
 * one. */
bool http_date_parse(const char *words, utc_s now, utc_s *out);

/* Seconds for which the answer is fresh by its own words: max-age, or else
 * Expires against Date (against `now` without one), less Age; at most
 * HTTP_FRESH_MAX_S. -1 if it names none, or one that is over already. */
int64_t http_headers_fresh_s(const struct http_headers *headers, utc_s now);

/* Seconds to wait by Retry-After, held within HTTP_RETRY_MIN_S and
 * HTTP_RETRY_MAX_S; -1 if there is none, or nonsense, or a time gone by. */
int64_t http_headers_retry_s(const struct http_headers *headers, utc_s now);

bool http_headers_html(const struct http_headers *headers);

#endif
