/* The turns under way: several at once, each waiting for its own answers. */
#ifndef DAEMON_TURNS_H
#define DAEMON_TURNS_H

#include "daemon/loop.h"

enum {
    TURNS_AT_ONCE = 8,
    TURNS_RETRY_S = 300, /* after one that could not publish */
};

struct turns *turns_open(void);
/* Gives up what is under way; the transport must have been freed before. */
void turns_free(struct turns *turns);

int turns_count(const struct turns *turns);
/* Begins those that are due (none while `begin` is false), carries on those
 * whose answers have come, ends those that have them all. */
void turns_work(struct daemon *daemon, bool begin);
/* Until the next turn is due, or libcurl's timers: at most longest_ms. */
int turns_wait_ms(struct daemon *daemon, int longest_ms);

#endif
