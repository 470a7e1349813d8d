/* Parameter files: models/ *.json, each an object with `name`, `version`,
 * `about`, `form` where it says which one, and `numbers`, in which every key
 * is an object {value, unit, min, max, source}. Anything else is refused, by
 * file and key. */
#ifndef TREE_PARAMETERS_H
#define TREE_PARAMETERS_H

#include <cjson/cJSON.h>
#include <stddef.h>

#include "base/error.h"

/* One number that a file must hold, and where it goes. */
struct parameter_row {
    const char *key;
    const char *unit; /* as the file must write it */
    size_t offset;    /* of a double in the target */
};

struct parameter_file {
    char *path;
    char *bytes;
    size_t length;
    cJSON *root;
};

/* Reads folder/name; where the folder has no such file, or is NULL, models/name
 * of the program's data. To be freed either way. */
int parameter_file_open(struct parameter_file *file, const char *folder,
                        const char *name, struct error *err);
void parameter_file_free(struct parameter_file *file);
/* "name", "version", "form", "about"; borrowed, NULL if absent. */
const char *parameter_file_word(const struct parameter_file *file,
                                const char *key);
/* Fills `target` by the rows (ended by a NULL key): every row must be there
 * once, in its unit, between the file's own min and max. */
int parameter_file_read(const struct parameter_file *file,
                        const struct parameter_row *rows, void *target,
                        struct error *err);

#endif
