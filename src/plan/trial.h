/* A whole season on trial: the same trees, tanks and hours under three ways
 * of deciding. */
#ifndef PLAN_TRIAL_H
#define PLAN_TRIAL_H

#include "plan/stock.h"

enum plan_policy {
    PLAN_ON_FORECAST, /* planned anew as the attended time begins, at noon and
                         at 17:00, on the forecast of that hour */
    PLAN_PERFECT,     /* on what will come, for the most sap: the yardstick */
    /* Collect and boil every evening that it ran, from 17:00 or, who has less
     * than three hours from then, in the last six of the attended time. It is
     * not asked whether the fire is worth it: where it ran in the day before
     * (run_l), an hour of the fire's sap is enough, which its starting and its
     * finishing take. On other evenings what is left over is boiled too if it
     * makes a smallest boil. */
    PLAN_HABIT
};

enum { PLAN_TRIAL_DAYS = 10 /* planned ahead each morning */ };

/* The season as it came. Hours from the first of a civil day on. */
struct plan_season {
    const struct zone *zone;
    utc_s start;
    int hours;
    double *air_temp_c, *shortwave_w_m2; /* an hour each */
    double *sap_l; /* [stream][hour], group_count + 1 streams */
    double run_l;  /* what all streams bring in a day on which it ran */
};

/* Fills what is forecast at `now` for the hours from there on: air and sun
 * [hours], flow [member][stream][hour]; all allocated by the caller for
 * `members` members. */
typedef void (*plan_forecast)(void *self, utc_s now, int hours, int members,
                              double *air_temp_c, double *shortwave_w_m2,
                              double *sap_l);

struct plan_trial_result {
    double ran_l, kept_l, overflow_l, spoiled_l, held_l;
    int lit_days;
    double night_hours;      /* at the fire from 20:00 on */
    double unattended_hours; /* at the fire outside the attended time */
    int trips;
};

/* forecast and members serve PLAN_ON_FORECAST alone. */
struct plan_trial_result
plan_trial(const struct plan_rules *rules, const struct plan_costs *costs,
           const struct plan_season *season, enum plan_policy policy,
           plan_forecast forecast, void *self, int members);

#endif
