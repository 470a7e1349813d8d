/* Files read whole and written whole. */
#ifndef BASE_FILE_H
#define BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include "base/error.h"

/* Reads a regular file of at most max_bytes; *bytes (owned by the caller,
 * free()) gets a NUL after its end. A larger file is refused. "-" is standard
 * input. */
int file_read(const char *path, size_t max_bytes, char **bytes, size_t *length,
              struct error *err);

/* Writes a temporary file beside `path`, flushes it to disk, renames it over
 * `path`, flushes the folder. On failure the old file is untouched and the
 * temporary one removed; only if the folder cannot be flushed at the end is the
 * new file in place and -1 returned all the same. */
int file_write_whole(const char *path, const char *bytes, size_t length,
                     mode_t mode, struct error *err);

/* The same, but leaves the file alone when it holds these bytes already;
 * *changed (may be NULL) tells. */
int file_write_changed(const char *path, const char *bytes, size_t length,
                       mode_t mode, bool *changed, struct error *err);

/* Gives a finished file in the same folder the name `path`, which nothing may
 * have yet, and flushes the folder; whatever comes, it is gone from `part`. On
 * -1 it has no name, but where the disk refuses to take that away too. */
int file_put_in_place(const char *part, const char *path, struct error *err);

/* As file_write_whole, but flushes nothing, for what may be lost: whoever is
 * killed leaves the old file or the new one; after a power cut it may be
 * anything, which the reader must find out. */
int file_write_loose(const char *path, const char *bytes, size_t length,
                     mode_t mode, struct error *err);

/* Removes what file_write_whole left in the folder when the process was
 * killed: "NAME.new-" and six letters. Only for one who knows that nobody
 * writes there at this moment. */
void file_sweep(const char *folder);

bool file_exists(const char *path);
bool file_is_folder(const char *path); /* or a link to one */
/* Makes the folder and those above it. */
int file_make_folder(const char *path, mode_t mode, struct error *err);
/* folder + "/" + name, owned by the caller. */
char *file_join(const char *folder, const char *name);

/* Path of a file that comes with the program ("models/buckets.json",
 * "fixtures/…"), owned by the caller: looked for in $THAWBELL_DATA, then
 * beside the program (../share/thawbell), the installed data folder, the
 * source tree it was built from. NULL and a sentence if nowhere. */
char *file_find_data(const char *name, struct error *err);

/* Path of a file below share/locale, owned by the caller: beside the program
 * (../share/locale, which is there in the build tree too), else where the
 * program was to be installed. NULL if nowhere. */
char *file_find_locale(const char *name);

const char *program_version(void);

#endif
