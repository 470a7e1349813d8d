/* The turn's end: what is told, and what is written for others to read. */
#ifndef TURN_PUBLISHING_H
#define TURN_PUBLISHING_H

#include "base/file_set.h"
#include "config/config.h"
#include "logbook/logbook.h"
#include "publish/bulletin.h"
#include "store/store.h"
#include "turn/turn.h"

/* Adds a sentence to the troubles, unless it is there already but for what
 * comes after its semicolon (the time of the next attempt). */
void turn_tell(struct turn_result *result, const char *words);

/* Writes bulletin.json, calendar.ics and index.html into the folder, each only
 * if it has changed, and puts them in place together (base/file_set.h); the
 * calendar's memory and the scores go to the store before that. The page tells
 * what the log holds of the season, and how many mails were given up lately, as
 * the store has it now: one that is given up later stands in the page of the
 * next turn. A calendar or page that fails is told in the result; -1 if the
 * bulletin could not be written. What cannot be flushed is not put in place,
 * none of it; only if it is the folder that cannot be flushed at the end, all
 * is in place, this is told and 0 returned. In each of these cases
 * result->unpublished is set; result->published counts what is in place. What
 * keeps back several files is told once, of the folder. */
int turn_publish(const struct config *config, const struct log_view *log,
                 const struct bulletin *bulletin, struct store *store,
                 const char *folder, enum file_set_flush flush,
                 struct turn_result *result, struct error *err);

#endif
