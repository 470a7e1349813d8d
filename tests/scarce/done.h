/* What must be there after a stage that said it was done, whatever failed on
 * its way: a failure that is passed over loses what was promised. Looked at
 * with memory and disk that do not fail. */
#ifndef SCARCE_DONE_H
#define SCARCE_DONE_H

#include <stdbool.h>

/* The bulletin and the page are new ones. */
bool done_publish(const char *folder);
/* The note and the mail are in the store. */
bool done_store(const char *folder);
/* The copy is a sound store. */
bool done_backup(const char *folder);
/* Every row is in the export. */
bool done_export(const char *folder);
/* The note that waited is in the store. */
bool done_intake(const char *folder);
/* The written note waits beside the first. */
bool done_spool(const char *folder);
/* The held answer is the one written last, or none: never part of one. */
bool done_cache(const char *folder);

#endif
