/* What the planner kept, as JSON (docs/replay.md) and in words. */
#include <stdio.h>

#include "base/json.h"
#include "base/units.h"
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
    const struct replay_planned *planned = &plan->planned;
    cJSON *object = cJSON_CreateObject();

    add_count(object, "year", plan->year);
    add_date(object, "tapped", plan->tapped);
    add_date(object, "pulled", plan->pulled);
    add_count(object, "days_unknown", plan->days_unknown);
    add_count(object, "forecasts", planned->forecasts);
    json_add_rounded(object, "ran_l", planned->ran_l, 1);
    json_add_rounded(object, "kept_l", planned->kept_l, 1);
    json_add_rounded(object, "kept_least_l", planned->kept_least_l, 1);
    json_add_rounded(object, "kept_most_l", planned->kept_most_l, 1);
    json_add_rounded(object, "perfect_l", plan->perfect.kept_l, 1);
    json_add_rounded(object, "habit_l", plan->habit.kept_l, 1);
    json_add_rounded(object, "overflow_l", planned->overflow_l, 1);
    json_add_rounded(object, "spoiled_l", planned->spoiled_l, 1);
    json_add_rounded(object, "held_l", planned->held_l, 1);
    json_add_rounded(object, "lit_days", planned->lit_days, 1);
    add_count(object, "lit_days_most", planned->lit_days_most);
    add_count(object, "perfect_lit_days", plan->perfect.lit_days);
    add_count(object, "habit_lit_days", plan->habit.lit_days);
    json_add_rounded(object, "night_hours", planned->night_hours, 1);
    json_add_rounded(object, "habit_night_hours", plan->habit.night_hours, 1);
    json_add_rounded(object, "unattended_hours", planned->unattended_hours, 1);
    json_add_rounded(object, "trips", planned->trips, 1);
    add_count(object, "habit_trips", plan->habit.trips);
    return object;
}

/* In hundredths of what is boiled with the weather known. */
static const char *share(const struct replay_plan *plan, double kept_l,
                         char out[QUANTITY_SIZE])
{
    number_format(100 * kept_l / plan->perfect.kept_l, 1, out);
    return out;
}

static void show_shares(const struct replay_plan *plan)
{
    const struct replay_planned *planned = &plan->planned;
    char part[QUANTITY_SIZE], least[QUANTITY_SIZE], most[QUANTITY_SIZE];

    (void)printf(_("  Planned on forecasts, %s %% of that, on %.0f days.\n"),
                 share(plan, planned->kept_l, part), planned->lit_days);
    if (planned->forecasts > 1)
        (void)printf(
            _("  That is the mean of %d courses of forecasts: %s to %s "
              "%%, on %d days at most.\n"),
            planned->forecasts, share(plan, planned->kept_least_l, least),
            share(plan, planned->kept_most_l, most), planned->lit_days_most);
    (void)printf(_("  Collecting and boiling every evening, be it an hour's "
                   "sap, %s %%, on %d days.\n"),
                 share(plan, plan->habit.kept_l, part), plan->habit.lit_days);
}

static void show_unknown(int days)
{
    if (days > 0)
        (void)printf(_("  On %d of its days the weather is not wholly known: "
                       "nothing runs in the hours without it.\n"),
                     days);
}

void replay_plan_show(const struct replay_plan *plan, enum unit_system units)
{
    const struct replay_planned *planned = &plan->planned;
    char tapped[ISO_DATE_SIZE], pulled[ISO_DATE_SIZE];
    char kept[PHRASE_SIZE], ran[PHRASE_SIZE], overflow[PHRASE_SIZE],
        spoiled[PHRASE_SIZE];

    iso_date(plan->tapped, tapped);
    iso_date(plan->pulled, pulled);
    phrase_volume(planned->ran_l, units, ran);
    phrase_volume(planned->overflow_l, units, overflow);
    phrase_volume(planned->spoiled_l, units, spoiled);
    phrase_volume(plan->perfect.kept_l, units, kept);
    (void)printf(_("The plan, season %d, gathered from %s to %s: %s ran.\n"),
                 plan->year, tapped, pulled, ran);
    show_unknown(plan->days_unknown);
    (void)printf(_("  With the weather known ahead, %s is boiled, the fire lit "
                   "on %d days.\n"),
                 kept, plan->perfect.lit_days);
    if (plan->perfect.kept_l > 0)
        show_shares(plan);
    (void)printf(_("  As planned, %s runs over and %s spoils; %.0f hours at "
                   "the fire fall after 20:00, %.0f rounds of the buckets.\n"),
                 overflow, spoiled, planned->night_hours, planned->trips);
}
