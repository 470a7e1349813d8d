/* The logbook in the turn: what waits in the spool is taken into the store,
 * the whole book is published as logbook.json, and only then is the spool
 * emptied, so that a reader always sees each note in one place or the other,
 * and a crash at any point loses none and takes none twice. */
#ifndef TURN_LOG_INTAKE_H
#define TURN_LOG_INTAKE_H

#include "config/config.h"
#include "logbook/logbook.h"
#include "store/store.h"
#include "tree/season.h"

/* *out holds the book as it stands (to be freed with logbook_free), empty if
 * the store cannot be read. What goes wrong is told in *troubles; a bad file
 * is set aside and named there. Returns the number of published files that
 * changed. */
int log_intake(const struct config *config, utc_s now, struct store *store,
               const char *folder, struct logbook *out,
               struct error_list *troubles);

/* What the log says of the sap of a bush in the season of `now`, for the
 * season model: signs that were noted, and draws that came out a class darker
 * than the one before and by 10 % of light or more (an assumption of ours).
 * At most SEASON_MAX_NOTES, the latest; returns their number. */
int log_season_notes(const struct log_view *view, const struct zone *zone,
                     const char *bush, utc_s now,
                     struct season_note out[SEASON_MAX_NOTES]);

#endif
