/* Connections under a deadline of our own: libmicrohttpd's is for silence
 * alone, and at its limit it lets new clients hang. Here the connection that
 * has gone longest without an answer is closed when many are open, and each
 * when its time is up. Inside daemon/ only. */
#ifndef DAEMON_SERVE_GUARD_H
#define DAEMON_SERVE_GUARD_H

#include <stdint.h>

struct guard;
struct guarded; /* one connection */

/* `most` connections at once; an answer within request_ms. Starts a thread. */
struct guard *guard_start(int most, int request_ms);
/* All connections must be gone. NULL is allowed. */
void guard_stop(struct guard *guard);

/* Called in any thread. The socket stays open until guard_end returns. */
struct guarded *guard_begin(struct guard *guard, int fd);
void guard_answered(struct guard *guard, struct guarded *guarded);
void guard_end(struct guard *guard, struct guarded *guarded);

#endif
