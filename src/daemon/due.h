/* Which operation turns next: a heap by the instant of the next turn, since
 * to look at each of ten thousand operations takes as long as part of a turn.
 * Those under way are not in it. */
#ifndef DAEMON_DUE_H
#define DAEMON_DUE_H

#include "daemon/operation.h"

struct due {
    struct daemon_operation **items; /* borrowed; the list is owned */
    int count, room;
};

/* Anew, with all that are not under way. An instant set under a wrong clock is
 * mended. */
void due_fill(struct due *due, struct daemon_operation **operations, int count,
              utc_s now);
/* One whose turn is over, and that has its next instant. */
void due_add(struct due *due, struct daemon_operation *operation);
/* The earliest, which stays; NULL if there is none. */
struct daemon_operation *due_first(const struct due *due);
void due_take_first(struct due *due);
void due_free(struct due *due);

#endif
