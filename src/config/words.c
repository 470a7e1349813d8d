/* Lists with commas, and what no word may hold. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "config/reading.h"

char **words_split(const char *list, int *count)
{
    char **words = NULL;
    *count = 0;
    for (const char *at = list;; at++) {
        at += strspn(at, " \t");
        size_t length = strcspn(at, ",");
        size_t kept = length;
        while (kept > 0 && (at[kept - 1] == ' ' || at[kept - 1] == '\t'))
            kept--;
        words = mem_resize(words, (size_t)*count + 1, sizeof *words);
        words[(*count)++] = mem_copy_bytes(at, kept);
        at += length;
        if (*at == '\0')
            return words;
    }
}

void words_free(char **words, int count)
{
    for (int i = 0; i < count; i++)
        free(words[i]);
    free(words);
}

size_t control_length(const char *at)
{
    const unsigned char *p = (const unsigned char *)at;
    if ((*p > 0 && *p < 0x20) || *p == 0x7F)
        return 1;
    if (p[0] == 0xC2 && p[1] >= 0x80 && p[1] <= 0x9F)
        return 2;
    if (p[0] == 0xE2 && p[1] == 0x80 && (p[2] == 0xA8 || p[2] == 0xA9))
        return 3;
    return 0;
}

bool words_have_control(const char *words)
{
    for (; *words; words++)
        if (control_length(words) > 0)
            return true;
    return false;
}
