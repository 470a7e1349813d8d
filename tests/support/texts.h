/* Texts that a test reads and changes; what comes back, the caller frees. */
#ifndef SUPPORT_TEXTS_H
#define SUPPORT_TEXTS_H

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "unit_test.h"

/* What is in the folder's file, which must be there. */
static inline char *file_text(const char *folder, const char *name)
{
    char *path = file_join(folder, name), *bytes = NULL;
    struct error err = {""};
    size_t length;

    if (file_read(path, 1 << 22, &bytes, &length, &err) != 0)
        fail_msg("%s", err.text);
    free(path);
    return bytes;
}

/* The text with the new put for the first of the old, which must be in it. */
static inline char *text_with(const char *text, const char *old,
                              const char *new)
{
    const char *at = strstr(text, old);

    if (at == NULL)
        fail_msg("\"%s\" is not there to be replaced", old);
    return mem_format("%.*s%s%s", (int)(at - text), text, new,
                      at + strlen(old));
}

/* Writes a text as the folder's file. */
static inline void file_put_text(const char *folder, const char *name,
                                 const char *text)
{
    char *path = file_join(folder, name);
    struct error err = {""};

    if (file_write_whole(path, text, strlen(text), 0644, &err) != 0)
        fail_msg("%s", err.text);
    free(path);
}

#endif
