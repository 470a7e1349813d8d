/* The bud calibration's data and fits: see calibrate_buds.c. */
#ifndef CALIBRATE_BUDS_H
#define CALIBRATE_BUDS_H

#include "tree/season.h"

enum {
    FIRST_YEAR = 1990,
    YEARS = 16,
    KINDS = 2, /* sugar maple, red maple */
    STEP_YEAR = 2002,
    MAX_SWELLS = 16 * 5
};

#define SITE_LATITUDE 42.53 /* Petersham MA, 340 m: docs/model-season.md */
#define SITE_ELEVATION_M 340.0

/* A tree's bud swell lies after `after` and by `by` (positions in the
 * season); after is -1 if it had swollen at the first visit. */
struct swell {
    int year;
    double after, by;
};

struct bud_data {
    struct daily *daily;
    double bud_break[KINDS][YEARS]; /* positions in the season */
    struct swell swells[KINDS][MAX_SWELLS];
    int swell_count[KINDS];
};

int bud_data_read(const char *folder, struct bud_data *out, struct error *err);
void bud_data_free(struct bud_data *data);

/* The record with the days before STEP_YEAR made warmer by step_k. Owned by
 * the caller. */
struct daily *bud_data_stepped(const struct bud_data *data, double step_k);

/* Harmonics of the year by least squares over the known days. */
void climate_fit(const struct daily *daily, struct season_general *general);
/* Standard deviation of the days' departures and their correlation from one
 * day to the next, January to May. */
void anomaly_fit(const struct daily *daily, struct season_general *general);

#endif
