#include "plan/trial.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "plan/search.h"
#include "weather/members.h"

enum {
    NOON_MIN = 12 * 60,
    EVENING_MIN = 17 * 60,
    HOURS_AHEAD = PLAN_TRIAL_DAYS * 24 + 1
};

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
    double *air_temp_c, *shortwave_w_m2, *sap_l; /* as planned with */
};

struct live_day {
    bool lit, over;
};

static int hours_left(const struct trial *trial, int row)
{
    int left = trial->season->hours - row;

    return left < HOURS_AHEAD ? left : HOURS_AHEAD;
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

static struct plan_day_choice habit_choice(const struct trial *trial)
{
    struct plan_day_choice choice = {{-1, -1}, -1};

    for (int row = trial->time.day_first[0]; row < trial->time.day_first[1];
         row++)
        if (trial->time.hours[row].attended &&
            trial->time.hours[row].minute >= EVENING_MIN) {
            choice.collect_at[0] = (short)row;
            choice.boil_from = (short)row;
            break;
        }
    return choice;
}

static struct plan_day_choice planned_choice(struct trial *trial, int row)
{
    struct plan_day_choice course[PLAN_MAX_DAYS];
    int hours = hours_left(trial, row);
    int members = trial->policy == PLAN_PERFECT ? 1 : trial->members;
    utc_s now = trial->season->start + (utc_s)row * SECONDS_PER_HOUR;
    struct plan_flow flow = {members, trial->streams, hours, trial->sap_l};

    if (trial->policy == PLAN_PERFECT)
        copy_truth(trial, row, hours, trial->air_temp_c, trial->shortwave_w_m2,
                   trial->sap_l);
    else
        trial->forecast(trial->self, now, hours, members, trial->air_temp_c,
                        trial->shortwave_w_m2, trial->sap_l);
    plan_time_fill(&trial->time, trial->rules, trial->season->zone, now,
                   PLAN_TRIAL_DAYS, trial->air_temp_c, trial->shortwave_w_m2,
                   hours,
                   trial->policy == PLAN_PERFECT ? NULL : members_error_sd_k);
    plan_search(trial->rules, trial->costs, &trial->time, &flow, &trial->stock,
                course);
    return course[0];
}

static void add_deeds(const struct trial *trial, const struct plan_deed *deeds,
                      int rows, struct live_day *day,
                      struct plan_trial_result *result)
{
    for (int row = 0; row < rows; row++) {
        if (!deeds[row].boiling)
            continue;
        day->lit = true;
        if (!trial->time.hours[row].attended)
            result->unattended_hours += 1;
    }
}

/* The row at which the operator looks again: noon, or the day's end. */
static int look_again(const struct trial *trial)
{
    const struct plan_time *time = &trial->time;

    if (trial->policy == PLAN_HABIT)
        return time->day_first[1];
    for (int row = 1; row < time->day_first[1]; row++)
        if (time->hours[row].minute == NOON_MIN)
            return row;
    return time->day_first[1];
}

/* From `row` to noon or midnight as it came, under the choice made at its
 * start. Returns the hours lived. */
static int live_part(struct trial *trial, int row, struct live_day *day,
                     struct plan_trial_result *result)
{
    int hours = hours_left(trial, row), rows;
    utc_s now = trial->season->start + (utc_s)row * SECONDS_PER_HOUR;
    struct plan_deed deeds[32];
    struct plan_flow flow = {1, trial->streams, hours, trial->sap_l};
    struct plan_day_choice choice = {{-1, -1}, -1};

    memset(deeds, 0, sizeof deeds);
    if (trial->policy != PLAN_HABIT)
        choice = planned_choice(trial, row);
    copy_truth(trial, row, hours, trial->air_temp_c, trial->shortwave_w_m2,
               trial->sap_l);
    plan_time_fill(&trial->time, trial->rules, trial->season->zone, now,
                   PLAN_TRIAL_DAYS, trial->air_temp_c, trial->shortwave_w_m2,
                   hours, NULL);
    if (trial->policy == PLAN_HABIT)
        choice = habit_choice(trial);
    rows = look_again(trial);
    plan_stock_rows(&trial->stock, trial->rules, trial->costs, &trial->time, 0,
                    rows, &choice, &flow, 0, deeds);
    add_deeds(trial, deeds, rows, day, result);
    day->over = rows == trial->time.day_first[1];
    return rows;
}

static int live_day(struct trial *trial, int row,
                    struct plan_trial_result *result)
{
    struct live_day day = {false, false};
    int hours = 0;

    while (!day.over && row + hours < trial->season->hours)
        hours += live_part(trial, row + hours, &day, result);
    result->lit_days += day.lit;
    return hours;
}

static void trial_alloc(struct trial *trial)
{
    size_t hours = HOURS_AHEAD + 24;

    trial->air_temp_c = mem_alloc(hours, sizeof(double));
    trial->shortwave_w_m2 = mem_alloc(hours, sizeof(double));
    trial->sap_l =
        mem_alloc(hours * (size_t)trial->streams * (size_t)(trial->members + 1),
                  sizeof(double));
}

struct plan_trial_result
plan_trial(const struct plan_rules *rules, const struct plan_costs *costs,
           const struct plan_season *season, enum plan_policy policy,
           plan_forecast forecast, void *self, int members)
{
    struct trial *trial = mem_alloc(1, sizeof *trial);
    struct plan_trial_result result = {0};

    trial->rules = rules;
    trial->costs = costs;
    trial->season = season;
    trial->policy = policy;
    trial->forecast = forecast;
    trial->self = self;
    trial->members = members;
    trial->streams = rules->group_count + 1;
    trial_alloc(trial);
    for (int row = 0; row < season->hours;)
        row += live_day(trial, row, &result);
    result.ran_l = trial->stock.ran_l;
    result.kept_l = trial->stock.boiled_l;
    result.overflow_l = trial->stock.overflow_l;
    result.spoiled_l = trial->stock.spoiled_l;
    result.night_hours = trial->stock.night_h;
    result.trips = trial->stock.trips;
    result.held_l = plan_stock_in_buckets_l(&trial->stock, rules) +
                    plan_stock_in_tanks_l(&trial->stock, rules);
    free(trial->air_temp_c);
    free(trial->shortwave_w_m2);
    free(trial->sap_l);
    free(trial);
    return result;
}
