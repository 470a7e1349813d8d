/* Which addresses may be asked, and where a redirect may lead. Pure.
 *
 * Addresses are read with libcurl's own parser, the one that is used for the
 * transfer: two parsers that disagree about "http://127.0.0.1@evil.example"
 * are a hole. */
#ifndef NET_HTTP_URL_H
#define NET_HTTP_URL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

enum { HTTP_HOST_SIZE = 256, HTTP_URL_MAX_BYTES = 4096 };

struct http_url {
    char host[HTTP_HOST_SIZE]; /* lower case; an IPv6 address in brackets */
    int port;
    bool plain;    /* http, not https */
    bool loopback; /* localhost, 127.0.0.0/8 or ::1 */
};

/* Reads an address and says whether it may be asked: https, or http to this
 * machine alone; printable ASCII, no user name or password, no zone. Returns
 * 0, or -1 with a sentence that names at most the host. */
int http_url_read(const char *url, struct http_url *out, struct error *err);

/* May the service at `from` send us on to `to`? Only within one registrable
 * host (the same host where the address carries a key), never from https to
 * http, and from or to this machine only within it. */
bool http_url_may_follow(const struct http_url *from, const struct http_url *to,
                         bool has_secret);

/* Does the query hold a key (apikey, api_key, key, token, access_token,
 * appid)? */
bool http_url_has_secret(const char *url);

/* Overwrites with '*' each place in `words` where a key of the address
 * stands, as written or percent-decoded. Keys under 4 bytes are no secrets. */
void http_url_hide_secrets(const char *url, char *words);

#endif
