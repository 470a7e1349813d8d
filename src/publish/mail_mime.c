#include "publish/mail_mime.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/base64.h"
#include "base/memory.h"

enum {
    LINE_BYTES = 76,
    WORD_BYTES = 75, /* RFC 2047 section 2 */
    FOLD_BYTES = 74
};

static const char word_begin[] = "=?utf-8?Q?", word_end[] = "?=";

static size_t char_bytes(const char *p)
{
    unsigned char first = (unsigned char)*p;

    return first < 0x80 ? 1 : first < 0xe0 ? 2 : first < 0xf0 ? 3 : 4;
}

/* Short enough words, and nothing that looks like an encoded one. */
static bool plain(const char *value)
{
    size_t word = 0;

    for (const char *p = value; *p != '\0'; p++) {
        if ((unsigned char)*p > 0x7e)
            return false;
        word = *p == ' ' ? 0 : word + 1;
        if (word > LINE_BYTES / 2)
            return false;
    }
    return strstr(value, "=?") == NULL && value[0] != ' ';
}

/* Words on lines of at most 76; `column` is where the first begins. */
static void add_folded(struct text *out, const char *words, size_t column)
{
    while (*words != '\0') {
        size_t blanks = strspn(words, " ");
        size_t length = blanks + strcspn(words + blanks, " ");

        if (column + length > FOLD_BYTES && blanks > 0) {
            text_add(out, "\r\n");
            column = 0;
        }
        text_add_bytes(out, words, length);
        column += length;
        words += length;
    }
}

static bool safe(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
           (c >= '0' && c <= '9') || (c != '\0' && strchr("!*+-/", c) != NULL);
}

/* Encoded words, one a line after the first. */
static void add_encoded(struct text *out, const char *words, size_t column)
{
    size_t frame = sizeof word_begin - 1 + sizeof word_end - 1;
    size_t used = frame;

    text_add(out, word_begin);
    while (*words != '\0') {
        size_t bytes = char_bytes(words), need = 0;

        for (size_t i = 0; i < bytes; i++)
            need += safe(words[i]) || words[i] == ' ' ? 1 : 3;
        if (used + need > WORD_BYTES || column + used + need > FOLD_BYTES) {
            text_addf(out, "%s\r\n %s", word_end, word_begin);
            used = frame;
            column = 1;
        }
        for (size_t i = 0; i < bytes; i++) {
            if (safe(words[i]))
                text_add_bytes(out, words + i, 1);
            else if (words[i] == ' ')
                text_add(out, "_");
            else
                text_addf(out, "=%02X", (unsigned)(unsigned char)words[i]);
        }
        used += need;
        words += bytes;
    }
    text_add(out, word_end);
}

void mime_add_header(struct text *out, const char *name, const char *value)
{
    char *words = utf8_clean(value, "");
    size_t column = strlen(name) + 2;

    text_addf(out, "%s: ", name);
    if (plain(words))
        add_folded(out, words, column);
    else
        add_encoded(out, words, column);
    text_add(out, "\r\n");
    free(words);
}

/* RFC 5322 section 3.2.4. */
static void add_quoted_string(struct text *out, const char *words)
{
    text_add(out, "\"");
    for (; *words != '\0'; words++) {
        if (*words == '"' || *words == '\\')
            text_add(out, "\\");
        text_add_bytes(out, words, 1);
    }
    text_add(out, "\"");
}

static bool bare_address(const char *address)
{
    for (const char *p = address; *p != '\0'; p++)
        if (*p <= 0x20 || *p > 0x7e || strchr("<>\"(),:;\\", *p) != NULL)
            return false;
    return true;
}

void mime_add_mailbox(struct text *out, const char *name, const char *display,
                      const char *address)
{
    char *words = utf8_clean(display, "");
    size_t used = strlen(name) + strlen(words) + strlen(address) + 8;

    text_addf(out, "%s: ", name);
    if (words[0] != '\0' && plain(words) && strlen(words) < LINE_BYTES / 2)
        add_quoted_string(out, words);
    else if (words[0] != '\0')
        add_encoded(out, words, strlen(name) + 2);
    if (words[0] != '\0')
        text_add(out, plain(words) && used < LINE_BYTES ? " " : "\r\n ");
    if (bare_address(address))
        text_addf(out, "<%s>", address);
    text_add(out, "\r\n");
    free(words);
}

/* How a byte goes: as it is, or as =XX. A blank at a line's end would be lost
 * on the way; "From " at its beginning is changed by mailboxes. */
static bool goes_plain(const char *line, size_t at, size_t length)
{
    unsigned char c = (unsigned char)line[at];
    bool last = at + 1 == length;

    if (c == ' ' || c == '\t')
        return !last;
    if (at == 0 && length >= 5 && memcmp(line, "From ", 5) == 0)
        return false;
    return c > 0x20 && c < 0x7f && c != '=';
}

static void add_quoted_line(struct text *out, const char *line, size_t length)
{
    size_t column = 0;

    for (size_t at = 0; at < length; at++) {
        bool as_is = goes_plain(line, at, length);
        size_t need = as_is ? 1 : 3;
        bool last = at + 1 == length;

        /* Room for the "=" of a soft line end, unless the line ends here. */
        if (column + need > (size_t)LINE_BYTES - (last ? 0 : 1)) {
            text_add(out, "=\r\n");
            column = 0;
        }
        if (as_is)
            text_add_bytes(out, line + at, 1);
        else
            text_addf(out, "=%02X", (unsigned)(unsigned char)line[at]);
        column += need;
    }
    text_add(out, "\r\n");
}

void mime_add_quoted(struct text *out, const char *words)
{
    char *copy = utf8_clean(words, "\n\t");

    for (const char *line = copy; *line != '\0';) {
        size_t length = strcspn(line, "\n");

        add_quoted_line(out, line, length);
        line += length + (line[length] == '\n');
    }
    free(copy);
}

void mime_add_base64(struct text *out, const char *bytes, size_t length)
{
    char *digits = base64_encode(bytes, length);
    size_t left = strlen(digits);

    for (const char *p = digits; left > 0;) {
        size_t line = left < LINE_BYTES ? left : LINE_BYTES;

        text_add_bytes(out, p, line);
        text_add(out, "\r\n");
        p += line;
        left -= line;
    }
    free(digits);
}
