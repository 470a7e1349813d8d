/* The bytes of a file of the open data, for tests that read them themselves. */
#ifndef OPEN_BYTES_H
#define OPEN_BYTES_H

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"

/* Reads ../shared/<name>. False if it is missing: the test fails where
 * CI=true and is skipped, with a word, elsewhere. The caller frees. */
static inline bool open_bytes_read(const char *name, char **bytes,
                                   size_t *length)
{
    char *path = file_join(OPEN_DATA_DIR, name);
    bool read = file_read(path, 64 * 1024 * 1024, bytes, length, NULL) == 0;
    const char *ci = getenv("CI");

    free(path);
    if (!read) {
        printf("skipped: needs the open data named in docs (%s)\n", name);
        if (ci && strcmp(ci, "true") == 0)
            abort();
    }
    return read;
}

#endif
