/* Files that are published again and again. */
#ifndef BASE_FILE_SPARE_H
#define BASE_FILE_SPARE_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>
#include <time.h>

/* Writes into the file that was published as `path` before, flushes it and
 * has the two change places, so that `path` is the old one or the new one,
 * whole, at each moment. False, `path` untouched, where there is none, where
 * it was put aside a few minutes ago and might still be read, or on failure. */
bool file_spare_put(const char *path, const char *bytes, size_t length,
                    mode_t mode, time_t now);

/* rename(), but what was `path` is kept to be written into later. */
int file_spare_rename(const char *from, const char *path, time_t now);

#endif
