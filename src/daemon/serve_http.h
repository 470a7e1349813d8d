/* What requests say: validators, codings, dates (RFC 9110). Pure. Inside
 * daemon/ only. */
#ifndef DAEMON_SERVE_HTTP_H
#define DAEMON_SERVE_HTTP_H

#include <stdbool.h>

#include "base/civil_time.h"
#include "base/text.h"
#include "daemon/serve.h"

enum { SERVE_DATE_SIZE = 32 };

/* "Sat, 07 Mar 2026 18:10:00 GMT" (section 5.6.7). */
void serve_date_words(utc_s instant, char out[SERVE_DATE_SIZE]);

/* Is the entity tag (with its quotes) in the list of an If-None-Match, by the
 * weak comparison, or is the list "*" (sections 8.8.3.2 and 13.1.2)? A list
 * that is none matches nothing from its fault on. */
bool serve_tag_listed(const char *list, const char *tag);

/* Does an Accept-Encoding take gzip (section 12.5.3)? */
bool serve_takes_gzip(const char *list);
/* Does an Accept name application/openmetrics-text? */
bool serve_takes_openmetrics(const char *list);

/* The figures at `now`; requests by status: 200, 304, 400, 404, 405, 503. */
enum { SERVE_STATUS_COUNT = 6 };
extern const int serve_statuses[SERVE_STATUS_COUNT];
void serve_metrics(const struct serve_figures *figures,
                   const unsigned long requests[SERVE_STATUS_COUNT], utc_s now,
                   bool openmetrics, struct text *out);
/* One line of JSON; false once the weather is very old or there is none. */
bool serve_health(const struct serve_figures *figures, utc_s now,
                  struct text *out);

#endif
