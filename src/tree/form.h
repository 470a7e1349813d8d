/* What a form of the model is to the loader, and what all forms share.
 *
 * To add a form: write its file with a `const struct tree_form`, declare it
 * below, add it to the table in tree_model.c, and give it models/NAME.json
 * with the keys of its rows. models/sap-SPECIES.json says by its `form` which
 * one a species is run with. */
#ifndef TREE_FORM_H
#define TREE_FORM_H

#include "tree/parameters.h"
#include "tree/tree.h"

/* Numbers of a species, models/sap-SPECIES.json. */
struct tree_species {
    double volume_share; /* sap of a tap, sugar maple is 1 */
};

/* Numbers of a way of gathering, models/gathering-METHOD.json. */
struct tree_gathering {
    double warm_from_c;         /* a taphole ages above this air temperature */
    double ageing_per_kkh;      /* per 1000 warm degree-hours */
    double fall_kpa_per_m;      /* suction of a metre of fall */
    double suction_max_kpa;     /* of pump and fall together */
    double flow_gain_per_kpa;   /* more flow from a thawed tree */
    double tap_spread;          /* of ln(flow) between the taps of a bush */
    double soil_feed_per_kpa_h; /* share of the store's room refilled from the
                                   soil under suction, per kPa and hour */
};

struct tree_form {
    const char *name;
    const struct parameter_row *rows;
    size_t numbers_size; /* of the struct the rows fill */
    /* The state of a dormant tree in balance with the first day, opaque;
     * state_free frees it. It may borrow model and site. */
    void *(*begin)(const struct tree_model *model, const struct tree_site *site,
                   const struct forcing *forcing);
    void *(*state_copy)(const void *state);
    void (*state_free)(void *state);
    /* Takes the state through the rows [from, to); out[0] is row `from`. What
     * an hour gives may hang on the state and on the forcing of this hour and
     * the next, on nothing else. */
    void (*run)(const struct tree_model *model, const struct tree_site *site,
                const struct forcing *forcing, int from, int to, void *state,
                struct tree_hour *out);
    /* As tree_course_run_airs, on a state that stays; NULL where running one
     * by one is as good. */
    void (*run_side_by_side)(const struct tree_model *model,
                             const struct tree_site *site,
                             const struct forcing *forcing,
                             const struct tree_air *air, int from, int to,
                             const void *state, double *const *sap_l_per_tap,
                             struct tree_hour *first);
};

struct tree_model {
    const struct tree_form *form;
    void *numbers; /* the form's own, owned */
    struct tree_species species;
    struct tree_gathering gathering;
    char *name;
    char *version;
    char digest[DIGEST_SIZE];
};

extern const struct tree_form two_node_form;
extern const struct tree_form stem_form;

/* Suction at the taphole below the air's pressure, of pump and fall. */
double tree_suction_kpa(const struct tree_gathering *gathering,
                        const struct tree_site *site);

/* A hole in the bark. */
struct taphole {
    bool open;      /* sap can run out at this time */
    double warm_kh; /* warm degree-hours it has seen, in thousands */
};

/* The hole during the hour that begins at `instant`, aged by the hour's air:
 * without a tap in the tree, a fresh one. */
void taphole_pass_hour(struct taphole *hole,
                       const struct tree_gathering *gathering,
                       const struct tree_site *site, utc_s instant,
                       double air_temp_c);
/* Conductance left, 0..1: exp(-ageing x warm degree-hours). */
double taphole_conductance(const struct taphole *hole,
                           const struct tree_gathering *gathering);

#endif
