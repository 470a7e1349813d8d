/* The plan's levels, or why there is no plan, in the bulletin's JSON:
 * docs/bulletin.md says what each key means. Inside publish/ only. */
#ifndef PUBLISH_BULLETIN_PLAN_H
#define PUBLISH_BULLETIN_PLAN_H

#include "publish/bulletin_fields.h"

/* Adds "plan"; nothing where nothing was planned. */
void bulletin_plan_write(cJSON *root, const struct bulletin *bulletin);
/* Adds "no_plan" where the operation lacks something for one. */
void bulletin_lack_write(cJSON *root, const struct bulletin *bulletin);
/* Both. Absent: bulletin->plan stays without hours. What was read stays in the
 * bulletin, for bulletin_free, also on -1. */
int bulletin_plan_read(const cJSON *root, struct bulletin *bulletin,
                       struct error *err);

#endif
