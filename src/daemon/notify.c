#include "daemon/notify.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"

enum { STATUS_MAX_BYTES = 3072 };

struct notify {
    int fd; /* -1: nobody listens */
    struct sockaddr_un address;
    socklen_t address_length;
    int64_t watchdog_ms; /* 0: none */
    int64_t sign_ms;     /* steady time of the last sign of life */
    bool signed_once;
    char *status; /* as said last, or NULL */
};

/* A path, or '@' for the abstract namespace (unix(7)). */
static bool read_address(struct notify *notify)
{
    const char *path = getenv("NOTIFY_SOCKET");
    size_t length = path != NULL ? strlen(path) : 0;

    if (length < 2 || (path[0] != '/' && path[0] != '@') ||
        length >= sizeof notify->address.sun_path)
        return false;
    notify->address.sun_family = AF_UNIX;
    memcpy(notify->address.sun_path, path, length);
    if (path[0] == '@')
        notify->address.sun_path[0] = '\0';
    notify->address_length =
        (socklen_t)(offsetof(struct sockaddr_un, sun_path) + length);
    return true;
}

/* Digits alone; 0 for other words. A double holds such a number whole up to
 * 2^53, and a long, of 32 bits here and there, no watchdog's microseconds. */
static int64_t read_whole(const char *name)
{
    const double most = 9007199254740992.0;
    const char *words = getenv(name);
    double value;

    if (words == NULL || words[strspn(words, "0123456789")] != '\0' ||
        !number_parse(words, strlen(words), &value) || value > most)
        return 0;
    return (int64_t)value;
}

struct notify *notify_open(void)
{
    struct notify *notify = mem_alloc(1, sizeof *notify);
    int64_t meant = read_whole("WATCHDOG_PID");

    notify->fd = -1;
    if (!read_address(notify))
        return notify;
    notify->fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    if (meant == 0 || meant == (int64_t)getpid())
        notify->watchdog_ms = read_whole("WATCHDOG_USEC") / 1000;
    return notify;
}

void notify_free(struct notify *notify)
{
    if (notify == NULL)
        return;
    if (notify->fd >= 0)
        close(notify->fd);
    free(notify->status);
    free(notify);
}

/* A manager that does not take it is no trouble of ours. */
static void say(struct notify *notify, const char *words)
{
    if (notify->fd >= 0)
        sendto(notify->fd, words, strlen(words), MSG_NOSIGNAL | MSG_DONTWAIT,
               (const struct sockaddr *)&notify->address,
               notify->address_length);
}

void notify_ready(struct notify *notify)
{
    say(notify, "READY=1");
}

void notify_reloading(struct notify *notify, int64_t steady_us)
{
    char *words =
        mem_format("RELOADING=1\nMONOTONIC_USEC=%lld", (long long)steady_us);

    say(notify, words);
    free(words);
}

void notify_stopping(struct notify *notify)
{
    say(notify, "STOPPING=1");
}

void notify_status(struct notify *notify, const char *words)
{
    struct text line;

    if (notify->status != NULL && strcmp(notify->status, words) == 0)
        return;
    free(notify->status);
    notify->status = mem_copy_text(words);
    text_init(&line, STATUS_MAX_BYTES);
    text_addf(&line, "STATUS=%s", words);
    for (char *c = line.bytes; *c != '\0'; c++)
        if (*c == '\n')
            *c = ' ';
    say(notify, line.bytes);
    text_free(&line);
}

int notify_watchdog(struct notify *notify, int64_t steady_ms)
{
    int64_t half_ms = notify->watchdog_ms / 2;
    int64_t left_ms;

    if (notify->watchdog_ms == 0)
        return -1;
    left_ms = notify->sign_ms + half_ms - steady_ms;
    if (!notify->signed_once || left_ms <= 0 || left_ms > half_ms) {
        say(notify, "WATCHDOG=1");
        notify->signed_once = true;
        notify->sign_ms = steady_ms;
        left_ms = half_ms;
    }
    return left_ms > 60000 ? 60000 : (int)left_ms;
}
