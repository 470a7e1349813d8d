/* Files that are published again and again. */
#ifndef BASE_FILE_SPARE_H
#define BASE_FILE_SPARE_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>
#include <time.h>

/* Writes into the file that was published as `path` before; *spare (owned by
 * the caller) is its name. Its descriptor, or -1 with *spare NULL where there
 * is none, where it was put aside a few minutes ago and might still be read,
 * or on failure. */
int file_spare_fill(const char *path, const char *bytes, size_t length,
                    mode_t mode, time_t now, char **spare);

/* rename(), but what was `path` is kept to be written into later. `from` may
 * be the one that was kept. */
int file_spare_rename(const char *from, const char *path, time_t now);

#endif
