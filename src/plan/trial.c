#include "plan/trial.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "plan/search.h"
#include "weather/members.h"

enum {
    NOON_MIN = 12 * 60,
    EVENING_MIN = 17 * 60,
    HABIT_MIN = 3 * 60, /* less is no evening */
    HABIT_EARLY_MIN = 6 * 60,
    HABIT_LEAST_H = 1, /* of sap: half an hour to start, half to finish */
    HOURS_AHEAD = PLAN_TRIAL_DAYS * 24 + 1,
    FORESEEN_DAYS = 6, /* lived before the next plan of foresight */
    HOURS_FORESEEN = PLAN_MAX_DAYS * 24 + 1
};

/* Foresight is the yardstick for sap kept: toil weighs next to nothing. */
enum { FORESEEN_TRIES = 2 };
static const double foreseen_toil[FORESEEN_TRIES] = {0.05, 0.4};

struct trial {
    const struct plan_rules *rules;
    const struct plan_costs *costs;
    const struct plan_season *season;
    enum plan_policy policy;
    plan_forecast forecast;
    void *self;
    int members, streams;
    struct plan_time time; /* of the day's planning */
    struct plan_stock stock;
    double tank_temp_c[PLAN_MAX_TANKS];          /* as it came */
    double *air_temp_c, *shortwave_w_m2, *sap_l; /* as planned with */
    int hours;                                   /* of these */
};

static int hours_left(const struct trial *trial, int row)
{
    int left = trial->season->hours - row;
    int ahead = trial->policy == PLAN_PERFECT ? HOURS_FORESEEN : HOURS_AHEAD;

    return left < ahead ? left : ahead;
}

/* The truth from `row` on, laid out as a flow of one member. */
static void copy_truth(const struct trial *trial, int row, int hours,
                       double *air_temp_c, double *shortwave_w_m2,
                       double *sap_l)
{
    const struct plan_season *season = trial->season;
    size_t size = (size_t)hours * sizeof *sap_l;

    memcpy(air_temp_c, season->air_temp_c + row, size);
    memcpy(shortwave_w_m2, season->shortwave_w_m2 + row, size);
    for (int stream = 0; stream < trial->streams; stream++)
        memcpy(sap_l + stream * hours,
               season->sap_l + stream * season->hours + row, size);
}

/* From 17:00 on; whose hours end soon after that takes the last six. */
static int habit_min(const struct plan_rules *rules)
{
    int early = rules->attended_to_min - HABIT_EARLY_MIN;

    return rules->attended_to_min >= EVENING_MIN + HABIT_MIN ? EVENING_MIN
           : early < rules->attended_from_min ? rules->attended_from_min
                                              : early;
}

static struct plan_day_choice habit_choice(const struct trial *trial)
{
    struct plan_day_choice choice = {{-1, -1}, -1, {0, 0}};
    int from_min = habit_min(trial->rules);

    for (int row = trial->time.day_first[0]; row < trial->time.day_first[1];
         row++)
        if (trial->time.hours[row].attended &&
            trial->time.hours[row].minute >= from_min) {
            choice.collect_at[0] = (short)row;
            choice.boil_from = (short)row;
            break;
        }
    return choice;
}

/* Lays out the truth from `row` on. */
static void lay_truth(struct trial *trial, int row, int days)
{
    int hours = hours_left(trial, row);
    utc_s now = trial->season->start + (utc_s)row * SECONDS_PER_HOUR;

    trial->hours = hours;
    copy_truth(trial, row, hours, trial->air_temp_c, trial->shortwave_w_m2,
               trial->sap_l);
    plan_time_fill(&trial->time, trial->rules, trial->season->zone, now, days,
                   trial->air_temp_c, trial->shortwave_w_m2, hours, NULL,
                   trial->tank_temp_c);
}

static struct plan_day_choice planned_choice(struct trial *trial, int row)
{
    struct plan_day_choice course[PLAN_MAX_DAYS];
    int hours = hours_left(trial, row);
    utc_s now = trial->season->start + (utc_s)row * SECONDS_PER_HOUR;
    struct plan_flow flow = {trial->members, trial->streams, hours,
                             trial->sap_l};

    trial->forecast(trial->self, now, hours, trial->members, trial->air_temp_c,
                    trial->shortwave_w_m2, trial->sap_l);
    plan_time_fill(&trial->time, trial->rules, trial->season->zone, now,
                   PLAN_TRIAL_DAYS, trial->air_temp_c, trial->shortwave_w_m2,
                   hours, members_error_sd_k, trial->tank_temp_c);
    plan_search(trial->rules, trial->costs, &trial->time, &flow, &trial->stock,
                course);
    return course[0];
}

static bool add_deeds(const struct trial *trial, const struct plan_deed *deeds,
                      int from, int to, struct plan_trial_result *result)
{
    bool lit = false;

    for (int row = from; row < to; row++) {
        if (!deeds[row - from].boiling)
            continue;
        lit = true;
        if (!trial->time.hours[row].attended)
            result->unattended_hours += 1;
    }
    return lit;
}

/* The rows [from, to) of one civil day as they came, under the choice.
 * Returns whether the fire burnt. */
static bool live_rows(struct trial *trial, int from, int to,
                      const struct plan_day_choice *choice,
                      struct plan_trial_result *result)
{
    struct plan_deed deeds[32];
    struct plan_flow flow = {1, trial->streams, trial->hours, trial->sap_l};

    memset(deeds, 0, sizeof deeds);
    plan_stock_rows(&trial->stock, trial->rules, trial->costs, &trial->time,
                    from, to, choice, &flow, 0, deeds);
    if (to > from)
        memcpy(trial->tank_temp_c, trial->time.hours[to - 1].tank_temp_c,
               sizeof trial->tank_temp_c);
    return add_deeds(trial, deeds, from, to, result);
}

/* The row at which the operator looks again: as the attended time begins, at
 * noon, in the evening, or at the day's end. */
static int look_again(const struct trial *trial)
{
    const struct plan_time *time = &trial->time;

    for (int row = 1; row < time->day_first[1]; row++)
        if ((time->hours[row].attended && !time->hours[row - 1].attended) ||
            time->hours[row].minute == NOON_MIN ||
            time->hours[row].minute == EVENING_MIN)
            return row;
    return time->day_first[1];
}

/* A day on forecasts. While nobody is there, nothing is done. */
static int live_forecast_day(struct trial *trial, int row,
                             struct plan_trial_result *result)
{
    bool lit = false, over = false;
    int hours = 0;

    while (!over && row + hours < trial->season->hours) {
        struct plan_day_choice choice = {{-1, -1}, -1, {0, 0}};
        int rows;

        lay_truth(trial, row + hours, PLAN_TRIAL_DAYS);
        if (trial->time.hours[0].attended) {
            choice = planned_choice(trial, row + hours);
            lay_truth(trial, row + hours, PLAN_TRIAL_DAYS);
        }
        rows = look_again(trial);
        lit |= live_rows(trial, 0, rows, &choice, result);
        over = rows == trial->time.day_first[1];
        hours += rows;
    }
    result->lit_days += lit;
    return hours;
}

/* What ran in the day before this row of the season. */
static double ran_before_l(const struct trial *trial, int row)
{
    const struct plan_season *season = trial->season;
    double sum = 0;

    for (int stream = 0; stream < trial->streams; stream++)
        for (int hour = row > 24 ? row - 24 : 0; hour < row; hour++)
            sum += season->sap_l[stream * season->hours + hour];
    return sum;
}

static int live_habit_day(struct trial *trial, int row,
                          struct plan_trial_result *result)
{
    const struct plan_rules *rules = trial->rules;
    struct plan_rules evening = *rules;
    struct plan_day_choice choice;

    lay_truth(trial, row, 1);
    choice = habit_choice(trial);
    if (choice.boil_from >= 0 &&
        ran_before_l(trial, row + choice.boil_from) >= trial->season->run_l)
        evening.smallest_boil_l =
            fmin(rules->smallest_boil_l, HABIT_LEAST_H * rules->sap_rate_l_h);
    trial->rules = &evening;
    result->lit_days +=
        live_rows(trial, 0, trial->time.hour_count, &choice, result);
    trial->rules = rules;
    return trial->time.hour_count;
}

/* Who knows what comes plans as far as can be, and goes on planning before the
 * end of it is near. */
static int live_foreseen_days(struct trial *trial, int row,
                              struct plan_trial_result *result)
{
    struct plan_day_choice course[PLAN_MAX_DAYS];
    const struct plan_time *time = &trial->time;
    struct plan_flow flow;
    int days;

    lay_truth(trial, row, PLAN_MAX_DAYS);
    flow = (struct plan_flow){1, trial->streams, trial->hours, trial->sap_l};
    plan_search(trial->rules, trial->costs, time, &flow, &trial->stock, course);
    days = row + time->hour_count >= trial->season->hours ? time->day_count
                                                          : FORESEEN_DAYS;
    for (int day = 0; day < days; day++)
        result->lit_days +=
            live_rows(trial, time->day_first[day], time->day_first[day + 1],
                      &course[day], result);
    return time->day_first[days];
}

static int live_on(struct trial *trial, int row,
                   struct plan_trial_result *result)
{
    switch (trial->policy) {
    case PLAN_HABIT:
        return live_habit_day(trial, row, result);
    case PLAN_PERFECT:
        return live_foreseen_days(trial, row, result);
    case PLAN_ON_FORECAST:
        break;
    }
    return live_forecast_day(trial, row, result);
}

static void trial_alloc(struct trial *trial)
{
    size_t hours = HOURS_FORESEEN;

    trial->air_temp_c = mem_alloc(hours, sizeof(double));
    trial->shortwave_w_m2 = mem_alloc(hours, sizeof(double));
    trial->sap_l =
        mem_alloc(hours * (size_t)trial->streams * (size_t)(trial->members + 1),
                  sizeof(double));
}

static void trial_free(struct trial *trial)
{
    free(trial->air_temp_c);
    free(trial->shortwave_w_m2);
    free(trial->sap_l);
    free(trial);
}

/* Lives the season from empty tanks on. */
static struct plan_trial_result live_season(struct trial *trial)
{
    struct plan_trial_result result = {0};
    const struct plan_stock *stock = &trial->stock;

    memset(&trial->stock, 0, sizeof trial->stock);
    memset(trial->tank_temp_c, 0, sizeof trial->tank_temp_c);
    for (int row = 0; row < trial->season->hours;)
        row += live_on(trial, row, &result);
    result.ran_l = stock->ran_l;
    result.kept_l = stock->boiled_l;
    result.overflow_l = stock->overflow_l;
    result.spoiled_l = stock->spoiled_l;
    result.night_hours = stock->night_h;
    result.trips = stock->trips;
    result.held_l = plan_stock_in_buckets_l(stock, trial->rules) +
                    plan_stock_in_tanks_l(stock, trial->rules);
    return result;
}

/* The better of two searches: neither is exact. */
static struct plan_trial_result live_foreseen(struct trial *trial,
                                              const struct plan_costs *costs)
{
    struct plan_trial_result best = {0};

    for (int i = 0; i < FORESEEN_TRIES; i++) {
        struct plan_costs foreseen = *costs;
        struct plan_trial_result result;

        foreseen.light_up *= foreseen_toil[i];
        foreseen.early_per_h = 0; /* he knows already */
        foreseen.trip *= foreseen_toil[i];
        foreseen.night_per_h *= foreseen_toil[i];
        foreseen.held_per_life *= foreseen_toil[i];
        foreseen.ice_per_l *= foreseen_toil[i];
        trial->costs = &foreseen;
        result = live_season(trial);
        if (result.kept_l > best.kept_l)
            best = result;
    }
    trial->costs = costs;
    return best;
}

struct plan_trial_result
plan_trial(const struct plan_rules *rules, const struct plan_costs *costs,
           const struct plan_season *season, enum plan_policy policy,
           plan_forecast forecast, void *self, int members)
{
    struct trial *trial = mem_alloc(1, sizeof *trial);
    struct plan_trial_result result;

    trial->rules = rules;
    trial->costs = costs;
    trial->season = season;
    trial->policy = policy;
    trial->forecast = forecast;
    trial->self = self;
    trial->members = members;
    trial->streams = rules->group_count + 1;
    trial_alloc(trial);
    result = policy == PLAN_PERFECT ? live_foreseen(trial, costs)
                                    : live_season(trial);
    trial_free(trial);
    return result;
}
