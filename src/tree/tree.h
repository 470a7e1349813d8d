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

/* What the model needs to know of a bush. The sap is what runs out of the
 * hole: what a full bucket spills is for the plan to count, for it depends on
 * when the bucket is emptied. */
struct tree_site {
    double latitude, longitude; /* degrees */
    double elevation_m;
    enum species species;
    enum gathering gathering;
    double vacuum_kpa; /* pump, below the air's pressure; 0 without */
    double fall_m;     /* of the tubing, for natural vacuum; 0 for buckets */
    double bucket_l;   /* what a bucket holds; 0: no limit */
    bool tapped;       /* false: the flow is what a fresh hole would give */
    utc_s tapped_at;   /* no flow before, the hole ages from then on */
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

/* Loads models/sap-SPECIES.json, models/gathering-METHOD.json and the file of
 * the form that the first names, models/FORM.json. A file that `folder` has
 * goes before the one that comes with the program; NULL: the program's alone.
 * A file that is missing, a key that is unknown, missing or out of its range,
 * a wrong unit: refused, naming file and key. */
int tree_model_load(const char *folder, enum species species,
                    enum gathering gathering, struct tree_model **out,
                    struct error *err);
/* The same with a form named instead of the one the species' file names, to
 * compare forms: "two-node". How to add a form: tree/form.h. */
int tree_model_load_form(const char *folder, const char *form,
                         enum species species, enum gathering gathering,
                         struct tree_model **out, struct error *err);
void tree_model_free(struct tree_model *model);
/* Of the form: "two-node". Borrowed, as are the others. */
const char *tree_model_name(const struct tree_model *model);
/* Versions of the three files, "1/1/1". */
const char *tree_model_version(const struct tree_model *model);
/* SHA-256 of the three files, hex. */
const char *tree_model_digest(const struct tree_model *model);

/* The numbers that a bush's own log may move; all forms have them. */
enum tree_number {
    TREE_VOLUME_SHARE,   /* sap of a tap, beside sugar maple's; species */
    TREE_STORE_TIME_H,   /* in which the store would run out; form */
    TREE_AGEING_PER_KKH, /* of the taphole, per 1000 K h; gathering */
    TREE_NUMBER_COUNT
};
double tree_model_number(const struct tree_model *model,
                         enum tree_number number);
void tree_model_set_number(struct tree_model *model, enum tree_number number,
                           double value);
/* Its key ("store_time_h", borrowed), and the file it stands in
 * ("stem.json"; the caller frees). */
const char *tree_number_key(enum tree_number number);
char *tree_number_file(const struct tree_model *model, enum species species,
                       enum gathering gathering, enum tree_number number);

/* Runs the model over the forcing; `out` has forcing->hours rows. The state
 * at the start is a dormant tree in balance with the first day; give at least
 * some weeks of past weather for the taphole and the store to be right. */
void tree_run(const struct tree_model *model, const struct tree_site *site,
              const struct forcing *forcing, struct tree_hour *out);

/* A tree on its way through the hours, for courses of the weather that share
 * their past: run it up to where they part, then a copy of it for each. */
struct tree_course; /* opaque; freed with tree_course_free */

/* At row 0, as tree_run begins. Model and site are borrowed. */
struct tree_course *tree_course_begin(const struct tree_model *model,
                                      const struct tree_site *site,
                                      const struct forcing *forcing);
struct tree_course *tree_course_copy(const struct tree_course *course);
void tree_course_free(struct tree_course *course);
/* Takes it on to row `to`; out[0] is the row it stood at. The forcing may
 * differ from the one before from the row on that it stands at: an hour is run
 * with its own air and the next hour's. The rows are those of tree_run to the
 * last bit. */
void tree_course_run(struct tree_course *course, const struct forcing *forcing,
                     int to, struct tree_hour *out);
int tree_course_row(const struct tree_course *course);

/* Airs that a forcing may have from some row on: temp_c[i][0] is that of the
 * row a course stands at, and there is one for each row up to the last. */
struct tree_air {
    int count;
    const double *const *temp_c;
};
/* From where a course stands up to row `to` through each of the airs, instead
 * of the forcing's; the course stays. sap_l_per_tap[i][0] is what runs in the
 * row it stands at, as tree_course_run on a copy would tell, to the last bit;
 * NULL for an air of which it is not asked. `first`, which may be NULL, gets
 * the rows of the first air in full. */
void tree_course_run_airs(const struct tree_course *course,
                          const struct forcing *forcing,
                          const struct tree_air *air, int to,
                          double *const *sap_l_per_tap,
                          struct tree_hour *first);

/* What the bucket of a mean tap still holds of what ran into it since it was
 * emptied, litres; the rest went over its rim. Taps of a bush differ, so some
 * run over before the mean one is full: the mean over a lognormal spread.
 * bucket_l 0: no limit. */
double tree_kept_l_per_tap(const struct tree_model *model, double ran_l_per_tap,
                           double bucket_l);

/* Two published day rules, as baselines, from the civil day's extremes; litres
 * per tap, none or those of an ordinary collecting day in buckets.
 * Rule A: a run when the minimum is below -1.1 C and the maximum above 2.2 C
 * (attributed to Skinner et al. 2010, Climatic Change 100:685-702; the exact
 * thresholds from memory).
 * Rule B: a day that crosses +3 C, the threshold that told production weeks
 * best of those from -3 to +5 C in Houle et al. 2015, PLoS ONE
 * 10(12):e0144844; they count such days by the week, here each one scores. */
double day_rule_a_l_per_tap(double min_c, double max_c);
double day_rule_b_l_per_tap(double min_c, double max_c);

#endif
