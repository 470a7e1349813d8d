/* A password out of a file that its owner alone may read. */
#ifndef BASE_SECRET_H
#define BASE_SECRET_H

#include <stddef.h>

#include "base/error.h"

enum { SECRET_MAX_BYTES = 1024 };

/* The first line of `path`. Where the service manager hands over credentials
 * ($CREDENTIALS_DIRECTORY is set) and one of them has the file's name, that
 * one is read instead. Refused: a file that its group or others may read
 * (credentials are kept apart by their folder), that belongs to another user,
 * no regular file, empty, longer than SECRET_MAX_BYTES, with control
 * characters or text after the first line. 0 and *out, owned by the caller
 * (secret_free); or -1 and a sentence without the secret. */
int secret_read(const char *path, char **out, struct error *err);
/* The length of the one line that a file of a secret holds, its end cut; 0 if
 * that is not what the bytes are. */
size_t secret_line_length(const char *bytes, size_t length);
/* Overwrites it first. NULL is allowed. */
void secret_free(char *secret);
/* Overwrites memory, also where the compiler knows that nobody reads it. */
void secret_wipe(char *bytes, size_t length);

#endif
