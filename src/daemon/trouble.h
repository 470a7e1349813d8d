/* What is wrong with an operation, told when it begins and when it ends, not
 * in every turn. */
#ifndef DAEMON_TROUBLE_H
#define DAEMON_TROUBLE_H

#include "daemon/operation.h"

/* Logs the sentences that the last turn did not have, and, when none are left,
 * that all is well again and how long it was not. Keeps a copy of them. */
void trouble_tell(struct daemon_operation *operation, utc_s now,
                  const struct error_list *troubles);
void trouble_tell_one(struct daemon_operation *operation, utc_s now,
                      const char *words);

#endif
