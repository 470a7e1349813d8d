/* How the season of each bush stands, and what there is to do about it: tap,
 * pull. */
#ifndef TURN_MAKE_SEASON_H
#define TURN_MAKE_SEASON_H

#include "config/config.h"
#include "logbook/logbook.h"
#include "publish/bulletin.h"
#include "store/store.h"
#include "turn/bush_outlook.h"

enum {
    SEASON_TOLD_AHEAD_DAYS = 10, /* tapping and pulling are actions from then */
    SEASON_STEADY_DAYS = 3       /* a told day of tapping stays that near */
};

/* The season of the bush into row->season, from the merged weather and, for
 * what of it since 1 January lies further back, the store's. Days that no
 * record has are filled by the climate of the place. Between 1 August and 31
 * October there is no season. -1 and a sentence if the season's parameters
 * cannot be read; a store that fails is told in *doubt. */
int make_season(const struct config *config, int bush,
                const struct bush_made *made, const struct log_view *log,
                struct store *store, struct turn_models *models,
                const struct bulletin *bulletin, struct bulletin_bush *row,
                struct error *doubt, struct error *err);

/* Adds "tap" and "pull" of each bush with a season to the bulletin's actions.
 * A day once told is kept in the store and stays while the season allows it,
 * so that the calendar keeps still. */
void make_season_actions(const struct config *config, struct store *store,
                         struct bulletin *bulletin);
/* A note, the last, says how many days the climate stands in for. */
void make_season_notes(struct bulletin *bulletin);

#endif
