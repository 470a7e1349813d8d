/* INI files, read with inih, with the line of every value.
 *
 * Sections "[name]" or "[name label]"; "key = value"; ";" starts a comment at
 * the start of a line or after a blank, "#" at the start of a line. Blanks
 * within names and keys are folded to one. A line stands for itself: an
 * indented one does not continue the one before. Errors are a key set twice in
 * a section, a section begun twice, a line that is neither, a key before any
 * section, control characters, bytes that are not UTF-8 and lines longer than
 * inih reads (198 bytes in Debian's). All errors of the file are listed; keys
 * under a section header that could not be read are left out. */
#ifndef BASE_INI_H
#define BASE_INI_H

#include <stddef.h>

#include "base/error.h"

struct ini_value {
    char *section; /* "bush north" as written, blanks folded */
    char *key;
    char *value;
    int line;
};

struct ini {
    char *path;               /* as given, for messages */
    struct ini_value *values; /* in file order */
    int count;
    /* Sections in order of appearance, also empty ones. */
    struct ini_value *sections; /* key and value NULL */
    int section_count;
};

/* Returns 0, or -1 with at least one sentence "path:line: …" in errors. The
 * ini is to be freed either way. */
int ini_read(const char *path, const char *bytes, size_t length,
             struct ini *out, struct error_list *errors);
void ini_free(struct ini *ini);

/* The value of a key in a section, as both were written with blanks folded; the
 * first of several, NULL if there is none. Borrowed. */
const struct ini_value *ini_find(const struct ini *ini, const char *section,
                                 const char *key);

#endif
