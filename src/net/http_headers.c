#include "net/http_headers.h"

#include <ctype.h>
#include <string.h>
#include <strings.h>

#include "base/units.h"

void http_headers_clear(struct http_headers *headers)
{
    memset(headers, 0, sizeof *headers);
    headers->max_age_s = -1;
}

/* The value without blanks around it. */
static const char *value_trim(const char *value, size_t *length)
{
    while (*length > 0 && (*value == ' ' || *value == '\t')) {
        value++;
        (*length)--;
    }
    while (*length > 0 && isspace((unsigned char)value[*length - 1]))
        (*length)--;
    return value;
}

/* The first of several counts; one that does not fit is as good as none. */
static void value_keep(char *out, size_t size, const char *value, size_t length)
{
    if (out[0] != '\0' || length >= size)
        return;
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)value[i] < 0x20 || (unsigned char)value[i] > 0x7e)
            return;
    memcpy(out, value, length);
    out[length] = '\0';
}

/* Digits alone: a number of seconds, huge ones cut to INT32_MAX as RFC 9111
 * 1.2.2 wants. -1 if not. */
static int64_t seconds_parse(const char *value, size_t length)
{
    int64_t seconds = 0;

    if (length == 0)
        return -1;
    for (size_t i = 0; i < length; i++) {
        if (!isdigit((unsigned char)value[i]))
            return -1;
        if (seconds < INT32_MAX)
            seconds = seconds * 10 + (value[i] - '0');
    }
    return seconds < INT32_MAX ? seconds : INT32_MAX;
}

static void cache_control_read(struct http_headers *headers, const char *value,
                               size_t length)
{
    static const char name[] = "max-age=";
    const char *end = value + length;

    while (value < end) {
        const char *comma = memchr(value, ',', (size_t)(end - value));
        size_t size = (size_t)((comma != NULL ? comma : end) - value);
        const char *part = value_trim(value, &size);
        size_t skip = sizeof name - 1;

        if (size > skip && strncasecmp(part, name, skip) == 0) {
            bool quoted =
                part[skip] == '"' && size > skip + 2 && part[size - 1] == '"';

            if (headers->max_age_s < 0)
                headers->max_age_s =
                    seconds_parse(part + skip + (quoted ? 1 : 0),
                                  size - skip - (quoted ? 2 : 0));
        }
        value = comma != NULL ? comma + 1 : end;
    }
}

static bool name_is(const char *line, size_t length, const char *name)
{
    return strlen(name) == length && strncasecmp(line, name, length) == 0;
}

static void field_read(struct http_headers *headers, const char *line,
                       size_t name, const char *value, size_t length)
{
    if (name_is(line, name, "ETag"))
        value_keep(headers->etag, sizeof headers->etag, value, length);
    else if (name_is(line, name, "Last-Modified"))
        value_keep(headers->last_modified, sizeof headers->last_modified, value,
                   length);
    else if (name_is(line, name, "Date"))
        value_keep(headers->date, sizeof headers->date, value, length);
    else if (name_is(line, name, "Expires"))
        value_keep(headers->expires, sizeof headers->expires, value, length);
    else if (name_is(line, name, "Retry-After"))
        value_keep(headers->retry_after, sizeof headers->retry_after, value,
                   length);
    else if (name_is(line, name, "Content-Type"))
        value_keep(headers->content_type, sizeof headers->content_type, value,
                   length);
    else if (name_is(line, name, "Cache-Control"))
        cache_control_read(headers, value, length);
    else if (name_is(line, name, "Age") && seconds_parse(value, length) > 0)
        headers->age_s = seconds_parse(value, length);
}

void http_headers_add(struct http_headers *headers, const char *line,
                      size_t length)
{
    const char *colon, *value;
    size_t size;

    if (length >= 5 && memcmp(line, "HTTP/", 5) == 0) {
        http_headers_clear(headers);
        return;
    }
    if (headers->complete)
        return;
    while (length > 0 && (line[length - 1] == '\n' || line[length - 1] == '\r'))
        length--;
    if (length == 0) {
        headers->complete = true;
        return;
    }
    colon = memchr(line, ':', length);
    if (colon == NULL)
        return;
    size = length - (size_t)(colon - line) - 1;
    value = value_trim(colon + 1, &size);
    field_read(headers, line, (size_t)(colon - line), value, size);
}

int64_t http_headers_fresh_s(const struct http_headers *headers, utc_s now)
{
    int64_t fresh = headers->max_age_s;
    utc_s date, expires;

    if (fresh < 0) {
        if (!http_date_parse(headers->expires, now, &expires))
            return -1;
        if (!http_date_parse(headers->date, now, &date))
            date = now;
        fresh = expires - date;
    }
    fresh -= headers->age_s;
    if (fresh <= 0)
        return -1;
    return fresh < HTTP_FRESH_MAX_S ? fresh : HTTP_FRESH_MAX_S;
}

int64_t http_headers_retry_s(const struct http_headers *headers, utc_s now)
{
    const char *words = headers->retry_after;
    int64_t wait = seconds_parse(words, strlen(words));
    utc_s date, until;

    if (wait < 0) {
        if (!http_date_parse(words, now, &until))
            return -1;
        if (!http_date_parse(headers->date, now, &date))
            date = now;
        wait = until - date;
        if (wait <= 0)
            return -1;
    }
    if (wait < HTTP_RETRY_MIN_S)
        return HTTP_RETRY_MIN_S;
    return wait < HTTP_RETRY_MAX_S ? wait : HTTP_RETRY_MAX_S;
}

bool http_headers_html(const struct http_headers *headers)
{
    const char *type = headers->content_type;

    return strncasecmp(type, "text/html", 9) == 0 ||
           strncasecmp(type, "application/xhtml+xml", 21) == 0;
}
