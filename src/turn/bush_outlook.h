/* The turn's second half for one bush: history and answers merged, the tree
 * run over the members, the days scored. */
#ifndef TURN_BUSH_OUTLOOK_H
#define TURN_BUSH_OUTLOOK_H

#include "config/config.h"
#include "logbook/logbook.h"
#include "outlook/outlook.h"
#include "store/store.h"
#include "turn/gather.h"

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

/* -1 only when nothing at all is known of the weather ahead, or the tree's
 * parameters cannot be read. A store that fails is no end: *doubt tells it,
 * and the outlook is made without what it would have known. `log` is what
 * stands in the logbook: a tapping of this season that is logged there holds,
 * whatever the configuration says. *outlook and the merged weather that it was
 * made from are handed to the caller. */
int bush_outlook(const struct config *config, int bush, utc_s now,
                 const struct zone *zone,
                 const struct gathering_result *gathered,
                 struct bush_station station, const struct log_view *log,
                 struct store *store, struct error *doubt, struct outlook **outlook,
                 struct series **weather, struct error *err);

#endif
