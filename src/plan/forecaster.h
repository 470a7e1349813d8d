/* Forecasts of a season past, as wrong as forecasts are: for judging the plan
 * (trial.h).
 *
 * What is "forecast" is the weather that came plus one course of error growth
 * with lead time (members.h); its members are made around that forecast the
 * same way, so that plans know how sure they may be but not how wrong they
 * are. Where it is not known what came, nothing is forecast. Deterministic for
 * a seed. */
#ifndef PLAN_FORECASTER_H
#define PLAN_FORECASTER_H

#include "plan/trial.h"
#include "tree/tree.h"
#include "weather/series.h"

enum { FORECASTER_MAX_BUSHES = 64 };

struct forecaster_bush {
    struct tree_model *model; /* borrowed */
    struct tree_site site;
    int taps;
    int stream; /* of the rules: a group's number, or group_count: tubing */
    utc_s pulled_at; /* nothing runs from then on; 0: never */
};

struct forecaster {
    const struct series *weather; /* as it came; borrowed */
    struct forecaster_bush bushes[FORECASTER_MAX_BUSHES];
    int bush_count;
    int streams;
    uint64_t seed;
    /* Of its own, all NULL at first; freed with forecaster_end. */
    struct forcing *forcing[FORECASTER_MAX_BUSHES];
    struct tree_course *past[FORECASTER_MAX_BUSHES]; /* up to the last `now` */
};

/* The season as it came, from the start of a civil day to a time (each held
 * to the whole days of the weather): allocated arrays in *season, freed with
 * plan_season_free. -1 if that is less than a day. */
int forecaster_season(struct forecaster *forecaster, const struct zone *zone,
                      utc_s from, utc_s to, struct plan_season *season);
void plan_season_free(struct plan_season *season);

/* Before the models are freed. */
void forecaster_end(struct forecaster *forecaster);

/* A plan_forecast (trial.h); self is the struct forecaster. Quickest for times
 * in order. */
void forecaster_forecast(void *self, utc_s now, int hours, int members,
                         double *air_temp_c, double *shortwave_w_m2,
                         double *sap_l);

#endif
