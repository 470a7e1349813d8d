#include "publish/plan_actions.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/phrase.h"
#include "sugarhouse/syrup.h"

static const double given_up_share = 0.1, averted_share = 0.02;

/* What the sentences are made of. */
struct pieces {
    char loss[PHRASE_SIZE], at[PHRASE_SIZE], chance[PHRASE_SIZE],
        smallest[PHRASE_SIZE];
};

static struct pieces find_pieces(const struct bulletin *bulletin,
                                 const struct plan_told *told,
                                 const struct plan_action *action)
{
    struct pieces pieces;

    phrase_volume(action->loss_l, bulletin->units, pieces.loss);
    phrase_volume(told->rules->smallest_boil_l, bulletin->units,
                  pieces.smallest);
    phrase_chance(action->loss_chance, pieces.chance);
    pieces.at[0] = '\0';
    if (action->loss_at != 0)
        phrase_moment(bulletin, action->loss_at, pieces.at);
    return pieces;
}

static void say_collect(const struct plan_action *action,
                        const struct pieces *pieces, bool fire_today,
                        struct bulletin_action *out)
{
    switch (action->reason) {
    case PLAN_REASON_OVERFLOW:
        snprintf(out->reason, sizeof out->reason,
                 _("Left in the buckets, about %s would run over, from %s on "
                   "(chance %s)."),
                 pieces->loss, pieces->at, pieces->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if the day stays too cold to run."));
        break;
    case PLAN_REASON_SPOILAGE:
        snprintf(out->reason, sizeof out->reason,
                 _("Left in the buckets, about %s would spoil, from %s on "
                   "(chance %s)."),
                 pieces->loss, pieces->at, pieces->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if it turns colder than forecast."));
        break;
    default:
        snprintf(out->reason, sizeof out->reason, "%s",
                 fire_today ? _("It feeds the fire and leaves the buckets "
                                "empty for the next run.")
                            : _("It keeps longer in the tank than in the "
                                "buckets, and leaves them empty for the next "
                                "run."));
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if the fire waits."));
    }
}

static void say_boil(const struct plan_action *action,
                     const struct pieces *pieces, struct bulletin_action *out)
{
    switch (action->reason) {
    case PLAN_REASON_OVERFLOW:
        snprintf(out->reason, sizeof out->reason,
                 _("It makes room: without it about %s would run over, from "
                   "%s on (chance %s)."),
                 pieces->loss, pieces->at, pieces->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if the days stay too cold to run."));
        return;
    case PLAN_REASON_SPOILAGE:
        snprintf(out->reason, sizeof out->reason,
                 _("Unboiled, about %s would spoil, from %s on (chance %s)."),
                 pieces->loss, pieces->at, pieces->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if it turns colder than forecast."));
        return;
    case PLAN_REASON_FREEZE_UP:
        snprintf(out->reason, sizeof out->reason, "%s",
                 _("Boil it out before the tank freezes hard."));
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("A milder night lets it wait."));
        return;
    case PLAN_REASON_FULL_FIRE:
        if (!action->is_last)
            snprintf(out->reason, sizeof out->reason, "%s",
                     _("There is enough for a fire, and it makes room for "
                       "the next run."));
        break;
    }
    snprintf(out->unless, sizeof out->unless,
             _("With less than %s in the tanks there is no fire."),
             pieces->smallest);
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

/* The latest lighting by which the fire is out in the attended hours. */
static utc_s latest_start(const struct plan *plan, const struct plan_told *told,
                          const struct plan_action *action)
{
    double hours = ceil(action->sap_l_p50 / told->rules->sap_rate_l_h) + 1;
    utc_s start =
        attended_end(plan, action->day) - (utc_s)hours * SECONDS_PER_HOUR;

    return start > action->start ? start : action->start;
}

enum { SENTENCES_SIZE = 256 };

/* One more whole sentence, if there is room for it. */
static void add_sentence(char out[SENTENCES_SIZE], const char *sentence)
{
    size_t length = strlen(out);

    if (length + strlen(sentence) + 2 > SENTENCES_SIZE)
        return;
    snprintf(out + length, SENTENCES_SIZE - length, "%s%s",
             length > 0 ? " " : "", sentence);
}

/* Why it was not done before, and that none follows. */
static void say_place(const struct plan *plan, const struct plan_action *action,
                      struct bulletin_action *out)
{
    char date[PHRASE_SIZE], sentence[SENTENCES_SIZE];

    if (action->waits_from >= 0) {
        phrase_date(plan->time.dates[action->waits_from], date);
        snprintf(sentence, sizeof sentence,
                 _("There is enough for a fire from %s on, but it keeps: "
                   "waiting saves a fire."),
                 date);
        add_sentence(out->reason, sentence);
    }
    if (action->is_last) {
        phrase_date(plan->time.dates[plan->time.day_count - 1], date);
        snprintf(sentence, sizeof sentence,
                 _("It is the last fire in sight up to %s: boil what there "
                   "is."),
                 date);
        add_sentence(out->reason, sentence);
    }
}

/* Heat at the pan to a tenth of a degree: "219.3 F". */
static void phrase_heat(double temp_c, enum unit_system units,
                        char out[PHRASE_SIZE])
{
    char number[QUANTITY_SIZE];

    number_format(units == UNITS_US ? temp_c * 1.8 + 32 : temp_c, 1, number);
    snprintf(out, PHRASE_SIZE, units == UNITS_US ? _("%.30s F") : _("%.30s C"),
             number);
}

/* By when it is lit, and what becomes of what it leaves. */
static void say_when(const struct bulletin *bulletin, const struct plan *plan,
                     const struct plan_told *told,
                     const struct plan_action *action,
                     struct bulletin_action *out)
{
    int end_min = told->rules->attended_to_min;
    char by[PHRASE_SIZE], sentence[SENTENCES_SIZE];

    phrase_clock(bulletin, out->start_by, by);
    if (action->goes_on) {
        phrase_date(plan->time.dates[action->day + 1], by);
        snprintf(sentence, sizeof sentence,
                 _("One day does not take it all: it goes on on %s."), by);
    } else {
        snprintf(sentence, sizeof sentence,
                 _("Lit by %s, it is out before %02d:%02d."), by, end_min / 60,
                 end_min % 60);
    }
    add_sentence(out->detail, sentence);
}

static void say_syrup_of(const struct bulletin *bulletin,
                         struct bulletin_action *out)
{
    char syrup[PHRASE_SIZE], heat[PHRASE_SIZE], sentence[SENTENCES_SIZE];

    phrase_volume(out->syrup_l, bulletin->units, syrup);
    phrase_heat(out->draw_off_c, bulletin->units, heat);
    if (out->syrup_l <= 0)
        return;
    if (out->draw_off_c > 0)
        snprintf(sentence, sizeof sentence,
                 _("About %s of syrup, drawn off at %s."), syrup, heat);
    else
        snprintf(sentence, sizeof sentence, _("About %s of syrup."), syrup);
    add_sentence(out->detail, sentence);
}

static void add_boil_detail(const struct bulletin *bulletin,
                            const struct plan *plan,
                            const struct plan_told *told,
                            const struct plan_action *action,
                            struct bulletin_action *out)
{
    struct bulletin_pressure pressure;

    out->start_by = latest_start(plan, told, action);
    out->syrup_l = out->sap_l * told->syrup_l_per_sap_l;
    if (told->syrup_brix > 0 &&
        bulletin_pan_pressure(bulletin, out->start, out->end, &pressure))
        out->draw_off_c = syrup_draw_off_c(told->syrup_brix, pressure.mean_hpa);
    say_when(bulletin, plan, told, action, out);
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
    struct pieces pieces = find_pieces(bulletin, told, action);
    struct bulletin_action out = {
        .kind = action->kind == PLAN_BOIL ? ACTION_BOIL : ACTION_COLLECT,
        .date = bulletin_date(bulletin, action->start),
        .start = action->start,
        .end = action->end,
        .sap_l = action->sap_l_p50,
        .averts = averted(action->reason)};

    if (action->kind == PLAN_BOIL) {
        say_boil(action, &pieces, &out);
        say_place(plan, action, &out);
        add_boil_detail(bulletin, plan, told, action, &out);
    } else {
        say_collect(action, &pieces, plan_boils_after(plan, action), &out);
    }
    bulletin_add_action(bulletin, &out);
}

/* "Nothing to do until Saturday" is an answer. */
static void say_wait(struct bulletin *bulletin, const struct plan *plan)
{
    struct civil_date today = bulletin_date(bulletin, bulletin->made);
    char date[PHRASE_SIZE], loss[PHRASE_SIZE];
    struct civil_date next;

    if (plan->action_count == 0) {
        error_list_add(&bulletin->notes, "%s",
                       _("Nothing to collect or boil in the days ahead."));
        return;
    }
    next = bulletin_date(bulletin, plan->actions[0].start);
    if (civil_date_compare(next, civil_date_add(today, 1)) <= 0)
        return;
    phrase_date(next, date);
    if (plan->idle_loss_at == 0) {
        error_list_add(&bulletin->notes,
                       _("Nothing to collect or boil until %s."), date);
        return;
    }
    phrase_moment(bulletin, plan->idle_loss_at, loss);
    error_list_add(&bulletin->notes,
                   plan->idle_loss_is_overflow
                       ? _("Nothing to collect or boil until %s: there is room "
                           "until %s.")
                       : _("Nothing to collect or boil until %s: the sap keeps "
                           "until %s."),
                   date, loss);
}

static double lost_l(const struct plan *plan)
{
    return plan->overflow_l + plan->spoiled_l;
}

static void say_averted(struct bulletin *bulletin, const struct plan *plan)
{
    char at[PHRASE_SIZE];

    if (plan->idle_loss_at == 0 || plan->action_count == 0 ||
        lost_l(plan) > averted_share * plan->ran_l)
        return;
    phrase_moment(bulletin, plan->idle_loss_at, at);
    error_list_add(&bulletin->notes,
                   plan->idle_loss_is_overflow
                       ? _("Left alone, sap would run over from %s on; as "
                           "planned, next to none is lost.")
                       : _("Left alone, sap would spoil from %s on; as "
                           "planned, next to none is lost."),
                   at);
}

static void say_given_up(struct bulletin *bulletin, const struct plan *plan)
{
    char lost[PHRASE_SIZE], ran[PHRASE_SIZE];

    if (lost_l(plan) < given_up_share * plan->ran_l || lost_l(plan) < 1)
        return;
    phrase_volume(lost_l(plan), bulletin->units, lost);
    phrase_volume(plan->ran_l, bulletin->units, ran);
    error_list_add(&bulletin->notes,
                   plan->overflow_l >= plan->spoiled_l
                       ? _("About %s of the %s that will run must be given up "
                           "for want of room, whatever is done.")
                       : _("About %s of the %s that will run must be given up: "
                           "it spoils before it can be boiled."),
                   lost, ran);
}

static void say_total(struct bulletin *bulletin, const struct plan *plan,
                      const struct plan_told *told)
{
    char syrup[PHRASE_SIZE];

    if (told->syrup_l_per_sap_l > 0 && plan->boiled_l > 0) {
        phrase_volume(plan->boiled_l * told->syrup_l_per_sap_l, bulletin->units,
                      syrup);
        error_list_add(&bulletin->notes,
                       _("Syrup from the days ahead: about %s, if the sap is "
                         "as sweet as usual (2 Brix)."),
                       syrup);
    }
    if (!told->logged && plan->ran_l > told->rules->smallest_boil_l)
        error_list_add(&bulletin->notes, "%s",
                       _("Nothing is logged yet: the plan takes the buckets as "
                         "emptied at 17:00 yesterday and the tanks as empty "
                         "(thawbell note collected, thawbell note boiled)."));
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
    say_given_up(bulletin, plan);
    say_total(bulletin, plan, told);
}
