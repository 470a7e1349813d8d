/* A name as part of file names, addresses and UIDs. */
#include "config/slug.h"

#include <string.h>

#include "base/memory.h"

enum { SLUG_BYTES = 60 };

/* U+00C0 to U+00FF without their marks. */
static const char latin_bases[] = "aaaaaaaceeeeiiiidnooooo-ouuuuypsaaaaaaaceee"
                                  "eiiiidnooooo-ouuuuypy";

/* The plain letter at *at, or '-'; moves on by one character. */
static char slug_letter(const unsigned char **at)
{
    unsigned char first = *(*at)++;
    if ((first >= 'a' && first <= 'z') || (first >= '0' && first <= '9'))
        return (char)first;
    if (first >= 'A' && first <= 'Z')
        return (char)(first + ('a' - 'A'));
    unsigned char second = **at;
    while ((**at & 0xC0) == 0x80)
        (*at)++;
    if (first == 0xC3 && second >= 0x80 && second <= 0xBF)
        return latin_bases[second - 0x80];
    return '-';
}

char *slug_from_name(const char *name)
{
    char slug[SLUG_BYTES + 1];
    size_t length = 0;
    const unsigned char *at = (const unsigned char *)name;
    while (*at && length < SLUG_BYTES) {
        char letter = slug_letter(&at);
        if (letter != '-' || (length > 0 && slug[length - 1] != '-'))
            slug[length++] = letter;
    }
    while (length > 0 && slug[length - 1] == '-')
        length--;
    slug[length] = '\0';
    return mem_copy_text(length > 0 ? slug : "operation");
}

char *name_from_path(const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    size_t length = dot && dot > name ? (size_t)(dot - name) : strlen(name);
    return mem_copy_bytes(name, length);
}
