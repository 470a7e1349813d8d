/* The spool: notes on their way from the operator to the daemon, one file a
 * note (or an import), written whole under a name of its own. A group may
 * write there, so the daemon trusts nothing in it.
 *
 * Files are SLUG.UID.json; a bad one is renamed to end in .bad. */
#ifndef LOGBOOK_SPOOL_H
#define LOGBOOK_SPOOL_H

#include "logbook/logbook.h"

enum { SPOOL_MAX_FILES = 2000, SPOOL_MAX_BYTES = 16 * 1024 * 1024 };

struct spool_file {
    char *path;             /* owned */
    struct logbook records; /* owned; each marked as waiting */
    bool bad;               /* its content cannot be taken */
    struct error trouble;   /* "" or why it is bad, or cannot be read now */
};

struct spool {
    struct spool_file *files; /* owned, by name: by time of writing */
    int count;
    bool more; /* than SPOOL_MAX_FILES: the rest comes the next time */
};

/* Files of the operation; none where the folder is not there. -1 if the
 * folder cannot be read. */
int spool_read(const char *folder, const char *operation, struct spool *out,
               struct error *err);
void spool_free(struct spool *spool);

/* Writes the records as one file, which others of the folder's group may read
 * and remove. Makes the folder if it is missing (for its owner alone). */
int spool_write(const char *folder, const char *operation,
                const struct logbook *records, struct error *err);

/* After the daemon has kept what is in it. */
int spool_remove(const struct spool_file *file, struct error *err);
/* Renames to PATH.bad; *aside (owned by the caller) is the new name. */
int spool_set_aside(const struct spool_file *file, char **aside,
                    struct error *err);

#endif
