#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"

static bool is_tail(unsigned char byte)
{
    return (byte & 0xC0) == 0x80;
}

/* Length of the well-formed character at `p`, or 0. The second byte's bounds
 * are those of RFC 3629 section 4. */
static size_t char_length(const unsigned char *p, size_t left)
{
    if (p[0] < 0x80)
        return 1;
    if (p[0] < 0xC2 || p[0] > 0xF4)
        return 0;
    size_t length = p[0] < 0xE0 ? 2 : p[0] < 0xF0 ? 3 : 4;
    if (left < length)
        return 0;
    unsigned char low = 0x80, high = 0xBF;
    if (p[0] == 0xE0)
        low = 0xA0;
    else if (p[0] == 0xED)
        high = 0x9F;
    else if (p[0] == 0xF0)
        low = 0x90;
    else if (p[0] == 0xF4)
        high = 0x8F;
    if (p[1] < low || p[1] > high)
        return 0;
    for (size_t i = 2; i < length; i++)
        if (!is_tail(p[i]))
            return 0;
    return length;
}

bool utf8_valid(const char *bytes, size_t length)
{
    const unsigned char *p = (const unsigned char *)bytes;
    size_t at = 0;
    while (at < length) {
        /* Eight bytes of ASCII at once. */
        uint64_t eight;
        while (length - at >= sizeof eight) {
            memcpy(&eight, p + at, sizeof eight);
            if (eight & UINT64_C(0x8080808080808080))
                break;
            at += sizeof eight;
        }
        if (at == length)
            break;
        size_t step = char_length(p + at, length - at);
        if (step == 0)
            return false;
        at += step;
    }
    return true;
}

size_t utf8_cut(const char *bytes, size_t length, size_t limit)
{
    const unsigned char *p = (const unsigned char *)bytes;
    size_t end = length < limit ? length : limit;
    size_t start = end;
    while (start > 0 && end - start < 4 && is_tail(p[start - 1]))
        start--;
    if (start == 0)
        return end; /* no first byte in reach: not UTF-8 */
    /* The last character begins at start - 1; keep it if it is whole. */
    size_t first = start - 1;
    if (p[first] < 0xC0)
        return end;
    size_t want = p[first] < 0xE0 ? 2 : p[first] < 0xF0 ? 3 : 4;
    return first + want <= end ? end : first;
}

static uint32_t two_byte_char(const unsigned char *p)
{
    return (uint32_t)(p[0] & 0x1F) << 6 | (uint32_t)(p[1] & 0x3F);
}

/* The small letter of the pair (Unicode, UnicodeData.txt, column 13). */
static uint32_t small_letter(uint32_t letter)
{
    if ((letter >= 'A' && letter <= 'Z') ||
        (letter >= 0xC0 && letter <= 0xDE && letter != 0xD7))
        return letter + 0x20;
    if (letter == 0x152)
        return 0x153;
    return letter == 0x178 ? 0xFF : letter;
}

/* The letter at *at as a small one, and on; a longer sequence, or a broken one,
 * byte by byte. */
static uint32_t next_letter(const unsigned char **at)
{
    const unsigned char *p = *at;

    if (p[0] >= 0xC2 && p[0] < 0xE0 && is_tail(p[1])) {
        *at += 2;
        return small_letter(two_byte_char(p));
    }
    *at += 1;
    return p[0] < 0x80 ? small_letter(p[0]) : 0x110000U + p[0];
}

int utf8_compare_names(const char *a, const char *b)
{
    const unsigned char *p = (const unsigned char *)a;
    const unsigned char *q = (const unsigned char *)b;

    for (;;) {
        uint32_t of_a = next_letter(&p), of_b = next_letter(&q);

        if (of_a != of_b)
            return of_a < of_b ? -1 : 1;
        if (of_a == 0)
            return 0;
    }
}

static bool is_control(const unsigned char *p, size_t length)
{
    if (length == 1)
        return p[0] < 0x20 || p[0] == 0x7F;
    return (length == 2 && p[0] == 0xC2 && p[1] < 0xA0) ||
           (length == 3 && p[0] == 0xE2 && p[1] == 0x80 &&
            (p[2] == 0xA8 || p[2] == 0xA9));
}

void utf8_make_plain(char *words)
{
    size_t left = strlen(words), to = 0;

    for (size_t from = 0; left > 0;) {
        const unsigned char *p = (const unsigned char *)words + from;
        size_t length = char_length(p, left);
        size_t step = length > 0 ? length : 1;

        if (length == 0 || is_control(p, length)) {
            words[to++] = '?';
        } else {
            memmove(words + to, words + from, step);
            to += step;
        }
        from += step;
        left -= step;
    }
    words[to] = '\0';
}

char *utf8_clean(const char *words, const char *kept)
{
    char *clean = mem_copy_text(words);
    size_t left = strlen(clean);

    for (char *at = clean; left > 0;) {
        size_t length = char_length((const unsigned char *)at, left);
        bool control = (unsigned char)*at < 0x20 || *at == 0x7F;

        if (length == 0)
            *at = '?';
        else if (control && strchr(kept, *at) == NULL)
            *at = ' ';
        at += length > 0 ? length : 1;
        left -= length > 0 ? length : 1;
    }
    return clean;
}

int utf8_columns(const char *words)
{
    const unsigned char *p = (const unsigned char *)words;
    int columns = 0;
    for (; *p; p++) {
        if (is_tail(*p))
            continue;
        bool two = *p >= 0xC2 && *p < 0xE0 && is_tail(p[1]);
        uint32_t c = two ? two_byte_char(p) : 0;
        if (c < 0x300 || c > 0x36F)
            columns++;
    }
    return columns;
}

void text_escape(char *out, size_t out_size, const char *bytes, size_t length,
                 size_t max_shown)
{
    if (out_size == 0)
        return;
    size_t shown = length < max_shown ? length : max_shown;
    size_t at = 0;
    for (size_t i = 0; i < shown; i++) {
        unsigned char c = (unsigned char)bytes[i];
        bool plain = c >= 0x20 && c < 0x7F;
        size_t want = plain ? 1 : 4;
        if (at + want + 1 > out_size)
            break;
        if (plain)
            out[at] = (char)c;
        else
            snprintf(out + at, out_size - at, "\\x%02X", c);
        at += want;
    }
    out[at] = '\0';
}
