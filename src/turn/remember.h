/* The calendar's memory, scores and the plan, to the store and back. */
#ifndef TURN_REMEMBER_H
#define TURN_REMEMBER_H

#include "publish/bulletin.h"
#include "publish/calendar.h"
#include "store/store.h"

/* The memory as last told; an event that cannot be read is left out and
 * named in *warning (owned by the caller, NULL if all is well). */
int remember_load(struct store *store, const char *operation,
                  struct calendar_memory *memory, char **warning,
                  struct error *err);

/* Memory, scores and the plan, if there is one, in one transaction, with what
 * has been stored since it was begun, if it is; it is over afterwards. */
int remember_save(struct store *store, const struct calendar_memory *memory,
                  const struct bulletin *bulletin, struct error *err);

#endif
