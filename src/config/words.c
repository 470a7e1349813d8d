/* Lists with commas. */
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
