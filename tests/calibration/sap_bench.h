/* A trial of the sap calibration: a form, what is set otherwise, the seasons,
 * and how well it tells them. */
#ifndef CALIBRATION_SAP_BENCH_H
#define CALIBRATION_SAP_BENCH_H

#include "sap_fit.h"

/* One thing tried: what differs from the form as it is used. */
struct sap_trial {
    const char *words, *form;
    const char *key; /* a number set otherwise, or NULL */
    double value;
    struct sap_weather weather;
    double bucket_l;
};

struct sap_bench {
    struct sap_problem problem;
    struct sap_season seasons[SAP_SEASONS];
    struct free_number free[SAP_MAX_FREE];
};

struct sap_skill {
    double pearson, spearman;
};

/* Reads model and seasons. To be closed either way. */
int sap_bench_open(struct sap_bench *bench, const char *data,
                   const char *models, const struct sap_trial *trial,
                   struct error *err);
void sap_bench_close(struct sap_bench *bench);

/* Fits on all rows. */
double sap_bench_fit(struct sap_bench *bench);
/* Judges the model as it stands on a season. */
struct sap_skill sap_bench_judge(struct sap_bench *bench, int which);
/* Fits without a season and judges on it. */
struct sap_skill sap_bench_leave_out(struct sap_bench *bench, int which);
/* Fits without one of four blocks of each season, in turn, and judges the
 * seasons put together from the blocks left out. */
void sap_bench_blocks(struct sap_bench *bench,
                      struct sap_skill skill[SAP_SEASONS]);
/* Sets the litres of a full store so that the taps of 2013 give in sum what
 * was collected, with the model's other numbers as they stand. */
void sap_bench_full_store_l(struct sap_bench *bench);

#endif
