#include "net/http_url.h"

#include <ctype.h>
#include <curl/curl.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "base/units.h"
#include "base/words.h"
#include "net/url_parts.h"

enum { SECRET_MIN_BYTES = 4 };

static int port_read(CURLU *parsed)
{
    char *words = NULL;
    long port = 0;

    if (curl_url_get(parsed, CURLUPART_PORT, &words, CURLU_DEFAULT_PORT) ==
        CURLUE_OK)
        (void)integer_parse(words, 0, 65535, &port);
    curl_free(words);
    return (int)port;
}

static int parts_check(CURLU *parsed, struct http_url *out, struct error *err)
{
    char scheme[16];

    if (!url_part_copy(parsed, CURLUPART_SCHEME, scheme, sizeof scheme) ||
        !url_host_copy(parsed, out->host, sizeof out->host))
        return error_set(err, _("an address without a host is not asked"));
    if (url_part_there(parsed, CURLUPART_USER) ||
        url_part_there(parsed, CURLUPART_PASSWORD) ||
        url_part_there(parsed, CURLUPART_ZONEID))
        return error_set(err,
                         _("the address at %s holds a user name, a password "
                           "or a zone; it is not asked"),
                         out->host);
    out->port = port_read(parsed);
    if (out->port == 0)
        return error_set(err, _("an address cannot be read (%s)"), "port 0");
    out->loopback = url_host_loopback(out->host);
    out->plain = strcmp(scheme, "http") == 0;
    if (strcmp(scheme, "https") != 0 && !(out->plain && out->loopback))
        return error_set(err,
                         _("%s is asked by https only; plain http is for "
                           "this machine alone (127.0.0.1, ::1, localhost)"),
                         out->host);
    return 0;
}

int http_url_read(const char *url, struct http_url *out, struct error *err)
{
    CURLU *parsed;
    CURLUcode code;
    int result;

    memset(out, 0, sizeof *out);
    if (url == NULL || strlen(url) > HTTP_URL_MAX_BYTES || !url_printable(url))
        return error_set(err,
                         _("an address that is longer than %d bytes or "
                           "holds other than printable ASCII characters "
                           "is not asked"),
                         HTTP_URL_MAX_BYTES);
    parsed = curl_url();
    if (parsed == NULL)
        return error_set(err, _("there is no memory to read an address"));
    code = curl_url_set(parsed, CURLUPART_URL, url, CURLU_NON_SUPPORT_SCHEME);
    if (code == CURLUE_OK)
        result = parts_check(parsed, out, err);
    else
        result = error_set(err, _("an address cannot be read (%s)"),
                           curl_url_strerror(code));
    curl_url_cleanup(parsed);
    return result;
}

/* Second-level names under which countries register (gc.ca, co.uk): there
 * the registrable host has three labels. A short list on the safe side: a
 * name missing here makes only the countries' own registries look like one
 * owner, which no weather service's redirect leads through. */
static bool second_level_registry(const char *label, size_t length)
{
    static const char *const known[] = {
        "ac",  "co",   "com", "ed",  "edu", "gc", "go",  "gob",
        "gov", "gouv", "gub", "ltd", "mil", "ne", "net", "nic",
        "nom", "on",   "or",  "org", "plc", "qc", "sch", "web"};

    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strlen(known[i]) == length && strncmp(known[i], label, length) == 0)
            return true;
    return false;
}

/* The part of a name that somebody registered; of an address, all of it. */
static const char *registrable(const char *host)
{
    const char *last = strrchr(host, '.');
    const char *second, *third;

    if (last == NULL || host[0] == '[' || isdigit((unsigned char)last[1]))
        return host;
    for (second = last; second > host && second[-1] != '.'; second--)
        ;
    if (second == host || strlen(last + 1) != 2 ||
        !second_level_registry(second, (size_t)(last - second)))
        return second;
    for (third = second - 1; third > host && third[-1] != '.'; third--)
        ;
    return third;
}

bool http_url_may_follow(const struct http_url *from, const struct http_url *to,
                         bool has_secret)
{
    if (to->plain && !from->plain)
        return false;
    if (from->loopback || to->loopback)
        return from->loopback && to->loopback;
    if (has_secret)
        return strcmp(from->host, to->host) == 0;
    return strcmp(registrable(from->host), registrable(to->host)) == 0;
}

static bool secret_name(const char *name, size_t length)
{
    static const char *const known[] = {"apikey", "api_key",      "key",
                                        "token",  "access_token", "appid"};

    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strlen(known[i]) == length &&
            strncasecmp(known[i], name, length) == 0)
            return true;
    return false;
}

/* The next key at or after `at`: its first byte, or NULL; *length its size. */
static const char *secret_next(const char *at, size_t *length)
{
    for (at = strpbrk(at, "?&"); at != NULL; at = strpbrk(at, "?&")) {
        size_t name = strcspn(++at, "=&#");

        if (at[name] != '=' || !secret_name(at, name))
            continue;
        *length = strcspn(at + name + 1, "&#");
        if (*length > 0)
            return at + name + 1;
    }
    return NULL;
}

bool http_url_has_secret(const char *url)
{
    size_t length;

    return secret_next(url, &length) != NULL;
}

static void hide(char *words, const char *secret, size_t length)
{
    if (length < SECRET_MIN_BYTES)
        return;
    for (char *p = words; strlen(p) >= length; p++)
        if (strncmp(p, secret, length) == 0)
            memset(p, '*', length);
}

void http_url_hide_secrets(const char *url, char *words)
{
    size_t length = 0;

    for (const char *secret = secret_next(url, &length); secret != NULL;
         secret = secret_next(secret, &length)) {
        char *plain = curl_easy_unescape(NULL, secret, (int)length, NULL);

        hide(words, secret, length);
        if (plain != NULL)
            hide(words, plain, strlen(plain));
        curl_free(plain);
    }
}
