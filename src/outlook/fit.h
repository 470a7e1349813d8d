/* A bush's own numbers, from what was collected in it.
 *
 * Three numbers of the model are moved: the volume of a tap, the time in which
 * the store runs out, the ageing of the taphole. Each is held to the model's
 * by a prior, normal in its logarithm; a season has a volume of its own beside
 * (the same trees give more in one year than in another), so that one season
 * cannot pin the volume. What is compared are square roots of litres a tap,
 * with errors of one size, whose size is learnt too. The most probable numbers
 * are found by Gauss and Newton's method, damped (Levenberg 1944, Quarterly of
 * Applied Mathematics 2:164-168); their spread is that of the normal
 * distribution about them. Deterministic. Pure: no clock, no I/O. */
#ifndef OUTLOOK_FIT_H
#define OUTLOOK_FIT_H

#include "base/civil_time.h"
#include "tree/tree.h"
#include "weather/series.h"

enum {
    FIT_MAX_ROWS = 2000,
    FIT_MAX_SEASONS = 8,
    FIT_LEAST_ROWS = 8, /* with fewer there is too little to learn from */
    FIT_FOLDS = 5
};

/* Deviations of the priors, in logarithms, assumptions of ours: bushes differ
 * by a factor of two in volume, a season by a fifth from the mean one, holes
 * age half as fast again or less, stores empty alike within a third. */
#define FIT_VOLUME_LOG_SD 0.7
#define FIT_SEASON_LOG_SD 0.2
#define FIT_STORE_TIME_LOG_SD 0.3
#define FIT_AGEING_LOG_SD 0.5

/* One collection: all that ran in (from, to]. */
struct fit_row {
    utc_s from, to;
    double sap_l;
    int season; /* index of its season */
};

struct fit_data {
    const struct series *series;
    struct tree_site site; /* its tapping is that of the season */
    int taps;
    const struct fit_row *rows; /* by time */
    int row_count;
    utc_s tapped_at[FIT_MAX_SEASONS];
    int season_count;
};

struct fit_bounds {
    double min, max;
};

/* A number before and after. */
struct fit_number {
    double prior, prior_log_sd;
    double min, max; /* bounds, as its file has them */
    double value, log_sd;
    double own_weight; /* share of what is known that the log gave, 0..1 */
};

/* How far a forecaster of collections is off. */
struct fit_skill {
    double mae_l; /* mean absolute error, all taps */
    double pearson;
    bool has_pearson;
};

struct fit {
    int rows, left_out; /* collections with weather, and without */
    bool enough;        /* rows >= FIT_LEAST_ROWS; else all is the prior */
    struct fit_number numbers[TREE_NUMBER_COUNT];
    double error_sd;                /* of the square roots, sqrt(L per tap) */
    struct fit_skill before, after; /* on the collections themselves */
    /* Each fifth told with numbers fitted on the others; has_cross false if
     * there is not enough. */
    bool has_cross;
    struct fit_skill cross;
};

/* `bounds` has a row a number. The model's numbers are the
 * prior; it is used as scratch and left as it was. */
void fit_make(struct tree_model *model, const struct fit_data *data,
              const struct fit_bounds bounds[TREE_NUMBER_COUNT],
              struct fit *out);

#endif
