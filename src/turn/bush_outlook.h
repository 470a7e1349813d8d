/* The turn's second half for one bush: history and answers merged, the tree
 * run over the members, the days scored. */
#ifndef TURN_BUSH_OUTLOOK_H
#define TURN_BUSH_OUTLOOK_H

#include "config/config.h"
#include "logbook/logbook.h"
#include "outlook/outlook.h"
#include "store/store.h"
#include "turn/gather.h"
#include "turn/models.h"

enum {
    TURN_HISTORY_DAYS = 92, /* weather before now that the tree is run over */
    TURN_DAYS_BACK = 2,     /* civil days before today that are scored */
    TURN_DAYS_AHEAD = 10,   /* with today */
    TURN_MEMBERS = 31,      /* made where no service sends members */
    TURN_STALE_H = 18,      /* an issue this much older loses to others */
};

/* Days of past weather the store lacks, for the services that have it. */
int bush_past_days(struct store *store, const struct config *config, int bush,
                   utc_s now);

/* One's own thermometer, read once a turn; series NULL when there is none. */
struct bush_station {
    const struct series *series; /* borrowed */
};

/* The bush's trees as configured, but for when they were tapped: not at all. */
struct tree_site bush_site(const struct config_bush *bush);

/* What a bush's turn makes, all owned by the caller: bush_made_free. */
struct bush_made {
    struct outlook *outlook;
    struct series *weather;  /* merged: what the outlook was made from */
    struct members *members; /* its courses of the air temperature */
    struct tree_site site;
};

void bush_made_free(struct bush_made *made);

/* The seed belongs to the bush, not the hour, so that a forecast that has not
 * changed gives the same chances. */
uint64_t bush_seed(const struct config *config, int bush);

/* -1 only when nothing at all is known of the weather ahead, or the tree's
 * parameters cannot be read; *out is then empty. A store that fails is no end:
 * *doubt tells it, and the outlook is made without what it would have known.
 * `log` is what stands in the logbook: a tapping of this season that is logged
 * there holds, whatever the configuration says; a configured one of another
 * season is none. */
int bush_outlook(const struct config *config, int bush, utc_s now,
                 const struct zone *zone,
                 const struct gathering_result *gathered,
                 struct bush_station station, const struct log_view *log,
                 struct store *store, struct turn_models *models,
                 struct error *doubt, struct bush_made *out, struct error *err);

#endif
