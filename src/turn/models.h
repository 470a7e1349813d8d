/* The models of the tree and of the season, read once for many turns: a turn's
 * share of reading and checking five files was a tenth of its time.
 *
 * Whether a file has changed is looked at once a second: each one's place,
 * length and time, of the folders that operations name and of the program's
 * own. Then all are read anew. */
#ifndef TURN_MODELS_H
#define TURN_MODELS_H

#include "tree/season.h"
#include "tree/tree.h"

struct turn_models;

struct turn_models *turn_models_new(void);
void turn_models_free(struct turn_models *models); /* NULL is allowed */

/* As tree_model_load and season_model_load; borrowed until one of the two is
 * called again. NULL and a sentence if it cannot be read. */
const struct tree_model *turn_models_tree(struct turn_models *models, utc_s now,
                                          const char *folder,
                                          enum species species,
                                          enum gathering gathering,
                                          struct error *err);
const struct season_model *turn_models_season(struct turn_models *models,
                                              utc_s now, const char *folder,
                                              enum species species,
                                              struct error *err);

#endif
