#include "publish/plan_actions.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/phrase.h"
#include "sugarhouse/syrup.h"

static const double given_up_share = 0.1, all_share = 0.95;
static const double averted_share = 0.02;
static const double rounding = 1e-6;
/* From then on a forecast pressure is good for whole degrees, no better: a
 * calendar that trembles by tenths is no use. */
enum { FAR_S = 3 * SECONDS_PER_DAY };

/* One sentence of an action, and none of its values. */
static void say_plainly(const struct bulletin *bulletin,
                        struct bulletin_action *out, enum saying_place place,
                        const char *pattern)
{
    action_say(bulletin, out, place, pattern, said_nothing(), said_nothing(),
               said_nothing());
}

/* What would be lost, from when on, and how likely. */
static void say_loss(const struct bulletin *bulletin,
                     const struct plan_action *action, const char *pattern,
                     struct bulletin_action *out)
{
    action_say(bulletin, out, SAYING_REASON, pattern,
               said_volume(action->loss_l), said_moment(action->loss_at),
               said_chance(action->loss_chance));
}

/* No loss of its own: it goes with the fire of the day, or before the next
 * one. */
static void say_errand(const struct bulletin *bulletin,
                       const struct plan_action *fire,
                       struct bulletin_action *out)
{
    if (fire != NULL) {
        action_say(bulletin, out, SAYING_REASON, N_("It feeds the fire at %s."),
                   said_clock(fire->start), said_nothing(), said_nothing());
        action_say(bulletin, out, SAYING_UNLESS,
                   N_("Without a fire at %s there is no hurry."),
                   said_clock(fire->start), said_nothing(), said_nothing());
        return;
    }
    say_plainly(bulletin, out, SAYING_REASON,
                N_("It keeps longer in the tank than in the buckets, and "
                   "leaves them empty for the next run."));
    say_plainly(bulletin, out, SAYING_UNLESS,
                N_("It can wait if it turns colder than forecast."));
}

static void say_collect(const struct bulletin *bulletin,
                        const struct plan_action *action,
                        const struct plan_action *fire,
                        struct bulletin_action *out)
{
    switch (action->reason) {
    case PLAN_REASON_OVERFLOW:
        say_loss(bulletin, action,
                 N_("Left in the buckets, about %s would run over, from %s on "
                    "(chance %s)."),
                 out);
        say_plainly(bulletin, out, SAYING_UNLESS,
                    N_("It can wait if the day stays too cold to run."));
        break;
    case PLAN_REASON_SPOILAGE:
        say_loss(bulletin, action,
                 N_("Left in the buckets, about %s would spoil, from %s on "
                    "(chance %s)."),
                 out);
        say_plainly(bulletin, out, SAYING_UNLESS,
                    N_("It can wait if it turns colder than forecast."));
        break;
    default:
        say_errand(bulletin, fire, out);
    }
}

static void say_full_fire(const struct bulletin *bulletin,
                          const struct plan_told *told,
                          const struct plan_action *action,
                          struct bulletin_action *out)
{
    if (!action->is_last)
        say_plainly(bulletin, out, SAYING_REASON,
                    N_("There is enough for a fire, and it makes room for the "
                       "next run."));
    action_say(bulletin, out, SAYING_UNLESS,
               N_("With less than %s in the tanks there is no fire."),
               said_volume(told->rules->smallest_boil_l), said_nothing(),
               said_nothing());
}

static void say_boil(const struct bulletin *bulletin,
                     const struct plan_told *told,
                     const struct plan_action *action,
                     struct bulletin_action *out)
{
    switch (action->reason) {
    case PLAN_REASON_OVERFLOW:
        say_loss(bulletin, action,
                 N_("It makes room: without it about %s would run over, from "
                    "%s on (chance %s)."),
                 out);
        say_plainly(bulletin, out, SAYING_UNLESS,
                    N_("It can wait if the days stay too cold to run."));
        break;
    case PLAN_REASON_SPOILAGE:
        say_loss(bulletin, action,
                 N_("Unboiled, about %s would spoil, from %s on (chance %s)."),
                 out);
        say_plainly(bulletin, out, SAYING_UNLESS,
                    N_("It can wait if it turns colder than forecast."));
        break;
    case PLAN_REASON_FREEZE_UP:
        say_plainly(bulletin, out, SAYING_REASON,
                    N_("Boil it out before the tank freezes hard."));
        say_plainly(bulletin, out, SAYING_UNLESS,
                    N_("A milder night lets it wait."));
        break;
    case PLAN_REASON_FULL_FIRE:
        say_full_fire(bulletin, told, action, out);
    }
}

/* When the attended hours of the action's day end. */
static utc_s attended_end(const struct plan *plan, int day)
{
    for (int row = plan->time.day_first[day + 1] - 1;
         row >= plan->time.day_first[day]; row--)
        if (plan->time.hours[row].attended)
            return plan->time.hours[row].start + SECONDS_PER_HOUR;
    return 0;
}

/* By when the fire must be out: the attended hours end, or the day has the
 * next thing to do for who is alone, or the next fire. */
static utc_s out_limit(const struct plan *plan, const struct plan_told *told,
                       const struct plan_action *action)
{
    utc_s limit = attended_end(plan, action->day);

    for (int i = 0; i < plan->action_count; i++) {
        const struct plan_action *next = &plan->actions[i];

        if (next->start >= action->end && next->start < limit &&
            (next->kind == PLAN_BOIL || told->rules->hands == 1))
            limit = next->start;
    }
    return limit;
}

/* How long the fire burns, told by the half hour: half of one to start, half
 * of one to finish. */
static utc_s fire_s(const struct plan_told *told,
                    const struct plan_action *action)
{
    double hours = action->sap_l_p50 / told->rules->sap_rate_l_h + 1;
    utc_s fire = (utc_s)ceil(2 * hours - rounding) * SECONDS_PER_HOUR / 2;
    utc_s window = action->end - action->start;

    return fire > window ? fire : window;
}

/* The latest lighting by which the fire is out in time and, where sap would
 * run over without it, makes room in time. */
static void set_start_by(const struct plan *plan, const struct plan_told *told,
                         const struct plan_action *action,
                         struct bulletin_action *out)
{
    utc_s limit = out_limit(plan, told, action);
    utc_s start = limit - fire_s(told, action);

    if (action->reason == PLAN_REASON_OVERFLOW && action->loss_at != 0 &&
        start > action->loss_at - SECONDS_PER_HOUR)
        start = action->loss_at - SECONDS_PER_HOUR;
    out->start_by = start > action->start ? start : action->start;
    out->done_by = out->start_by + fire_s(told, action);
    if (out->done_by > limit && limit >= action->end)
        out->done_by = limit;
}

static struct saying_value date_of(const struct plan *plan, int day)
{
    return said_date(plan->time.dates[day]);
}

/* Why it was not done before, and that none follows. */
static void say_place(const struct bulletin *bulletin, const struct plan *plan,
                      const struct plan_action *action,
                      struct bulletin_action *out)
{
    if (action->waits_from >= 0)
        action_say(bulletin, out, SAYING_REASON,
                   N_("There is enough for a fire from %s on, but it keeps: "
                      "waiting saves a fire."),
                   date_of(plan, action->waits_from), said_nothing(),
                   said_nothing());
    if (action->is_last)
        action_say(bulletin, out, SAYING_REASON,
                   N_("It is the last fire in sight up to %s: boil what there "
                      "is."),
                   date_of(plan, plan->time.day_count - 1), said_nothing(),
                   said_nothing());
}

/* By when it is lit, and what becomes of what it leaves. */
static void say_when(const struct bulletin *bulletin, const struct plan *plan,
                     const struct plan_action *action,
                     struct bulletin_action *out)
{
    if (action->goes_on)
        action_say(bulletin, out, SAYING_DETAIL,
                   N_("One day does not take it all: the rest is for %s."),
                   date_of(plan, action->day + 1), said_nothing(),
                   said_nothing());
    action_say(bulletin, out, SAYING_DETAIL, N_("Lit by %s, it is out by %s."),
               said_clock(out->start_by), said_clock(out->done_by),
               said_nothing());
}

static void say_syrup_of(const struct bulletin *bulletin,
                         struct bulletin_action *out)
{
    bool far = out->start >= bulletin->made + FAR_S;

    if (out->syrup_l <= 0)
        return;
    if (out->draw_off_c > 0)
        action_say(bulletin, out, SAYING_DETAIL,
                   N_("About %s of syrup, drawn off at %s."),
                   said_volume(out->syrup_l),
                   far ? said_near_heat(out->draw_off_c)
                       : said_heat(out->draw_off_c),
                   said_nothing());
    else
        action_say(bulletin, out, SAYING_DETAIL, N_("About %s of syrup."),
                   said_volume(out->syrup_l), said_nothing(), said_nothing());
}

static void add_boil_detail(const struct bulletin *bulletin,
                            const struct plan *plan,
                            const struct plan_told *told,
                            const struct plan_action *action,
                            struct bulletin_action *out)
{
    struct bulletin_pressure pressure;

    set_start_by(plan, told, action, out);
    out->syrup_l = out->sap_l * told->syrup_l_per_sap_l;
    if (told->syrup_brix > 0 &&
        bulletin_pan_pressure(bulletin, out->start, out->end, &pressure))
        out->draw_off_c = syrup_draw_off_c(told->syrup_brix, pressure.mean_hpa);
    say_when(bulletin, plan, action, out);
    say_syrup_of(bulletin, out);
}

static enum action_averts averted(enum plan_reason reason)
{
    return reason == PLAN_REASON_OVERFLOW    ? AVERTS_OVERFLOW
           : reason == PLAN_REASON_SPOILAGE  ? AVERTS_SPOILAGE
           : reason == PLAN_REASON_FREEZE_UP ? AVERTS_FREEZE_UP
                                             : AVERTS_NOTHING;
}

static void add_action(struct bulletin *bulletin, const struct plan *plan,
                       const struct plan_told *told,
                       const struct plan_action *action)
{
    struct bulletin_action out = {
        .kind = action->kind == PLAN_BOIL ? ACTION_BOIL : ACTION_COLLECT,
        .date = bulletin_date(bulletin, action->start),
        .start = action->start,
        .end = action->end,
        .sap_l = action->sap_l_p50,
        .averts = averted(action->reason)};

    if (action->kind == PLAN_BOIL) {
        say_boil(bulletin, told, action, &out);
        say_place(bulletin, plan, action, &out);
        add_boil_detail(bulletin, plan, told, action, &out);
    } else {
        say_collect(bulletin, action, plan_boil_after(plan, action), &out);
    }
    bulletin_add_action(bulletin, &out);
}

/* "Nothing to do until Saturday" is an answer. */
static void say_wait(struct bulletin *bulletin, const struct plan *plan)
{
    struct civil_date today = bulletin_date(bulletin, bulletin->made), next;

    if (plan->action_count == 0) {
        bulletin_note(bulletin,
                      N_("Nothing to collect or boil in the days ahead."),
                      said_nothing(), said_nothing());
        return;
    }
    next = bulletin_date(bulletin, plan->actions[0].start);
    if (civil_date_compare(next, civil_date_add(today, 1)) <= 0)
        return;
    if (plan->idle_loss_at == 0)
        bulletin_note(bulletin, N_("Nothing to collect or boil until %s."),
                      said_date(next), said_nothing());
    else
        bulletin_note(bulletin,
                      plan->idle_loss_is_overflow
                          ? N_("Nothing to collect or boil until %s: there is "
                               "room until %s.")
                          : N_("Nothing to collect or boil until %s: the sap "
                               "keeps until %s."),
                      said_date(next), said_moment(plan->idle_loss_at));
}

static double lost_l(const struct plan *plan)
{
    return plan->overflow_l + plan->spoiled_l;
}

static void say_averted(struct bulletin *bulletin, const struct plan *plan)
{
    if (plan->idle_loss_at == 0 || plan->action_count == 0 ||
        lost_l(plan) > averted_share * plan->ran_l)
        return;
    bulletin_note(bulletin,
                  plan->idle_loss_is_overflow
                      ? N_("Left alone, sap would run over from %s on; as "
                           "planned, next to none is lost.")
                      : N_("Left alone, sap would spoil from %s on; as "
                           "planned, next to none is lost."),
                  said_moment(plan->idle_loss_at), said_nothing());
}

static double tanks_hold_l(const struct plan_rules *rules)
{
    double sum = 0;

    for (int i = 0; i < rules->tank_count; i++)
        sum += rules->tanks[i].size_l;
    return sum;
}

/* Why all of the sap is lost, `all_l` of it. */
static void say_all_given_up(struct bulletin *bulletin, const struct plan *plan,
                             const struct plan_told *told, double all_l)
{
    double least_l = told->rules->smallest_boil_l;

    if (tanks_hold_l(told->rules) < least_l)
        bulletin_note(bulletin,
                      N_("All of the sap, held and to come, about %s, must be "
                         "given up: the tanks do not hold the smallest boil, "
                         "%s."),
                      said_volume(all_l), said_volume(least_l));
    else if (all_l < least_l)
        bulletin_note(bulletin,
                      N_("All of the sap, held and to come, about %s, must be "
                         "given up: it is less than the smallest boil, %s."),
                      said_volume(all_l), said_volume(least_l));
    else
        bulletin_note(bulletin,
                      plan->overflow_l >= plan->spoiled_l
                          ? N_("All of the sap, held and to come, about %s, "
                               "must be given up for want of room, whatever "
                               "is done.")
                          : N_("All of the sap, held and to come, about %s, "
                               "must be given up: it spoils before it can be "
                               "boiled."),
                      said_volume(all_l), said_nothing());
}

static void say_given_up(struct bulletin *bulletin, const struct plan *plan,
                         const struct plan_told *told)
{
    double lost = lost_l(plan);
    double all = lost + plan->boiled_l + plan->held_l;

    if (lost < given_up_share * all || lost < 1)
        return;
    if (lost > all_share * all) {
        say_all_given_up(bulletin, plan, told, all);
        return;
    }
    bulletin_note(bulletin,
                  plan->overflow_l >= plan->spoiled_l
                      ? N_("About %s of %s of sap, held and to come, must be "
                           "given up for want of room, whatever is done.")
                  : lost < told->rules->smallest_boil_l
                      ? N_("About %s of %s of sap, held and to come, must be "
                           "given up: it spoils before there is enough of it "
                           "for a fire.")
                      : N_("About %s of %s of sap, held and to come, must be "
                           "given up: it spoils before it can be boiled."),
                  said_volume(lost), said_volume(all));
}

static void say_syrup_in_all(struct bulletin *bulletin, const struct plan *plan,
                             const struct plan_told *told)
{
    double syrup_l = plan->boiled_l * told->syrup_l_per_sap_l;

    if (syrup_l <= 0)
        return;
    if (told->has_sugar)
        bulletin_note(bulletin,
                      N_("Syrup from the days ahead: about %s, if the sap is "
                         "as sweet as on %s."),
                      said_volume(syrup_l),
                      said_date(bulletin_date(bulletin, told->sugar_at)));
    else
        bulletin_note(bulletin,
                      N_("Syrup from the days ahead: about %s, if the sap is "
                         "as sweet as usual (2 Brix)."),
                      said_volume(syrup_l), said_nothing());
}

static void say_total(struct bulletin *bulletin, const struct plan *plan,
                      const struct plan_told *told)
{
    say_syrup_in_all(bulletin, plan, told);
    if (!told->logged && plan->ran_l > told->rules->smallest_boil_l)
        bulletin_note(bulletin,
                      N_("Nothing is logged yet: the plan takes the buckets as "
                         "emptied at 17:00 yesterday and the tanks as empty "
                         "(thawbell note collected, thawbell note boiled)."),
                      said_nothing(), said_nothing());
}

static double *copy_levels(const double *levels_l, int hours)
{
    double *copy = mem_alloc((size_t)hours + 1, sizeof *copy);

    memcpy(copy, levels_l, (size_t)hours * sizeof *copy);
    return copy;
}

static void add_levels(struct bulletin *bulletin, const struct plan *plan,
                       const struct plan_told *told)
{
    struct bulletin_plan *out = &bulletin->plan;

    out->hours = plan->time.hour_count;
    out->start = plan->time.hours[0].start;
    out->buckets_l = copy_levels(plan->buckets_l, out->hours);
    out->tanks_l = copy_levels(plan->tanks_l, out->hours);
    for (int i = 0; i < told->rules->group_count; i++)
        out->buckets_hold_l += told->rules->groups[i].holds_l;
    for (int i = 0; i < told->rules->tank_count; i++)
        out->tanks_hold_l += told->rules->tanks[i].size_l;
    out->ran_l = plan->ran_l;
    out->boiled_l = plan->boiled_l;
    out->syrup_l = plan->boiled_l * told->syrup_l_per_sap_l;
    out->overflow_l = plan->overflow_l;
    out->spoiled_l = plan->spoiled_l;
    out->loss_chance = plan->overflow_chance;
}

void bulletin_add_plan(struct bulletin *bulletin, const struct plan *plan,
                       const struct plan_told *told)
{
    for (int i = 0; i < plan->action_count; i++)
        add_action(bulletin, plan, told, &plan->actions[i]);
    add_levels(bulletin, plan, told);
    say_wait(bulletin, plan);
    say_averted(bulletin, plan);
    say_given_up(bulletin, plan, told);
    say_total(bulletin, plan, told);
}
