/* Telling the service manager how it stands: datagrams as sd_notify(3)
 * describes them, to the socket that NOTIFY_SOCKET names. Without one all of
 * this does nothing. */
#ifndef DAEMON_NOTIFY_H
#define DAEMON_NOTIFY_H

#include <stdint.h>

struct notify;

/* Reads NOTIFY_SOCKET, WATCHDOG_USEC and WATCHDOG_PID. Never NULL. */
struct notify *notify_open(void);
void notify_free(struct notify *notify);

void notify_ready(struct notify *notify);
/* steady_us: CLOCK_MONOTONIC, as a reload must tell from version 253 on. */
void notify_reloading(struct notify *notify, int64_t steady_us);
void notify_stopping(struct notify *notify);
/* One line; said only when it is another one than last time. */
void notify_status(struct notify *notify, const char *words);

/* A sign of life when half of the watchdog's time has passed. Returns the
 * milliseconds until the next is due; -1 without a watchdog. */
int notify_watchdog(struct notify *notify, int64_t steady_ms);

#endif
