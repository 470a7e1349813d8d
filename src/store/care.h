/* Looking after a store from outside of the daemon, which may be at work with
 * it: nothing here changes what is in it, or moves it. */
#ifndef STORE_CARE_H
#define STORE_CARE_H

#include <stdio.h>

#include "base/error.h"

/* All that is wrong with the file goes to `found`, a sentence each; what is in
 * it (version, size, rows of each table) to `facts`. -1 and a sentence if it
 * cannot be looked at. A store that is damaged is looked at: 0. */
int store_inspect(const char *path, struct error_list *facts,
                  struct error_list *found, struct error *err);

/* Could the daemon open it? Its first page is read; -1 and a sentence, the
 * daemon's own. One that is not there yet is made: 0. */
int store_try(const char *path, struct error *err);

/* The files beside it that were damaged and set aside (store_open), a sentence
 * each, the oldest first. */
void store_set_aside_list(const char *path, struct error_list *out);

/* A whole copy as of one moment, written beside `target` and then renamed
 * there, readable by its owner alone. An existing target is refused. -1 and a
 * sentence, and nothing is left behind. */
int store_backup(const char *path, const char *target, struct error *err);

/* All rows as JSON Lines, one object a row: "table" and its columns, as
 * docs/store.md tells. In one moment's state. Of a damaged store what can be
 * read, and then -1. */
int store_export(const char *path, FILE *out, struct error *err);
/* The same into a file, as a backup is made: it is there when it is whole. */
int store_export_file(const char *path, const char *target, struct error *err);

#endif
