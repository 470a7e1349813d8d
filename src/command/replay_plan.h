/* `thawbell replay --plan`: the planner through a season of past weather. */
#ifndef COMMAND_REPLAY_PLAN_H
#define COMMAND_REPLAY_PLAN_H

#include "command/replay.h"
#include "config/config.h"
#include "plan/trial.h"

/* Planned on some courses of forecasts: their means, and what the luckiest and
 * the unluckiest of them did. */
struct replay_planned {
    int forecasts;
    double ran_l, kept_l, overflow_l, spoiled_l, held_l;
    double lit_days, night_hours, trips;
    double kept_least_l, kept_most_l;
    int lit_days_most;
    double unattended_hours; /* the most of any */
};

struct replay_plan {
    int year;                         /* of the season's spring */
    struct civil_date tapped, pulled; /* first and last day gathered */
    int days_unknown; /* of them, by the clock of the weather's file, with hours
                         of unknown air: nothing runs in those */
    struct replay_planned planned;
    struct plan_trial_result perfect, habit;
};

/* Tapping: as configured, moved to the season's year; else as the season
 * proposes. Pulling: in the middle of the days that it names, else with the
 * weather's end; what is left is boiled in the four days after. Members and
 * error of the forecasts: plan/forecaster.h. Says how far it is on standard
 * error, on a terminal, once it takes longer than a second. -1 with a sentence
 * that names file or key. */
int replay_plan_make(const struct config *config,
                     const struct replay_options *options,
                     const struct replay_weather *weather,
                     const struct replay_seasons *seasons,
                     struct replay_plan *out, struct error *err);

cJSON *replay_plan_json(const struct replay_plan *plan);
void replay_plan_show(const struct replay_plan *plan, enum unit_system units);

#endif
