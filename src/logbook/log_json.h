/* Records as JSON: the files of the spool and the published logbook.json are
 * of one form (docs/logbook.md). */
#ifndef LOGBOOK_LOG_JSON_H
#define LOGBOOK_LOG_JSON_H

#include <cjson/cJSON.h>

#include "logbook/logbook.h"

enum { LOG_JSON_VERSION = 1, LOG_JSON_MAX_BYTES = 16 * 1024 * 1024 };

/* The caller frees. Equal records give equal bytes. */
char *log_json_write(const char *operation, const struct logbook *book);
/* Adds to *book; a record whose uid is there already is passed over. -1 with a
 * sentence that names record and key, for another operation's file, or for
 * one of a newer version; *book may then hold a part. */
int log_json_read(const char *bytes, size_t length, const char *operation,
                  struct logbook *book, struct error *err);

/* One note's members, for other JSON of ours: kind, at (UTC), figures. */
void log_json_add_note(cJSON *object, const struct log_note *note);

#endif
