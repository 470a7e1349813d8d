/* What the planner kept, as JSON (docs/replay.md) and in words. */
#include <stdio.h>

#include "base/json.h"
#include "base/words.h"
#include "command/replay_plan.h"
#include "publish/phrase.h"

static void add_date(cJSON *object, const char *key, struct civil_date date)
{
    char words[ISO_DATE_SIZE];

    iso_date(date, words);
    cJSON_AddStringToObject(object, key, words);
}

static void add_count(cJSON *object, const char *key, int count)
{
    cJSON_AddNumberToObject(object, key, count);
}

cJSON *replay_plan_json(const struct replay_plan *plan)
{
    const struct plan_trial_result *planned = &plan->planned;
    cJSON *object = cJSON_CreateObject();

    add_count(object, "year", plan->year);
    add_date(object, "tapped", plan->tapped);
    add_date(object, "pulled", plan->pulled);
    json_add_rounded(object, "ran_l", planned->ran_l, 1);
    json_add_rounded(object, "kept_l", planned->kept_l, 1);
    json_add_rounded(object, "perfect_l", plan->perfect.kept_l, 1);
    json_add_rounded(object, "habit_l", plan->habit.kept_l, 1);
    json_add_rounded(object, "overflow_l", planned->overflow_l, 1);
    json_add_rounded(object, "spoiled_l", planned->spoiled_l, 1);
    json_add_rounded(object, "held_l", planned->held_l, 1);
    add_count(object, "lit_days", planned->lit_days);
    add_count(object, "perfect_lit_days", plan->perfect.lit_days);
    add_count(object, "habit_lit_days", plan->habit.lit_days);
    json_add_rounded(object, "night_hours", planned->night_hours, 1);
    json_add_rounded(object, "habit_night_hours", plan->habit.night_hours, 1);
    json_add_rounded(object, "unattended_hours", planned->unattended_hours, 1);
    add_count(object, "trips", planned->trips);
    add_count(object, "habit_trips", plan->habit.trips);
    return object;
}

void replay_plan_show(const struct replay_plan *plan, enum unit_system units)
{
    const struct plan_trial_result *planned = &plan->planned;
    char tapped[ISO_DATE_SIZE], pulled[ISO_DATE_SIZE];
    char kept[PHRASE_SIZE], ran[PHRASE_SIZE], overflow[PHRASE_SIZE],
        spoiled[PHRASE_SIZE];

    iso_date(plan->tapped, tapped);
    iso_date(plan->pulled, pulled);
    phrase_volume(planned->ran_l, units, ran);
    phrase_volume(planned->overflow_l, units, overflow);
    phrase_volume(planned->spoiled_l, units, spoiled);
    (void)printf(_("The plan, season %d, gathered from %s to %s: %s ran.\n"),
                 plan->year, tapped, pulled, ran);
    phrase_volume(planned->kept_l, units, kept);
    (void)printf(_("  Planned on forecasts, %s is boiled, the fire lit on %d "
                   "days.\n"),
                 kept, planned->lit_days);
    phrase_volume(plan->perfect.kept_l, units, kept);
    (void)printf(_("  With the weather known ahead, %s on %d days.\n"), kept,
                 plan->perfect.lit_days);
    phrase_volume(plan->habit.kept_l, units, kept);
    (void)printf(_("  Collecting and boiling every evening, %s on %d days.\n"),
                 kept, plan->habit.lit_days);
    (void)printf(_("  As planned, %s runs over and %s spoils; %.0f hours at "
                   "the fire fall after 20:00, %d rounds of the buckets.\n"),
                 overflow, spoiled, planned->night_hours, planned->trips);
}
