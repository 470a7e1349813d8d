/* Fits free numbers of a form to seasons of collections. */
#ifndef CALIBRATION_SAP_FIT_H
#define CALIBRATION_SAP_FIT_H

#include "sap_seasons.h"
#include "tree/form.h"

enum { SAP_SEASONS = 2, SAP_MAX_FREE = 12 };

/* A number that is free, with what is believed of it before the data: its
 * logarithm is normal about ln(centre) with this deviation. "taphole ageing"
 * is the gathering's ageing_per_kkh, all others are keys of the form. */
struct free_number {
    const char *key;
    double centre, log_sd;
};

struct sap_problem {
    struct tree_model *model; /* its numbers are the working copy */
    const struct free_number *free;
    int free_count;
    const struct sap_season *seasons;          /* SAP_SEASONS of them */
    double weights[SAP_SEASONS][SAP_MAX_ROWS]; /* 0: left out */
    double bucket_l;
    struct tree_hour *hours; /* scratch */
};

/* Sets a number of the model by its key; false if there is none. */
bool sap_set_number(struct tree_model *model, const char *key, double value);
double sap_get_number(const struct tree_model *model, const char *key);

/* Weighted Pearson correlation; 0 if one of them does not vary. */
double sap_pearson(const double *a, const double *b, const double *weight,
                   int count);
/* Rank correlation with mean ranks for ties. */
double sap_spearman(const double *a, const double *b, int count);

/* Puts the numbers that fit best into problem->model and returns the loss:
 * 1 - r of the volumes and 1 - r of their square roots, half each, seasons
 * weighted by the root of their rows, and 0.015 times the squared distance
 * from the centres in deviations. Nelder and Mead 1965, Computer Journal
 * 7:308-313, restarted once from where it stopped. Deterministic. */
double sap_fit(struct sap_problem *problem);

#endif
