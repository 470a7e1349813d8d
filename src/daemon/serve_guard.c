#include "daemon/serve_guard.h"

#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>

#include "base/memory.h"

enum { SWEEP_MS = 250 };

struct guarded {
    int fd;
    int64_t since_ms;               /* of the last answer, or its begin */
    struct guarded *before, *after; /* in the order of since_ms */
    bool listed;                    /* not told to go yet */
};

struct guard {
    pthread_mutex_t lock;
    pthread_cond_t wake;
    pthread_t sweeper;
    bool ending;
    int most, count; /* of those listed */
    int request_ms;
    struct guarded *oldest, *newest;
};

static int64_t steady_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void unlist(struct guard *guard, struct guarded *guarded)
{
    if (!guarded->listed)
        return;
    if (guarded->before != NULL)
        guarded->before->after = guarded->after;
    else
        guard->oldest = guarded->after;
    if (guarded->after != NULL)
        guarded->after->before = guarded->before;
    else
        guard->newest = guarded->before;
    guarded->listed = false;
    guard->count--;
}

static void enlist(struct guard *guard, struct guarded *guarded)
{
    guarded->since_ms = steady_ms();
    guarded->before = guard->newest;
    guarded->after = NULL;
    if (guard->newest != NULL)
        guard->newest->after = guarded;
    else
        guard->oldest = guarded;
    guard->newest = guarded;
    guarded->listed = true;
    guard->count++;
}

/* The server sees the end of the connection and closes it; the socket is
 * open till then, so no other one can have its number. */
static void send_off(struct guard *guard, struct guarded *guarded)
{
    unlist(guard, guarded);
    shutdown(guarded->fd, SHUT_RDWR);
}

static void *sweep(void *self)
{
    struct guard *guard = self;
    struct timespec until;

    pthread_mutex_lock(&guard->lock);
    while (!guard->ending) {
        int64_t due = steady_ms() - guard->request_ms;

        while (guard->oldest != NULL && guard->oldest->since_ms <= due)
            send_off(guard, guard->oldest);
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_nsec += SWEEP_MS * 1000000L;
        until.tv_sec += until.tv_nsec / 1000000000L;
        until.tv_nsec %= 1000000000L;
        pthread_cond_timedwait(&guard->wake, &guard->lock, &until);
    }
    pthread_mutex_unlock(&guard->lock);
    return NULL;
}

struct guard *guard_start(int most, int request_ms)
{
    struct guard *guard = mem_alloc(1, sizeof *guard);
    pthread_condattr_t steady;

    guard->most = most;
    guard->request_ms = request_ms;
    pthread_mutex_init(&guard->lock, NULL);
    pthread_condattr_init(&steady);
    pthread_condattr_setclock(&steady, CLOCK_MONOTONIC);
    pthread_cond_init(&guard->wake, &steady);
    pthread_condattr_destroy(&steady);
    if (pthread_create(&guard->sweeper, NULL, sweep, guard) == 0)
        return guard;
    pthread_cond_destroy(&guard->wake);
    pthread_mutex_destroy(&guard->lock);
    free(guard);
    return NULL;
}

void guard_stop(struct guard *guard)
{
    if (guard == NULL)
        return;
    pthread_mutex_lock(&guard->lock);
    guard->ending = true;
    pthread_cond_signal(&guard->wake);
    pthread_mutex_unlock(&guard->lock);
    pthread_join(guard->sweeper, NULL);
    pthread_cond_destroy(&guard->wake);
    pthread_mutex_destroy(&guard->lock);
    free(guard);
}

struct guarded *guard_begin(struct guard *guard, int fd)
{
    struct guarded *guarded = mem_alloc(1, sizeof *guarded);

    guarded->fd = fd;
    pthread_mutex_lock(&guard->lock);
    enlist(guard, guarded);
    if (guard->count > guard->most)
        send_off(guard, guard->oldest);
    pthread_mutex_unlock(&guard->lock);
    return guarded;
}

void guard_answered(struct guard *guard, struct guarded *guarded)
{
    pthread_mutex_lock(&guard->lock);
    if (guarded->listed) {
        unlist(guard, guarded);
        enlist(guard, guarded);
    }
    pthread_mutex_unlock(&guard->lock);
}

void guard_end(struct guard *guard, struct guarded *guarded)
{
    pthread_mutex_lock(&guard->lock);
    unlist(guard, guarded);
    pthread_mutex_unlock(&guard->lock);
    free(guarded);
}
