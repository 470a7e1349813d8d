#include "publish/mail.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/digest.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "publish/mail_mime.h"

enum { BODY_MAX_BYTES = 8 * 1024 * 1024, MARK_SIZE = 25, HASH_DIGITS = 24 };

void mail_letter_free(struct mail_letter *letter)
{
    free(letter->subject);
    free(letter->text);
    free(letter->html);
    chart_png_free(&letter->chart);
    memset(letter, 0, sizeof *letter);
}

/* What stands after the @; an address without one cannot come from the
 * configuration. */
static const char *domain_of(const char *address)
{
    const char *at = strrchr(address, '@');

    return at != NULL && at[1] != '\0' ? at + 1 : "localhost";
}

void mail_message_id(const char *slug, const char *name, const char *sender,
                     const char *recipient, utc_s made, char out[MAIL_ID_SIZE])
{
    char *all =
        mem_format("%s\n%s\n%s\n%lld", slug, name, recipient, (long long)made);
    char hash[DIGEST_SIZE], word[64];
    size_t length = strspn(name, "abcdefghijklmnopqrstuvwxyz-");

    digest_hex(all, strlen(all), hash);
    snprintf(word, sizeof word, "%.*s", (int)(length < 40 ? length : 40), name);
    snprintf(out, MAIL_ID_SIZE, "<%.60s.%s.%.*s@%.255s>", slug,
             word[0] != '\0' ? word : "mail", HASH_DIGITS, hash,
             domain_of(sender));
    free(all);
}

/* RFC 5322 section 3.3: English names whatever the reader's language. */
static void add_date(struct text *out, const struct civil_time *at)
{
    static const char *const days[] = {"Mon", "Tue", "Wed", "Thu",
                                       "Fri", "Sat", "Sun"};
    static const char *const months[] = {"Jan", "Feb", "Mar", "Apr",
                                         "May", "Jun", "Jul", "Aug",
                                         "Sep", "Oct", "Nov", "Dec"};
    int offset_min = abs(at->offset_s) / 60;

    text_addf(out, "Date: %s, %02d %s %04d %02d:%02d:%02d %c%02d%02d\r\n",
              days[civil_weekday(at->date)], at->date.day,
              months[at->date.month - 1], at->date.year, at->hour, at->minute,
              at->second, at->offset_s < 0 ? '-' : '+', offset_min / 60,
              offset_min % 60);
}

char *mail_head(const char *sender_name, const char *sender,
                const char *recipient, const struct civil_time *date,
                const char *message_id)
{
    struct text out;

    text_init(&out, 8192);
    mime_add_mailbox(&out, "From", sender_name, sender);
    mime_add_mailbox(&out, "To", "", recipient);
    add_date(&out, date);
    /* Longer than a line in a fold of its own; made by mail_message_id. */
    text_addf(&out, "Message-ID: %s\r\n", message_id);
    return text_steal(&out);
}

/* "=_" comes in no encoded line, so the mark cannot end a part too early. */
static void make_mark(const struct mail_letter *letter, char mark[MARK_SIZE])
{
    char *all = mem_format("%s\n%s\n%s", letter->subject, letter->text,
                           letter->html != NULL ? letter->html : "");
    char hash[DIGEST_SIZE];

    digest_hex(all, strlen(all), hash);
    memcpy(mark, hash, MARK_SIZE - 1);
    mark[MARK_SIZE - 1] = '\0';
    free(all);
}

static void add_text_part(struct text *out, const char *subtype,
                          const char *words)
{
    text_addf(out,
              "Content-Type: text/%s; charset=utf-8\r\n"
              "Content-Transfer-Encoding: quoted-printable\r\n\r\n",
              subtype);
    mime_add_quoted(out, words);
}

static void add_picture(struct text *out, const struct mail_letter *letter,
                        const char *mark, const char *domain)
{
    text_addf(out,
              "Content-Type: image/png; name=\"chart.png\"\r\n"
              "Content-Transfer-Encoding: base64\r\n"
              "Content-ID: <chart.%s@%s>\r\n"
              "Content-Disposition: inline; filename=\"chart.png\"\r\n\r\n",
              mark, domain);
    mime_add_base64(out, letter->chart.bytes, letter->chart.length);
}

/* The picture is asked for under the place-holder's name. */
static char *with_picture(const char *html, const char *mark,
                          const char *domain)
{
    const char *place = strstr(html, "cid:chart\"");
    size_t before;

    if (place == NULL)
        return mem_copy_text(html);
    before = (size_t)(place - html);
    return mem_format("%.*scid:chart.%s@%s%s", (int)before, html, mark, domain,
                      place + strlen("cid:chart"));
}

static void add_html(struct text *out, const struct mail_letter *letter,
                     const char *mark, const char *domain)
{
    char *html = with_picture(letter->html, mark, domain);

    if (letter->chart.bytes == NULL) {
        add_text_part(out, "html", html);
    } else {
        text_addf(out,
                  "Content-Type: multipart/related; type=\"text/html\";\r\n"
                  " boundary=\"=_%s_r\"\r\n\r\n--=_%s_r\r\n",
                  mark, mark);
        add_text_part(out, "html", html);
        text_addf(out, "\r\n--=_%s_r\r\n", mark);
        add_picture(out, letter, mark, domain);
        text_addf(out, "\r\n--=_%s_r--\r\n", mark);
    }
    free(html);
}

char *mail_body(const struct mail_letter *letter, const char *sender,
                size_t *length)
{
    char mark[MARK_SIZE];
    struct text out;

    make_mark(letter, mark);
    text_init(&out, BODY_MAX_BYTES);
    mime_add_header(&out, "Subject", letter->subject);
    text_add(&out, "MIME-Version: 1.0\r\n"
                   "Auto-Submitted: auto-generated\r\n"
                   "X-Auto-Response-Suppress: All\r\n");
    text_addf(&out, "Content-Language: %s\r\n",
              strcmp(letter->language, "fr") == 0 ? "fr" : "en");
    if (letter->html == NULL) {
        add_text_part(&out, "plain", letter->text);
    } else {
        text_addf(&out,
                  "Content-Type: multipart/alternative;\r\n"
                  " boundary=\"=_%s_a\"\r\n\r\n--=_%s_a\r\n",
                  mark, mark);
        add_text_part(&out, "plain", letter->text);
        text_addf(&out, "\r\n--=_%s_a\r\n", mark);
        add_html(&out, letter, mark, domain_of(sender));
        text_addf(&out, "\r\n--=_%s_a--\r\n", mark);
    }
    *length = out.length;
    return text_steal(&out);
}
