/* Bytes of a message: header lines, encodings. Inside publish/ only. */
#ifndef PUBLISH_MAIL_MIME_H
#define PUBLISH_MAIL_MIME_H

#include "base/text.h"

/* "Name: value" with its line end, folded. The value is UTF-8; controls become
 * blanks, bytes that are no UTF-8 question marks; what is not plain ASCII
 * becomes encoded words (RFC 2047) of at most 75 bytes, split between
 * characters. */
void mime_add_header(struct text *out, const char *name, const char *value);
/* "Name: display <address>": the display name as a quoted string or encoded
 * words; left out if empty. The address goes as it is if it is printable
 * ASCII without brackets, else the line has none. */
void mime_add_mailbox(struct text *out, const char *name, const char *display,
                      const char *address);
/* Quoted-printable (RFC 2045 section 6.7) of a text with LF line ends; other
 * controls but the tab become blanks. */
void mime_add_quoted(struct text *out, const char *words);
/* Base64 in lines of 76. */
void mime_add_base64(struct text *out, const char *bytes, size_t length);

#endif
