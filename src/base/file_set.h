/* Files of one folder that are put in place together: each is written beside
 * its place, then all are flushed, then each takes its place, in the order in
 * which they were put. Each is the old one or the new one, whole, at each
 * moment, through a power cut too. What was published before stays beside it
 * as ".NAME.old", to be written into the next time. */
#ifndef BASE_FILE_SET_H
#define BASE_FILE_SET_H

#include <stddef.h>
#include <sys/types.h>

#include "base/error.h"

/* Each file by itself and at last the folder waits for these files alone. The
 * whole file system in one go costs less where much is published, but waits
 * for whatever others have written there; the names are then on disk when the
 * kernel comes to it, and until then a power cut brings the old files back. */
enum file_set_flush { FILE_SET_EACH, FILE_SET_FILE_SYSTEM };

struct file_set;

/* NULL and a sentence if there is no such folder. */
struct file_set *file_set_begin(const char *folder, enum file_set_flush flush,
                                struct error *err);

/* Writes the file beside its place, unless it holds these bytes already. One
 * that fails does not keep the others back: file_set_look tells. */
void file_set_put(struct file_set *set, const char *name, const char *bytes,
                  size_t length, mode_t mode);

/* Flushes them and puts them in place. -1 and a sentence that names the folder
 * if they cannot be flushed: none of them is then in place; only if it is the
 * folder that cannot be flushed at the end, they are all the same. The same if
 * several could not be written for one reason, as on a full disk: file_set_look
 * gives this sentence for each of them, and the others are in place. */
int file_set_settle(struct file_set *set, struct error *err);

/* Afterwards: 0 if the file is in place, or was left alone, or never put; -1
 * and a sentence. */
int file_set_look(const struct file_set *set, const char *name,
                  struct error *err);
/* How many have been put in place. */
int file_set_count(const struct file_set *set);

/* Takes away what has not been put in place. NULL is allowed. */
void file_set_free(struct file_set *set);

#endif
