/* One turn of the crank: fetch, decode, merge, run the tree, score, make the
 * bulletin, publish. The daemon, --once, try, replay and the season tests
 * all call it. */
#ifndef TURN_TURN_H
#define TURN_TURN_H

#include "config/config.h"
#include "publish/bulletin.h"
#include "source/transport.h"
#include "store/store.h"
#include "turn/models.h"

struct turn_result {
    utc_s next; /* when it wants to be called again */
    /* A service that is not in trouble gave a forecast that is not stale, and
     * every bush has its outlook. */
    bool fresh;
    bool no_forecast; /* no service had one to give; a later turn may */
    bool in_place;    /* the bulletin that was made is published */
    bool unpublished; /* something could not be written where it belongs */
    int published;    /* files that changed */
    /* What went wrong on the way, sentences in the operation's language (they
     * stand on its page too); of a service's troubles the first one. */
    struct error_list troubles;
};

void turn_result_free(struct turn_result *result);

/* Takes the notes that wait in the spool into the store first, whatever
 * becomes of the rest (log_intake.h). Publishes into `folder` (made if
 * missing): bulletin.json, calendar.ics, and logbook.json once there is a log.
 * A publisher that fails does not stop the others. Returns 0, or -1 when no
 * bulletin could be made or written; the last good files then stay. What was
 * made is handed to the caller in *bulletin (may be NULL), written or not: a
 * mail can go where no file can. Else *bulletin is left as it was. */
int turn(const struct config *config, utc_s now,
         const struct transport *transport, struct store *store,
         const char *folder, struct turn_result *result,
         struct bulletin **bulletin, struct error *err);

/* The same in steps, for a loop with many turns under way: turn_begin; while
 * turn_round() gives a number, the caller has so many requests answered (in
 * zeroed answers that stay in place) and calls turn_take(); then turn_end(),
 * which is turn()'s second half and frees the turn. config and store must
 * outlive it, and so must models, which may be NULL: it then reads its own;
 * turn_drop() gives it up. */
struct turning;
struct turning *turn_begin(const struct config *config, utc_s now,
                           const struct transport *transport,
                           struct store *store, struct turn_models *models,
                           const char *folder, struct error *err);
int turn_round(struct turning *turning, struct transport_request **requests,
               struct transport_answer **answers);
void turn_take(struct turning *turning);
/* One of many operations: what it publishes is flushed with all else on its
 * file system (base/file_set.h). */
void turn_among_many(struct turning *turning);
int turn_end(struct turning *turning, struct turn_result *result,
             struct bulletin **bulletin, struct error *err);
void turn_drop(struct turning *turning); /* NULL is allowed */

#endif
