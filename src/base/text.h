/* A growing text with a stated maximum. Past the maximum nothing more is
 * added and `full` is set; the text stays valid UTF-8 if its parts were.
 * Always NUL-terminated; owned by whoever called text_init. */
#ifndef BASE_TEXT_H
#define BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>

struct text {
    char *bytes; /* never NULL after text_init */
    size_t length;
    size_t size;
    size_t max;
    bool full;
};

void text_init(struct text *text, size_t max_bytes);
/* Room for so many bytes ahead, where about as many will come: a long text
 * that doubles its room is copied over and over. */
void text_reserve(struct text *text, size_t bytes);
void text_free(struct text *text);
void text_clear(struct text *text);
void text_add(struct text *text, const char *words);
void text_add_bytes(struct text *text, const char *bytes, size_t length);
void text_addf(struct text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* The same as text_addf with "%.*f", much quicker up to three decimals. */
void text_add_fixed(struct text *text, double value, int decimals);
/* Hands the bytes to the caller (free()) and empties the text: it then owns
 * nothing, its bytes are NULL until something is added. */
char *text_steal(struct text *text);

/* True if the bytes are well-formed UTF-8 (RFC 3629: no surrogates, no
 * overlong forms, at most U+10FFFF). */
bool utf8_valid(const char *bytes, size_t length);
/* Bytes of the longest prefix of at most `limit` bytes that ends between
 * characters. */
size_t utf8_cut(const char *bytes, size_t length, size_t limit);
/* Columns on a terminal: characters, combining marks not counted (U+0300 to
 * U+036F), wide East Asian ones not told apart. */
int utf8_columns(const char *words);

/* 0 if two names differ by nothing but capitals: those of ASCII, of Latin-1
 * (U+00C0 to U+00DE) and the French U+0152 and U+0178. Else as strcmp(). */
int utf8_compare_names(const char *a, const char *b);

/* Puts '?' in the place of each control character (ASCII's, U+0080 to U+009F,
 * the line ends U+2028 and U+2029) and of each byte that is no UTF-8, so that
 * words out of a file or an answer can neither steer a terminal nor end a
 * line. */
void utf8_make_plain(char *words);

/* A copy in which each control character of ASCII but those of `kept` is a
 * blank, and each byte that is no UTF-8 a '?'; the caller frees. */
char *utf8_clean(const char *words, const char *kept);

/* Printable form of hostile bytes: control and non-ASCII bytes as \xNN, at
 * most max_shown bytes of them; result written into out (size given). */
void text_escape(char *out, size_t out_size, const char *bytes, size_t length,
                 size_t max_shown);

#endif
