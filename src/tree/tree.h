/* The tree: from hourly weather to hourly sap, and how it stands.
 *
 * Parameters are read at run time from models/ *.json (every number with unit,
 * allowed range and source); a form ("two-node", "stem") is chosen by the
 * model file. Pure: no clock, no I/O but the loader. */
#ifndef TREE_TREE_H
#define TREE_TREE_H

#include <stdbool.h>

#include "base/civil_time.h"
#include "base/digest.h"
#include "base/error.h"
#include "base/trade.h"
#include "weather/forcing.h"

/* What the model needs to know of a bush. */
struct tree_site {
    double latitude, longitude; /* degrees */
    double elevation_m;
    enum species species;
    enum gathering gathering;
    double vacuum_kpa; /* pump, below the air's pressure; 0 without */
    double fall_m;     /* of the tubing, for natural vacuum; 0 for buckets */
    double bucket_l;   /* what a bucket holds; 0: no limit */
    bool tapped;       /* false: not yet, the flow is what would run */
    utc_s tapped_at;
};

/* One hour. */
struct tree_hour {
    double sap_l_per_tap; /* what ran in this hour, >= 0 */
    float charge;         /* share of the store that is full, 0..1 */
    float branch_ice;     /* share frozen, 0..1 */
    float trunk_ice;      /* outer trunk, share frozen, 0..1 */
    float wood_temp_c;    /* outer trunk */
    float taphole;        /* conductance left of a fresh hole, 0..1 */
};

struct tree_model; /* opaque; species and gathering parameters together */

/* Loads species and gathering parameters from the data folder's models/.
 * `folder` NULL: the models that come with the program. */
int tree_model_load(const char *folder, enum species species,
                    enum gathering gathering, struct tree_model **out,
                    struct error *err);
void tree_model_free(struct tree_model *model);
const char *tree_model_name(const struct tree_model *model);    /* borrowed */
const char *tree_model_version(const struct tree_model *model); /* borrowed */
const char *tree_model_digest(const struct tree_model *model);  /* hex */

/* Runs the model over the forcing; `out` has forcing->hours rows. The state
 * at the start is a dormant tree in balance with the first day; give at least
 * some weeks of past weather for the taphole and the store to be right. */
void tree_run(const struct tree_model *model, const struct tree_site *site,
              const struct forcing *forcing, struct tree_hour *out);

/* The two published day rules, as baselines, from the day's extremes.
 * Rule A: a run when the minimum is below -1.1 C and the maximum above 2.2 C
 * (attributed to Skinner et al. 2010, Climatic Change 100:685-702; the exact
 * thresholds from memory). Rule B: see day_rules.c. Volumes are per tap,
 * scaled to the literature's ordinary run day. */
double day_rule_a_l_per_tap(double min_c, double max_c);
double day_rule_b_l_per_tap(double min_c, double max_c, double mean_c);

#endif
