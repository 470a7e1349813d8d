/* A libcurl multi handle for a loop that polls: all its sockets behind one
 * descriptor, its timers as milliseconds to wait.
 *
 *     fds[0] = (struct pollfd){multi_fd(multi), POLLIN, 0};
 *     poll(fds, 1, multi_wait_ms(multi));
 *     multi_work(multi);
 *     while ((message = curl_multi_info_read(multi_curl(multi), &left))) …
 *
 * After an easy handle was added, the wait is 0 until multi_work was called.
 * The handle is worked with multi_work alone, never with curl_multi_perform or
 * curl_multi_poll. Not to be shared between threads. */
#ifndef NET_MULTI_H
#define NET_MULTI_H

#include "base/error.h"

struct multi;

/* NULL and a sentence if there is no handle or no descriptor left. */
struct multi *multi_open(struct error *err);
/* All easy handles must have been removed. NULL is allowed. */
void multi_free(struct multi *multi);

void *multi_curl(struct multi *multi); /* its CURLM, borrowed */
int multi_fd(const struct multi *multi);
/* Until libcurl wants multi_work whatever its sockets do; -1: never. */
int multi_wait_ms(const struct multi *multi);
/* Does what can be done without waiting. */
void multi_work(struct multi *multi);

#endif
