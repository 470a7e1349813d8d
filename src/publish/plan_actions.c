#include "publish/plan_actions.h"

#include <stdio.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/phrase.h"

static const double given_up_share = 0.1;

/* What the sentences are made of. */
struct told {
    char loss[PHRASE_SIZE], at[PHRASE_SIZE], chance[PHRASE_SIZE],
        smallest[PHRASE_SIZE];
};

static struct told tell(const struct bulletin *bulletin,
                        const struct plan_action *action,
                        double smallest_boil_l)
{
    struct told told;

    phrase_volume(action->loss_l, bulletin->units, told.loss);
    phrase_volume(smallest_boil_l, bulletin->units, told.smallest);
    phrase_chance(action->loss_chance, told.chance);
    told.at[0] = '\0';
    if (action->loss_at != 0)
        phrase_moment(bulletin, action->loss_at, told.at);
    return told;
}

static void say_collect(const struct plan_action *action,
                        const struct told *told, struct bulletin_action *out)
{
    switch (action->reason) {
    case PLAN_REASON_OVERFLOW:
        snprintf(out->reason, sizeof out->reason,
                 _("Left in the buckets, about %s would run over or not reach "
                   "the pan, from %s on (chance %s)."),
                 told->loss, told->at, told->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if the day stays too cold to run."));
        break;
    case PLAN_REASON_SPOILAGE:
        snprintf(out->reason, sizeof out->reason,
                 _("Left in the buckets, about %s would spoil by %s (chance "
                   "%s)."),
                 told->loss, told->at, told->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("Colder days keep it longer."));
        break;
    default:
        snprintf(out->reason, sizeof out->reason, "%s",
                 _("It feeds the next fire and leaves the buckets empty for "
                   "the next run."));
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if the fire waits."));
    }
}

static void say_boil(const struct plan_action *action, const struct told *told,
                     struct bulletin_action *out)
{
    switch (action->reason) {
    case PLAN_REASON_OVERFLOW:
        snprintf(out->reason, sizeof out->reason,
                 _("It makes room: otherwise about %s would run over, from %s "
                   "on (chance %s)."),
                 told->loss, told->at, told->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("It can wait if the day stays too cold to run."));
        return;
    case PLAN_REASON_SPOILAGE:
        snprintf(out->reason, sizeof out->reason,
                 _("Unboiled, about %s would spoil by %s (chance %s)."),
                 told->loss, told->at, told->chance);
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("Colder days keep it longer."));
        return;
    case PLAN_REASON_FREEZE_UP:
        snprintf(out->reason, sizeof out->reason, "%s",
                 _("Boil it out before the tank freezes hard."));
        snprintf(out->unless, sizeof out->unless, "%s",
                 _("A milder night lets it wait."));
        return;
    case PLAN_REASON_LAST:
        snprintf(out->reason, sizeof out->reason, "%s",
                 _("No later fire is in sight: boil what there is."));
        break;
    case PLAN_REASON_FULL_FIRE:
        snprintf(out->reason, sizeof out->reason, "%s",
                 _("There is enough for a fire, and it makes room for the "
                   "next run."));
        break;
    }
    snprintf(out->unless, sizeof out->unless,
             _("With less than %s there is no fire."), told->smallest);
}

static void add_action(struct bulletin *bulletin,
                       const struct plan_action *action, double smallest_boil_l)
{
    struct told told = tell(bulletin, action, smallest_boil_l);
    struct bulletin_action *out;

    bulletin->actions =
        mem_resize(bulletin->actions, (size_t)bulletin->action_count + 1,
                   sizeof *bulletin->actions);
    out = &bulletin->actions[bulletin->action_count++];
    memset(out, 0, sizeof *out);
    out->kind = action->kind == PLAN_BOIL ? ACTION_BOIL : ACTION_COLLECT;
    out->date = bulletin_date(bulletin, action->start);
    out->start = action->start;
    out->end = action->end;
    out->sap_l = action->sap_l_p50;
    out->averts = action->reason == PLAN_REASON_OVERFLOW    ? AVERTS_OVERFLOW
                  : action->reason == PLAN_REASON_SPOILAGE  ? AVERTS_SPOILAGE
                  : action->reason == PLAN_REASON_FREEZE_UP ? AVERTS_FREEZE_UP
                                                            : AVERTS_NOTHING;
    if (action->kind == PLAN_BOIL)
        say_boil(action, &told, out);
    else
        say_collect(action, &told, out);
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
                       ? _("Nothing to collect or boil until %s: what there "
                           "is has room until %s.")
                       : _("Nothing to collect or boil until %s: what there "
                           "is keeps until %s."),
                   date, loss);
}

static void say_given_up(struct bulletin *bulletin, const struct plan *plan)
{
    double lost_l = plan->overflow_l + plan->spoiled_l;
    char lost[PHRASE_SIZE], ran[PHRASE_SIZE];

    if (lost_l < given_up_share * plan->ran_l || lost_l < 1)
        return;
    phrase_volume(lost_l, bulletin->units, lost);
    phrase_volume(plan->ran_l, bulletin->units, ran);
    error_list_add(&bulletin->notes,
                   plan->overflow_l >= plan->spoiled_l
                       ? _("About %s of %s must be given up for want of room, "
                           "whatever is done.")
                       : _("About %s of %s must be given up: it spoils before "
                           "it can be boiled."),
                   lost, ran);
}

static void say_syrup(struct bulletin *bulletin, const struct plan *plan,
                      double syrup_l_per_sap_l)
{
    char syrup[PHRASE_SIZE];

    if (syrup_l_per_sap_l <= 0 || plan->boiled_l <= 0)
        return;
    phrase_volume(plan->boiled_l * syrup_l_per_sap_l, bulletin->units, syrup);
    error_list_add(&bulletin->notes,
                   _("Syrup from the days ahead: about %s, if the sap is as "
                     "sweet as usual."),
                   syrup);
}

void bulletin_add_plan(struct bulletin *bulletin, const struct plan *plan,
                       double smallest_boil_l, double syrup_l_per_sap_l)
{
    for (int i = 0; i < plan->action_count; i++)
        add_action(bulletin, &plan->actions[i], smallest_boil_l);
    say_wait(bulletin, plan);
    say_given_up(bulletin, plan);
    say_syrup(bulletin, plan, syrup_l_per_sap_l);
}
