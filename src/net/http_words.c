#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "net/http_job.h"

void http_words_time(utc_s instant, utc_s now, char out[HTTP_TIME_SIZE])
{
    char iso[ISO_TIME_SIZE];

    /* "2026-03-08T14:20:00Z" */
    iso_time_utc(instant, iso);
    if (instant - now < SECONDS_PER_DAY / 2)
        snprintf(out, HTTP_TIME_SIZE, "%.5s UTC", iso + 11);
    else
        snprintf(out, HTTP_TIME_SIZE, "%.10s %.5s UTC", iso, iso + 11);
}

void http_words_clean(const char *words, const char *url,
                      char out[HTTP_WORDS_SIZE])
{
    size_t length = utf8_cut(words, strlen(words), HTTP_WORDS_SIZE - 1);

    if (!utf8_valid(words, length)) {
        text_escape(out, HTTP_WORDS_SIZE, words, strlen(words), 60);
    } else {
        memcpy(out, words, length);
        out[length] = '\0';
    }
    for (char *p = out; *p != '\0'; p++)
        if ((unsigned char)*p < 0x20 || *p == 0x7f)
            *p = ' ';
    http_url_hide_secrets(url, out);
}

static void refused_words(struct error *out, const char *host, int status,
                          const char *words, const char *again)
{
    if (words[0] != '\0')
        error_set(out,
                  _("%s refuses us with status %d (%s): the contact or the "
                    "address may be wrong, or we are blocked; asking again "
                    "at %s"),
                  host, status, words, again);
    else
        error_set(out,
                  _("%s refuses us with status %d: the contact or the address "
                    "may be wrong, or we are blocked; asking again at %s"),
                  host, status, again);
}

void http_words_status(struct error *out, const char *host, int status,
                       const char *words, const char *again)
{
    if (status == 403)
        refused_words(out, host, status, words, again);
    else if (status == 204)
        error_set(out, _("%s has no data at present; asking again at %s"), host,
                  again);
    else if (status == 304)
        error_set(out,
                  _("%s says that nothing has changed, but nothing is held; "
                    "asking again at %s"),
                  host, again);
    else if (words[0] != '\0')
        error_set(out, _("%s answered %d (%s); asking again at %s"), host,
                  status, words, again);
    else
        error_set(out, _("%s answered %d; asking again at %s"), host, status,
                  again);
}

static void broken_words(struct error *out, const char *host, CURLcode code,
                         const char *again)
{
    switch (code) {
    case CURLE_PARTIAL_FILE:
    case CURLE_RECV_ERROR:
    case CURLE_SEND_ERROR:
    case CURLE_GOT_NOTHING:
    case CURLE_HTTP2:
    case CURLE_HTTP2_STREAM:
        error_set(out, _("%s broke off in its answer; asking again at %s"),
                  host, again);
        break;
    case CURLE_BAD_CONTENT_ENCODING:
    case CURLE_WRITE_ERROR:
        error_set(out,
                  _("%s sent an answer that cannot be unpacked; asking again "
                    "at %s"),
                  host, again);
        break;
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_SSL_CONNECT_ERROR:
    case CURLE_SSL_CACERT_BADFILE:
        error_set(out, _("no safe connection to %s (%s); asking again at %s"),
                  host, curl_easy_strerror(code), again);
        break;
    default:
        error_set(out, _("%s could not be asked (%s); asking again at %s"),
                  host, curl_easy_strerror(code), again);
    }
}

void http_words_failure(struct error *out, const char *host, CURLcode code,
                        bool too_large, const char *again)
{
    if (too_large || code == CURLE_FILESIZE_EXCEEDED)
        error_set(out,
                  _("%s sent more than an answer may hold; asking again at "
                    "%s"),
                  host, again);
    else if (code == CURLE_COULDNT_RESOLVE_HOST ||
             code == CURLE_COULDNT_RESOLVE_PROXY)
        error_set(out,
                  _("the name %s cannot be looked up (is the network there?); "
                    "asking again at %s"),
                  host, again);
    else if (code == CURLE_COULDNT_CONNECT)
        error_set(out, _("%s takes no connection; asking again at %s"), host,
                  again);
    else if (code == CURLE_OPERATION_TIMEDOUT)
        error_set(out, _("%s did not answer in time; asking again at %s"), host,
                  again);
    else
        broken_words(out, host, code, again);
}

void http_words_useless(struct error *out, const char *host, bool html,
                        const char *reason, const char *again)
{
    if (html)
        error_set(out,
                  _("%s answered with a web page in place of data (perhaps "
                    "this network wants a sign-in); asking again at %s"),
                  host, again);
    else
        error_set(out,
                  _("%s sent an answer of no use (%s); asking again at %s"),
                  host, reason, again);
}
