/* Mail out of a bulletin: the morning mail and alerts, and the message as it
 * goes to the server.
 *
 * A letter is words and a picture; mail_body makes of it the part of the
 * message that all recipients get (RFC 5322, 2045 to 2047, 2387), mail_head
 * the header lines of one alone. All bytes are ASCII, lines end with CR LF and
 * have at most 76 columns. Nothing out of a name, a configuration or an
 * answer can begin a header: controls become blanks, all else is encoded.
 * Same letter, same bytes. */
#ifndef PUBLISH_MAIL_H
#define PUBLISH_MAIL_H

#include "publish/bulletin.h"
#include "publish/chart_png.h"
#include "publish/mail_watch.h"

enum { MAIL_ID_SIZE = 420, MAIL_TEXT_COLUMNS = 76 };

struct mail_letter {
    char *subject;          /* that alone is enough */
    char *text;             /* UTF-8, lines of at most 76 columns */
    char *html;             /* NULL: the text alone, also if it is too long */
    struct chart_png chart; /* of the html; no bytes: none */
    char language[8];
};

void mail_letter_free(struct mail_letter *letter);

/* The first line is that of the shell, in 76 columns. page is the address of
 * the web page, or NULL. A chart that cannot be drawn is left out and *warning
 * (owned by the caller, may be NULL) says so. */
void mail_morning(const struct bulletin *bulletin, utc_s now, const char *page,
                  struct mail_letter *out, char **warning);
/* Three lines, and whose weather it is. */
void mail_alert(const struct bulletin *bulletin,
                const struct mail_condition *condition,
                struct mail_letter *out);
/* To see whether mail arrives. */
void mail_test(const char *operation, const char *when,
               struct mail_letter *out);

/* Message-ID: the same for the same mail to the same recipient. The domain is
 * the sender's. */
void mail_message_id(const char *slug, const char *name, const char *sender,
                     const char *recipient, utc_s made, char out[MAIL_ID_SIZE]);

/* "From", "To", "Date", "Message-ID"; the caller frees. */
char *mail_head(const char *sender_name, const char *sender,
                const char *recipient, const struct civil_time *date,
                const char *message_id);
/* From "Subject" to the end; the caller frees. sender: for its domain. */
char *mail_body(const struct mail_letter *letter, const char *sender,
                size_t *length);

#endif
