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
    /* A run in sight is worth tapping for if no more days lie between it and
     * the day from which the season's weather makes tapping pay: half of the
     * six weeks that a hole is said to last (common practice, no source). */
    SEASON_EARLY_DAYS = 21,
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

/* The day by which the bush is tapped for the first run of its outlook that is
 * likelier than not, from today on: the day before it, or today; year 0: there
 * is none. */
struct civil_date season_tap_by(const struct outlook *outlook,
                                struct civil_date today);

/* Adds "tap" and "pull" of each bush with a season to the bulletin's actions.
 * A day once told is kept in the store and stays while the season allows it,
 * so that the calendar keeps still; but none for tapping stands after the
 * first run in sight, and one that has passed is told anew, after some days,
 * while a run is at hand. */
void make_season_actions(const struct config *config, struct store *store,
                         struct bulletin *bulletin);
/* A note, the last, says how many days the climate stands in for. */
void make_season_notes(struct bulletin *bulletin);

#endif
