/* For programs that write cases for a test to read: what goes wrong ends them.
 */
#ifndef SUPPORT_CASE_FILES_H
#define SUPPORT_CASE_FILES_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"

static inline void must(int result, const struct error *err)
{
    if (result == 0)
        return;
    fprintf(stderr, "%s\n", err->text);
    exit(1);
}

static inline void case_write_bytes(const char *folder, const char *name,
                                    const char *bytes, size_t length)
{
    char *path = file_join(folder, name);
    struct error err = {""};

    must(file_write_whole(path, bytes, length, 0644, &err), &err);
    free(path);
}

/* The case's file of that ending. */
static inline void case_write(const char *folder, const char *name,
                              const char *ending, const char *words)
{
    char *file = mem_format("%s%s", name, ending);

    case_write_bytes(folder, file, words, strlen(words));
    free(file);
}

#endif
