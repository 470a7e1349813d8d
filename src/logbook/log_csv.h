/* The logbook as CSV (docs/logbook.md): one row a record. */
#ifndef LOGBOOK_LOG_CSV_H
#define LOGBOOK_LOG_CSV_H

#include <stddef.h>

#include "logbook/logbook.h"

/* What stands, or with `history` each record. Times with the zone's offset.
 * Numbers are written so that they read back as they were. The caller frees.
 */
char *log_csv_write(const struct logbook *book, const struct zone *zone,
                    bool history);

/* Adds the rows to *book; `time` and `kind` must be there, amounts may stand
 * in sap_gal and syrup_gal (US) instead of litres. A row without a uid gets
 * one from its content, so that reading a file twice adds nothing; one
 * without `written` counts as written at `now`. *known counts the rows
 * that were there already. -1 with a sentence that names the line; *book may
 * then hold a part. */
int log_csv_read(const char *bytes, size_t length, const struct zone *zone,
                 utc_s now, struct logbook *book, int *known,
                 struct error *err);

#endif
