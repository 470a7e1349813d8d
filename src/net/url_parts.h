/* Parts of an address as libcurl's own parser sees them: what http_url.c and
 * smtp_address.c have in common. */
#ifndef NET_URL_PARTS_H
#define NET_URL_PARTS_H

#include <curl/curl.h>
#include <stdbool.h>
#include <stddef.h>

/* Printable ASCII without blanks? */
bool url_printable(const char *url);
/* One part into out; false, and out empty, if absent or too long. */
bool url_part_copy(CURLU *parsed, CURLUPart part, char *out, size_t size);
bool url_part_there(CURLU *parsed, CURLUPart part);
/* The host in lower case; false if absent or too long. */
bool url_host_copy(CURLU *parsed, char *out, size_t size);
/* localhost, ::1 or 127.0.0.0/8 (RFC 6890) as four plain decimal numbers; a
 * host as url_host_copy gives it. */
bool url_host_loopback(const char *host);

#endif
