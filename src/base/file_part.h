/* What the writers of whole files share. */
#ifndef BASE_FILE_PART_H
#define BASE_FILE_PART_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/* Makes a new file beside `path` and writes these bytes into it; *part (owned
 * by the caller) is its name, "PATH.new-XXXXXX". Its descriptor, or -1 with
 * errno, *part NULL and nothing left of it. */
int file_part_make(const char *path, const char *bytes, size_t length,
                   mode_t mode, char **part);

/* Does the file hold these bytes, and no others? */
bool file_holds(const char *path, const char *bytes, size_t length);

/* fsync of an open folder; one that cannot be flushed is as good as it gets. */
int file_flush_open_folder(int fd);

#endif
