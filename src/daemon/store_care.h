/* The store of a daemon that runs for years: opened when it can be, set aside
 * when it is damaged, replaced when somebody took the file away. */
#ifndef DAEMON_STORE_CARE_H
#define DAEMON_STORE_CARE_H

#include "daemon/loop.h"

enum { STORE_RETRY_S = 60 };

/* To be called in every round of the loop. */
void store_care(struct daemon *daemon);

#endif
