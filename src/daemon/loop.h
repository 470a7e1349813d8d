/* The daemon's one loop, what it owns, and how a part plugs in.
 *
 * One thread owns all state here. A round of the loop:
 *   1. reads the clocks (clock.h); a clock that was set is told to the log;
 *   2. takes signals: SIGHUP reads the configuration anew, SIGTERM and SIGINT
 *      end within ten seconds, SIGCONT looks at the clock;
 *   3. begins the turns that are due and carries on those under way (turns.h);
 *   4. gives each part its tick() when it is due, its ready() when one of its
 *      descriptors is;
 *   5. sleeps in poll() until the next of these, at most LOOP_LONGEST_WAIT_MS:
 *      a machine that slept or whose clock was set is noticed by then.
 *
 * A part (mail, page server, upload) fills one struct daemon_part and calls
 * daemon_plug once, before loop_run:
 *
 *     static const struct daemon_part part = {
 *         .name = "mail", .turned = post_turned, .due = post_due,
 *         .tick = post_tick, .watch = post_watch, .ready = post_ready};
 *     daemon_plug(daemon, &part, post);
 *
 * Everything is called in the loop's thread, so a part must not block: what
 * takes long is a transfer on net/multi.h, whose descriptor it watches, or a
 * thread of its own that is given copies and never this structure. daemon->now
 * is the clock; a part asks no other. It keeps no pointer to an operation, the
 * store or a bulletin between two calls: a reload or a damaged store replaces
 * them. */
#ifndef DAEMON_LOOP_H
#define DAEMON_LOOP_H

#include <poll.h>

#include "base/text.h"
#include "command/options.h"
#include "config/config.h"
#include "daemon/clock.h"
#include "daemon/operation.h"
#include "publish/bulletin.h"
#include "store/store.h"
#include "turn/turn.h"

enum {
    LOOP_LONGEST_WAIT_MS = 30000,
    LOOP_END_MS = 8000, /* for parts to finish after SIGTERM */
    LOOP_MAX_PARTS = 8,
    LOOP_PART_FDS = 64 /* a part may watch so many */
};

struct daemon;

/* What a part may do; NULL where it does not. `self` as given to daemon_plug.
 */
struct daemon_part {
    const char *name; /* for the log */
    /* After each turn. `bulletin` is NULL when none was made; else it is
     * published already, with result->published files changed, or could not be
     * (result->in_place). The store is in no transaction: a part that decides
     * something (an alert) opens its own and writes decision and outbox row
     * together. */
    void (*turned)(void *self, struct daemon *daemon,
                   struct daemon_operation *operation,
                   const struct turn_result *result,
                   const struct bulletin *bulletin);
    /* The next instant at which tick() is wanted, SCHEDULE_NEVER for none;
     * asked in every round, so it must be quick. schedule.h has the civil
     * hours. tick() is called whenever that instant has come. */
    utc_s (*due)(void *self, const struct daemon *daemon);
    void (*tick)(void *self, struct daemon *daemon);
    /* Descriptors to poll for: fills at most LOOP_PART_FDS, returns their
     * number, and may lower *wait_ms (libcurl's timers). ready() is called
     * with what poll said, or with a count of 0 when wait_ms has run out. */
    int (*watch)(void *self, struct pollfd *fds, int *wait_ms);
    void (*ready)(void *self, struct daemon *daemon, const struct pollfd *fds,
                  int count);
    /* The machine's clock was set: an instant noted by the old one may be far
     * ahead. */
    void (*clock_set)(void *self, struct daemon *daemon);
    /* What is wrong, for the line of how things stand: one clause that begins
     * with "; ", of the worst with a count; nothing if all is well. Asked in
     * every round. */
    void (*status)(void *self, const struct daemon *daemon, struct text *out);
    /* The configuration is another one now: operations came, went, changed. */
    void (*reloaded)(void *self, struct daemon *daemon);
    /* The end: no new work. Called once, then `ended` in each round until it
     * says true or LOOP_END_MS have passed. */
    void (*end)(void *self, struct daemon *daemon);
    bool (*ended)(void *self, const struct daemon *daemon);
    /* The last call; the store may still be written. */
    void (*free)(void *self);
};

struct loop_plug {
    struct daemon_part part;
    void *self;
};

struct turns;
struct notify;
struct http;

struct daemon {
    struct options options; /* as given on the command line */
    char *state;            /* state folder, owned */
    struct daemon_clock clock;
    utc_s now; /* the clock's */
    /* NULL while the store cannot be opened: turns wait for it, parts must. */
    struct store *store;
    struct daemon_operation **operations; /* owned, by file name */
    int operation_count;
    utc_s turn_next;            /* the earliest `next` of all; 0: not known */
    struct http *http;          /* NULL until the first turn */
    struct turn_models *models; /* of all turns */
    struct turns *turns;        /* those under way */
    struct notify *notify;      /* the service manager */
    int signal_fd;
    struct loop_plug plugs[LOOP_MAX_PARTS];
    int plug_count;
    int64_t store_next;     /* steady time of the next try to open the store */
    utc_s store_since;      /* cannot be opened since; 0: can */
    struct error store_why; /* the last time it could not */
    utc_s status_next;
    utc_s answers_next; /* when the answers are looked through again */
    bool mail_moved;    /* that of some operation: see there */
    int64_t end_ms; /* steady time of the end at the latest; 0: not ending */
    bool ready;     /* told to the service manager */
    char *reload_trouble; /* why the last reload was refused, or NULL; owned */
    utc_s reload_since;   /* the first one refused since a good one; or 0 */
    /* A new configuration that waits for the turns under way; NULL: none. */
    struct daemon_operation **pending; /* owned */
    int pending_count;
};

/* Plugs a part in; `self` is passed to its functions. -1: too many parts. */
int daemon_plug(struct daemon *daemon, const struct daemon_part *part,
                void *self);

/* An operation by its slug, or NULL. Valid until the next reload. */
struct daemon_operation *daemon_operation(const struct daemon *daemon,
                                          const char *slug);

/* From here on signals wait for the loop to take them: first of all, or one
 * that comes early would end the process as it stands. -1: none can be waited
 * for; it is logged. Closed by loop_run. */
int loop_open(struct daemon *daemon);

/* Runs until SIGTERM or SIGINT; exit status as of command/options.h. */
int loop_run(struct daemon *daemon);

#endif
