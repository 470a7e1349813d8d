/* Any text as an address: of a service, of a mail server, of a mailbox, and
 * as a message to be sent. */
#include "promise.h"

#include "config/reading.h"
#include "net/http_url.h"
#include "net/smtp_job.h"

static void check_url(const char *words)
{
    struct http_url url, other;
    struct error err = {""};
    char *hidden = strdup(words);
    int result = http_url_read(words, &url, &err);

    if (hidden == NULL)
        exit(1);
    promise_result(result, &err);
    if (result == 0) {
        PROMISE(*url.host && url.port > 0 && url.port <= 65535);
        PROMISE(!url.plain || url.loopback);
        PROMISE(http_url_may_follow(&url, &url, true));
        PROMISE(http_url_read("https://example.org/", &other, &err) == 0);
        PROMISE(!http_url_may_follow(&other, &url, true) ||
                strcmp(url.host, other.host) == 0);
    }
    http_url_hide_secrets(words, hidden);
    PROMISE(strlen(hidden) == strlen(words));
    free(hidden);
}

static void check_parts(const char *words)
{
    struct url_parts parts;

    if (!url_parse(words, &parts))
        return;
    PROMISE(parts.scheme_length > 0 && parts.host_length > 0);
    PROMISE(parts.host > words && parts.host < words + strlen(words));
    PROMISE(parts.path[0] == '\0' || parts.path[0] == '/');
}

/* Nothing that is let through can end a line of the conversation. */
static void check_mail(const char *words)
{
    struct smtp_address address;
    struct error err = {""};
    int result = smtp_address_read(words, &address, &err);

    promise_result(result, &err);
    if (result == 0) {
        PROMISE(*address.host && address.port > 0 && address.port <= 65535);
        PROMISE(!*address.ehlo || smtp_ehlo_valid(address.ehlo));
        PROMISE(!strpbrk(address.host, " \r\n"));
    }
    result = smtp_mailbox_check(words, &err);
    promise_result(result, &err);
    if (result == 0)
        PROMISE(!strpbrk(words, "<>\r\n \t") && strchr(words, '@'));
    if (smtp_ehlo_valid(words))
        PROMISE(!strpbrk(words, " \r\n"));
}

static void check_message(const char *bytes, size_t size)
{
    struct error err = {""};
    int result = smtp_message_check(bytes, size, &err);

    promise_result(result, &err);
    if (result != 0)
        return;
    for (size_t i = 0; i < size; i++) {
        PROMISE(bytes[i] != '\0' && (unsigned char)bytes[i] < 0x80);
        PROMISE(bytes[i] != '\n' || (i > 0 && bytes[i - 1] == '\r'));
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *words = input_text(data, size);

    check_url(words);
    check_parts(words);
    check_mail(words);
    check_message((const char *)data, size);
    free(words);
    return 0;
}
