/* What may be handed to libcurl: it lets line ends through into commands and
 * headers, so everything is looked at here. */
#include <curl/curl.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"
#include "base/units.h"
#include "base/words.h"
#include "net/smtp_job.h"
#include "net/url_parts.h"

enum {
    MAILBOX_MAX = 254, /* RFC 5321 section 4.5.3.1.3, without < and > */
    LINE_MAX_BYTES = 998,
    PORT_PLAIN = 25,
    PORT_SUBMISSION = 587,
    PORT_TLS = 465 /* RFC 8314 section 3.3 */
};

static int port_of(CURLU *parsed, const struct smtp_address *address)
{
    char words[16];
    long port = address->implicit_tls ? PORT_TLS
                : address->loopback   ? PORT_PLAIN
                                      : PORT_SUBMISSION;

    if (url_part_copy(parsed, CURLUPART_PORT, words, sizeof words))
        (void)integer_parse(words, 1, 65535, &port);
    return (int)port;
}

bool smtp_ehlo_valid(const char *name)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyz"
                                  "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                  "0123456789-.:[]";
    size_t length = strlen(name);

    return length > 0 && length < SMTP_HOST_SIZE &&
           strspn(name, allowed) == length;
}

static int parts_read(CURLU *parsed, struct smtp_address *out,
                      struct error *err)
{
    char scheme[16], path[SMTP_HOST_SIZE + 1];

    if (!url_part_copy(parsed, CURLUPART_SCHEME, scheme, sizeof scheme) ||
        !url_host_copy(parsed, out->host, sizeof out->host))
        return error_set(err, "%s", _("the mail server's address has no host"));
    out->implicit_tls = strcasecmp(scheme, "smtps") == 0;
    if (!out->implicit_tls && strcasecmp(scheme, "smtp") != 0)
        return error_set(err,
                         _("%s: a mail server is written smtps://HOST "
                           "or smtp://HOST"),
                         out->host);
    if (url_part_there(parsed, CURLUPART_USER) ||
        url_part_there(parsed, CURLUPART_PASSWORD) ||
        url_part_there(parsed, CURLUPART_OPTIONS) ||
        url_part_there(parsed, CURLUPART_QUERY) ||
        url_part_there(parsed, CURLUPART_FRAGMENT))
        return error_set(err,
                         _("%s: the mail server's address holds more "
                           "than host, port and name"),
                         out->host);
    out->loopback = url_host_loopback(out->host);
    out->port = port_of(parsed, out);
    if (!url_part_copy(parsed, CURLUPART_PATH, path, sizeof path))
        path[0] = '\0';
    if (path[0] == '\0' || strcmp(path, "/") == 0)
        return 0;
    memcpy(out->ehlo, path + 1, strlen(path));
    return smtp_ehlo_valid(out->ehlo)
               ? 0
               : error_set(err,
                           _("%s: the name to greet with, after the slash, "
                             "is no host name"),
                           out->host);
}

int smtp_address_read(const char *url, struct smtp_address *out,
                      struct error *err)
{
    CURLU *parsed;
    int result;

    memset(out, 0, sizeof *out);
    if (!url_printable(url))
        return error_set(err, "%s",
                         _("the mail server's address is not printable ASCII"));
    parsed = curl_url();
    if (parsed == NULL)
        return error_set(err, "%s", _("out of memory"));
    if (curl_url_set(parsed, CURLUPART_URL, url, 0) != CURLUE_OK)
        result =
            error_set(err, "%s", _("the mail server's address cannot be read"));
    else
        result = parts_read(parsed, out, err);
    curl_url_cleanup(parsed);
    return result;
}

/* Dot-atoms around one @ (RFC 5321 section 4.1.2 without quoted strings):
 * nothing here can end a command or begin another. */
int smtp_mailbox_check(const char *address, struct error *err)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyz"
                                  "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                  "0123456789.!#$%&'*+-/=?^_`{|}~@";
    size_t length = strlen(address);
    const char *at = strchr(address, '@');
    char shown[80];

    if (length <= MAILBOX_MAX && strspn(address, allowed) == length &&
        at != NULL && at > address && at[1] != '\0' &&
        strchr(at + 1, '@') == NULL)
        return 0;
    text_escape(shown, sizeof shown, address, length, 40);
    return error_set(err, _("\"%s\" is no mail address"), shown);
}

static bool printable(const char *line, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (((unsigned char)line[i] < 0x20 && line[i] != '\t') ||
            (unsigned char)line[i] > 0x7e)
            return false;
    return true;
}

int smtp_message_check(const char *message, size_t length, struct error *err)
{
    const char *end = message + length;
    bool headers_end = false;
    int number = 0;

    for (const char *line = message; line < end;) {
        const char *stop = memchr(line, '\n', (size_t)(end - line));
        size_t bytes = stop != NULL ? (size_t)(stop - line) : 0;

        number++;
        if (stop == NULL || bytes == 0 || stop[-1] != '\r' ||
            bytes - 1 > LINE_MAX_BYTES || !printable(line, bytes - 1))
            return error_set(
                err, _("line %d of the mail is not fit to be sent"), number);
        headers_end = headers_end || bytes == 1;
        line = stop + 1;
    }
    return headers_end
               ? 0
               : error_set(err, "%s", _("the mail has no end of its headers"));
}
