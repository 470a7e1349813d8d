#include "daemon/loop.h"

#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/signalfd.h>
#include <time.h>
#include <unistd.h>

#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/notify.h"
#include "daemon/reload.h"
#include "daemon/schedule.h"
#include "daemon/status.h"
#include "daemon/store_care.h"
#include "daemon/turns.h"
#include "net/http.h"

enum {
    OWN_FDS = 2, /* signals, transport */
    ALL_FDS = OWN_FDS + LOOP_MAX_PARTS * LOOP_PART_FDS
};

/* What one round sleeps on. */
struct sleep {
    struct pollfd fds[ALL_FDS];
    int count;
    int wait_ms;
    int part_at[LOOP_MAX_PARTS], part_count[LOOP_MAX_PARTS];
    int64_t part_due_ms[LOOP_MAX_PARTS]; /* steady time; -1: none */
};

int daemon_plug(struct daemon *daemon, const struct daemon_part *part,
                void *self)
{
    if (daemon->plug_count == LOOP_MAX_PARTS)
        return -1;
    daemon->plugs[daemon->plug_count++] = (struct loop_plug){*part, self};
    return 0;
}

struct daemon_operation *daemon_operation(const struct daemon *daemon,
                                          const char *slug)
{
    for (int i = 0; i < daemon->operation_count; i++)
        if (strcmp(daemon->operations[i]->config->slug, slug) == 0)
            return daemon->operations[i];
    return NULL;
}

static void read_clocks(struct daemon *daemon)
{
    struct daemon_clock before = daemon->clock;
    int64_t jump_s;

    daemon_clock_read(&daemon->clock);
    daemon->now = daemon->clock.now;
    if (before.now == 0)
        return;
    jump_s = daemon_clock_jump_s(&before, &daemon->clock);
    if (jump_s == 0)
        return;
    log_warn(_("the machine's clock was set by %+lld s"), (long long)jump_s);
    daemon->turn_next = 0;
    for (int i = 0; i < daemon->plug_count; i++)
        if (daemon->plugs[i].part.clock_set != NULL)
            daemon->plugs[i].part.clock_set(daemon->plugs[i].self, daemon);
}

static void begin_end(struct daemon *daemon)
{
    if (daemon->end_ms != 0)
        return;
    log_info("%s", _("asked to end"));
    notify_stopping(daemon->notify);
    daemon->end_ms = daemon->clock.steady_ms + LOOP_END_MS;
    for (int i = 0; i < daemon->plug_count; i++)
        if (daemon->plugs[i].part.end != NULL)
            daemon->plugs[i].part.end(daemon->plugs[i].self, daemon);
}

/* False: a second signal to end; at once then. */
static bool take_signals(struct daemon *daemon)
{
    struct signalfd_siginfo signal;

    while (read(daemon->signal_fd, &signal, sizeof signal) ==
           (ssize_t)sizeof signal) {
        if (signal.ssi_signo == SIGHUP && daemon->end_ms == 0)
            reload_begin(daemon);
        if (signal.ssi_signo != SIGTERM && signal.ssi_signo != SIGINT)
            continue;
        if (daemon->end_ms != 0 && signal.ssi_signo == SIGINT)
            return false;
        begin_end(daemon);
    }
    return true;
}

static bool parts_ended(const struct daemon *daemon)
{
    for (int i = 0; i < daemon->plug_count; i++) {
        const struct loop_plug *plug = &daemon->plugs[i];

        if (plug->part.ended != NULL && !plug->part.ended(plug->self, daemon))
            return false;
    }
    return true;
}

static bool at_end(const struct daemon *daemon)
{
    return daemon->end_ms != 0 &&
           (parts_ended(daemon) || daemon->clock.steady_ms >= daemon->end_ms);
}

static void tick_parts(struct daemon *daemon)
{
    for (int i = 0; i < daemon->plug_count; i++) {
        const struct loop_plug *plug = &daemon->plugs[i];

        if (plug->part.due != NULL && plug->part.tick != NULL &&
            plug->part.due(plug->self, daemon) <= daemon->now)
            plug->part.tick(plug->self, daemon);
    }
}

static void watch_part(struct daemon *daemon, struct sleep *sleep, int number)
{
    const struct loop_plug *plug = &daemon->plugs[number];
    int wait_ms = -1;

    sleep->part_at[number] = sleep->count;
    sleep->part_count[number] = 0;
    sleep->part_due_ms[number] = -1;
    if (plug->part.watch != NULL)
        sleep->part_count[number] =
            plug->part.watch(plug->self, &sleep->fds[sleep->count], &wait_ms);
    sleep->count += sleep->part_count[number];
    if (wait_ms >= 0) {
        sleep->part_due_ms[number] = daemon->clock.steady_ms + wait_ms;
        if (wait_ms < sleep->wait_ms)
            sleep->wait_ms = wait_ms;
    }
    if (plug->part.due != NULL)
        sleep->wait_ms = schedule_wait_ms(
            daemon->now, plug->part.due(plug->self, daemon), sleep->wait_ms);
}

static void collect(struct daemon *daemon, struct sleep *sleep)
{
    int sign_ms = notify_watchdog(daemon->notify, daemon->clock.steady_ms);

    sleep->wait_ms = daemon->end_ms != 0 ? 100 : LOOP_LONGEST_WAIT_MS;
    if (sign_ms >= 0 && sign_ms < sleep->wait_ms)
        sleep->wait_ms = sign_ms;
    sleep->count = 0;
    sleep->fds[sleep->count++] =
        (struct pollfd){.fd = daemon->signal_fd, .events = POLLIN};
    if (daemon->http != NULL && turns_count(daemon->turns) > 0)
        sleep->fds[sleep->count++] =
            (struct pollfd){.fd = http_fd(daemon->http), .events = POLLIN};
    if (daemon->end_ms == 0)
        sleep->wait_ms = turns_wait_ms(daemon, sleep->wait_ms);
    for (int i = 0; i < daemon->plug_count; i++)
        watch_part(daemon, sleep, i);
}

static void wake_parts(struct daemon *daemon, const struct sleep *sleep)
{
    for (int i = 0; i < daemon->plug_count; i++) {
        const struct loop_plug *plug = &daemon->plugs[i];
        const struct pollfd *fds = &sleep->fds[sleep->part_at[i]];
        int ready = 0;

        for (int k = 0; k < sleep->part_count[i]; k++)
            ready += fds[k].revents != 0;
        if (plug->part.ready == NULL)
            continue;
        if (ready > 0)
            plug->part.ready(plug->self, daemon, fds, sleep->part_count[i]);
        else if (sleep->part_due_ms[i] >= 0 &&
                 daemon->clock.steady_ms >= sleep->part_due_ms[i])
            plug->part.ready(plug->self, daemon, NULL, 0);
    }
}

static void work(struct daemon *daemon)
{
    store_care(daemon);
    if (daemon->end_ms == 0)
        turns_work(daemon, daemon->pending == NULL);
    reload_finish(daemon);
    tick_parts(daemon);
}

/* The first status that holds a bulletin, or the trouble that keeps it back,
 * is what a service manager waits for. */
static void tell_ready(struct daemon *daemon)
{
    if (daemon->ready || daemon->end_ms != 0)
        return;
    for (int i = 0; i < daemon->operation_count && i < TURNS_AT_ONCE; i++)
        if (daemon->operations[i]->turned == 0 && daemon->store != NULL)
            return;
    notify_ready(daemon->notify);
    daemon->ready = true;
}

int loop_open(struct daemon *daemon)
{
    sigset_t set;

    daemon->signal_fd = -1;
    signal(SIGPIPE, SIG_IGN);
    sigemptyset(&set);
    sigaddset(&set, SIGHUP);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGCONT);
    if (sigprocmask(SIG_BLOCK, &set, NULL) == 0)
        daemon->signal_fd = signalfd(-1, &set, SFD_CLOEXEC | SFD_NONBLOCK);
    if (daemon->signal_fd >= 0)
        return 0;
    log_error("%s", _("signals cannot be waited for"));
    return -1;
}

int loop_run(struct daemon *daemon)
{
    struct sleep *sleep = mem_alloc(1, sizeof *sleep);

    read_clocks(daemon);
    while (take_signals(daemon) && !at_end(daemon)) {
        work(daemon);
        tell_ready(daemon);
        collect(daemon, sleep);
        status_tell(daemon);
        poll(sleep->fds, (nfds_t)sleep->count, sleep->wait_ms);
        read_clocks(daemon);
        wake_parts(daemon, sleep);
    }
    close(daemon->signal_fd);
    free(sleep);
    return EXIT_DONE;
}
