/* Sentences by their patterns and values in the bulletin's JSON: "said" and
 * "notes_said" (docs/bulletin.md). Inside publish/ only. */
#ifndef PUBLISH_SAYING_JSON_H
#define PUBLISH_SAYING_JSON_H

#include "publish/bulletin_fields.h"

void action_said_write(cJSON *object, const struct bulletin *bulletin,
                       const struct bulletin_action *action);
/* What is not understood, of a later version, is left out: the words that
 * stand beside it then stay as they are. */
void action_said_read(const cJSON *object, struct bulletin_action *action);

void notes_said_write(cJSON *root, const struct bulletin *bulletin);
/* After the notes themselves. */
void notes_said_read(const cJSON *root, struct bulletin *bulletin);

#endif
