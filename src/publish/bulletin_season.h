/* The season of a bush in the bulletin's JSON: docs/bulletin.md says what each
 * key means. Inside publish/ only. */
#ifndef PUBLISH_BULLETIN_SEASON_H
#define PUBLISH_BULLETIN_SEASON_H

#include "publish/bulletin_fields.h"

/* Adds "season" to a bush's object; nothing where the season is not known. */
void bulletin_season_write(cJSON *bush_object, const struct bulletin *bulletin,
                           const struct bulletin_bush *bush);
/* Absent: bush->season stays NULL. What was read stays in the bush, for
 * bulletin_free, also on -1. */
int bulletin_season_read(const cJSON *bush_object, struct bulletin_bush *bush,
                         struct error *err);

#endif
