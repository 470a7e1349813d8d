#include "plan/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "plan/lived.h"
#include "plan/search.h"

static const double action_share = 0.5, hard_ice = 1.0 / 3;
static const double action_loss_share = 0.05, plan_loss_share = 0.02;
static const double loss_chance_told = 0.3, overflow_told = 0.3;
static const double idle_loss_share = 0.1; /* of a smallest boil */

enum { LAST_DAYS = 1 /* without a fire, for one to be called the last */ };

/* The rows that an action can take up: a day, or what a second round leaves
 * of it. */
struct rows {
    int from, to;
};

/* One member's part in an action. */
struct part {
    int first, last; /* rows, -1 if it does nothing */
    double sap_l;
};

static struct part member_part(const struct lived *lived, int member,
                               struct rows rows, enum plan_kind kind)
{
    struct part part = {-1, -1, 0};

    for (int row = rows.from; row < rows.to; row++) {
        const struct plan_deed *deed =
            &lived->deeds[member * lived->hours + row];
        bool does = kind == PLAN_BOIL ? deed->boiling : deed->collecting;

        if (!does)
            continue;
        part.first = part.first < 0 ? row : part.first;
        part.last = row;
        part.sap_l += kind == PLAN_BOIL ? deed->boiled_l : deed->collected_l;
    }
    return part;
}

struct spread {
    double *first, *last, *sap_l; /* of the members that do it; owned */
    int count;
};

static struct spread action_spread(const struct lived *lived, struct rows rows,
                                   enum plan_kind kind)
{
    size_t members = (size_t)lived->flow->members;
    struct spread spread = {mem_alloc(members, sizeof(double)),
                            mem_alloc(members, sizeof(double)),
                            mem_alloc(members, sizeof(double)), 0};

    for (int member = 0; member < lived->flow->members; member++) {
        struct part part = member_part(lived, member, rows, kind);

        if (part.first < 0)
            continue;
        spread.first[spread.count] = part.first;
        spread.last[spread.count] = part.last;
        spread.sap_l[spread.count++] = part.sap_l;
    }
    lived_sort(spread.first, spread.count);
    lived_sort(spread.last, spread.count);
    lived_sort(spread.sap_l, spread.count);
    return spread;
}

static void spread_free(struct spread *spread)
{
    free(spread->first);
    free(spread->last);
    free(spread->sap_l);
}

static utc_s row_start(const struct plan_time *time, double row)
{
    return time->hours[(int)(row + 0.5)].start;
}

/* The action of the day if most members do it. */
static bool find_action(const struct lived *lived, struct rows rows,
                        enum plan_kind kind, struct plan_action *action)
{
    struct spread spread = action_spread(lived, rows, kind);
    bool most = spread.count >= action_share * lived->flow->members;

    memset(action, 0, sizeof *action);
    if (most) {
        action->kind = kind;
        action->day = lived->time->hours[rows.from].day;
        action->share = (double)spread.count / lived->flow->members;
        action->start = row_start(
            lived->time, lived_quantile(spread.first, spread.count, 0.5));
        action->end =
            row_start(lived->time,
                      lived_quantile(spread.last, spread.count, 0.5)) +
            SECONDS_PER_HOUR;
        action->sap_l_p10 = lived_quantile(spread.sap_l, spread.count, 0.1);
        action->sap_l_p50 = lived_quantile(spread.sap_l, spread.count, 0.5);
        action->sap_l_p90 = lived_quantile(spread.sap_l, spread.count, 0.9);
    }
    spread_free(&spread);
    return most;
}

/* What is lost at the hour's end by one way. */
static double lost_at_l(const struct lived *lived, size_t at, bool overflow)
{
    return overflow ? lived->overflow_l[at]
                    : lived->lost_l[at] - lived->overflow_l[at];
}

/* The row at which one course has lost `more_l` more than the other by that
 * way, from the row on in which they part; -1 if never. */
static int loss_row(const struct lived *with, const struct lived *without,
                    int member, int from, bool overflow, double more_l)
{
    for (int row = from; row < with->hours; row++) {
        size_t at = (size_t)member * (size_t)with->hours + (size_t)row;

        if (lost_at_l(without, at, overflow) - lost_at_l(with, at, overflow) >
            more_l)
            return row;
    }
    return -1;
}

struct loss {
    double overflow_l, spoiled_l; /* means */
    bool overflows; /* what runs over is told, though more may spoil later */
    double chance;
    utc_s at;
};

static void find_loss_time(const struct lived *with,
                           const struct lived *without, int from,
                           double least_l, struct loss *loss)
{
    int members = with->flow->members, count = 0;
    double *rows = mem_alloc((size_t)members, sizeof *rows);

    for (int member = 0; member < members; member++) {
        int row =
            loss_row(with, without, member, from, loss->overflows, least_l);

        if (row >= 0)
            rows[count++] = row;
    }
    lived_sort(rows, count);
    loss->chance = (double)count / members;
    loss->at =
        count > 0 ? row_start(with->time, lived_quantile(rows, count, 0.5)) : 0;
    free(rows);
}

static struct loss compare_lives(const struct lived *with,
                                 const struct lived *without, int from,
                                 double sap_l)
{
    int members = with->flow->members;
    struct loss loss = {0};

    for (int member = 0; member < members; member++) {
        const struct plan_stock *a = &with->ends[member];
        const struct plan_stock *b = &without->ends[member];

        loss.overflow_l += (b->overflow_l - a->overflow_l) / members;
        loss.spoiled_l += (b->spoiled_l - a->spoiled_l) / members;
    }
    loss.overflows =
        loss.overflow_l >= overflow_told * (loss.overflow_l + loss.spoiled_l);
    find_loss_time(with, without, from, action_loss_share * sap_l, &loss);
    return loss;
}

/* The course of the day without the action; `rows` are those it was found in.
 */
static void leave_out(const struct plan_action *action, struct rows rows,
                      struct plan_day_choice *choice)
{
    if (action->kind == PLAN_BOIL) {
        if (choice->boil_from >= rows.from)
            choice->boil_from = (short)rows.to;
        else
            choice->light_until = (short)rows.from;
        return;
    }
    for (int i = 0; i < 2; i++)
        if (choice->collect_at[i] >= rows.from &&
            choice->collect_at[i] < rows.to)
            choice->collect_at[i] = -1;
}

/* Lives without the one action and says what that costs. Sap that a round
 * leaves to spoil is sap that the fire wants: that is no reason of its own. */
static void find_reason(const struct lived *with, struct lived *scratch,
                        const struct plan_day_choice *course, struct rows rows,
                        struct plan_action *action)
{
    struct plan_day_choice other[PLAN_MAX_DAYS];
    bool feeds =
        action->kind == PLAN_COLLECT && course[action->day].boil_from >= 0;
    struct loss loss;

    memcpy(other, course, sizeof other);
    leave_out(action, rows, &other[action->day]);
    lived_run_from(scratch, with, action->day, other);
    loss = compare_lives(with, scratch, with->time->day_first[action->day],
                         action->sap_l_p50);
    action->loss_l = fmax(loss.overflows ? loss.overflow_l : loss.spoiled_l, 0);
    action->loss_chance = loss.chance;
    action->loss_at = loss.at;
    if (action->loss_l < action_loss_share * action->sap_l_p50 ||
        loss.chance < loss_chance_told)
        action->reason = PLAN_REASON_FULL_FIRE;
    else if (loss.overflows)
        action->reason = PLAN_REASON_OVERFLOW;
    else
        action->reason = feeds ? PLAN_REASON_FULL_FIRE : PLAN_REASON_SPOILAGE;
}

/* Would what stays in the last tank be ice by a third within a day and a half
 * of the day's end? */
static bool freezes_after(const struct plan_time *time,
                          const struct plan_rules *rules, int day)
{
    int last = rules->tank_count - 1;
    int end = time->day_first[day + 1] + 36;
    double ice = 0;

    for (int row = time->day_first[day + 1];
         row < end && row < time->hour_count; row++) {
        ice = fmax(ice + time->hours[row].tank_ice[last], 0);
        if (ice > hard_ice)
            return true;
    }
    return false;
}

static const struct plan_action *boil_of_day(const struct plan *plan, int day)
{
    for (int i = 0; i < plan->action_count; i++)
        if (plan->actions[i].kind == PLAN_BOIL && plan->actions[i].day == day)
            return &plan->actions[i];
    return NULL;
}

static double held_at_end_l(const struct plan *plan, int day)
{
    int row = plan->time.day_first[day + 1] - 1;

    return plan->buckets_l[row] + plan->tanks_l[row];
}

/* What the losses alone do not show: the last fire, and a frost ahead. */
static void refine_reasons(struct plan *plan, const struct plan_rules *rules)
{
    struct plan_action *last = NULL;

    for (int i = 0; i < plan->action_count; i++) {
        struct plan_action *action = &plan->actions[i];

        if (action->kind != PLAN_BOIL)
            continue;
        last = action;
        if (action->reason == PLAN_REASON_FULL_FIRE &&
            freezes_after(&plan->time, rules, action->day))
            action->reason = PLAN_REASON_FREEZE_UP;
    }
    if (last != NULL)
        last->is_last = last->day + LAST_DAYS < plan->time.day_count &&
                        held_at_end_l(plan, plan->time.day_count - 1) <
                            rules->smallest_boil_l;
}

static void add_action(struct plan *plan, const struct plan_action *action)
{
    plan->actions = mem_resize(plan->actions, (size_t)plan->action_count + 1,
                               sizeof *plan->actions);
    plan->actions[plan->action_count++] = *action;
}

static struct rows day_rows(const struct plan *plan, int day)
{
    return (struct rows){plan->time.day_first[day],
                         plan->time.day_first[day + 1]};
}

/* The actions of one kind in the day's rows, apart at the row `split` (-1: not
 * apart). */
static void find_kind(struct plan *plan, const struct lived *with,
                      struct lived *scratch, enum plan_kind kind, int day,
                      int split)
{
    struct rows rows = day_rows(plan, day);

    while (rows.from < day_rows(plan, day).to) {
        struct plan_action action;

        rows.to = split > rows.from ? split : day_rows(plan, day).to;
        if (find_action(with, rows, kind, &action)) {
            find_reason(with, scratch, plan->course, rows, &action);
            add_action(plan, &action);
        }
        rows.from = rows.to;
    }
}

/* The round that finds the fire out in the middle of the day: who is alone
 * lights it again afterwards. -1 without. */
static int round_between(const struct plan *plan, const struct lived *with,
                         int day)
{
    for (int i = 0; i < plan->action_count && with->rules->hands == 1; i++) {
        const struct plan_action *action = &plan->actions[i];
        int row = (int)((action->start - plan->time.hours[0].start) /
                        SECONDS_PER_HOUR);

        if (action->day == day && action->kind == PLAN_COLLECT &&
            row > plan->course[day].boil_from)
            return row;
    }
    return -1;
}

/* Members differ in when the fire is out: who is alone is told one thing at a
 * time, the round within the fire's hours and the fire around it. */
static void keep_apart(struct plan_action *boil, struct plan_action *round)
{
    if (boil->kind != PLAN_BOIL || round->kind != PLAN_COLLECT ||
        round->start >= boil->end || boil->start >= round->end)
        return;
    if (round->start > boil->start)
        boil->end = round->start;
    else if (round->end < boil->end)
        boil->start = round->end;
    else if (round->start < boil->start)
        round->end = boil->start;
}

static void find_actions(struct plan *plan, const struct lived *with,
                         struct lived *scratch)
{
    for (int day = 0; day < plan->time.day_count; day++) {
        find_kind(plan, with, scratch, PLAN_COLLECT, day,
                  plan->course[day].collect_at[1]);
        find_kind(plan, with, scratch, PLAN_BOIL, day,
                  plan->course[day].boil_from < 0
                      ? -1
                      : round_between(plan, with, day));
    }
    for (int i = 0; with->rules->hands == 1 && i < plan->action_count; i++)
        for (int k = 0; k < plan->action_count; k++)
            keep_apart(&plan->actions[i], &plan->actions[k]);
}

static void find_sums(struct plan *plan, const struct lived *with)
{
    int members = with->flow->members, losing = 0;

    for (int member = 0; member < members; member++) {
        const struct plan_stock *end = &with->ends[member];
        double lost = end->overflow_l + end->spoiled_l;

        plan->ran_l += end->ran_l / members;
        plan->boiled_l += end->boiled_l / members;
        plan->overflow_l += end->overflow_l / members;
        plan->spoiled_l += end->spoiled_l / members;
        plan->held_l += (plan_stock_in_buckets_l(end, with->rules) +
                         plan_stock_in_tanks_l(end, with->rules)) /
                        members;
        losing += lost > plan_loss_share * end->ran_l && lost > 1;
    }
    plan->overflow_chance = (double)losing / members;
}

/* Without any action: when is the first sap lost, and how? */
static void find_idle_loss(struct plan *plan, struct lived *scratch,
                           const struct plan_stock *stock)
{
    struct plan_day_choice idle[PLAN_MAX_DAYS];
    double least_l = idle_loss_share * scratch->rules->smallest_boil_l;
    double *lost_l, *overflow_l;

    for (int day = 0; day < PLAN_MAX_DAYS; day++)
        idle[day] = (struct plan_day_choice){{-1, -1}, -1, 0};
    lived_run(scratch, stock, idle);
    lost_l = lived_medians(scratch, scratch->lost_l);
    overflow_l = lived_medians(scratch, scratch->overflow_l);
    for (int row = 0; row < scratch->hours && plan->idle_loss_at == 0; row++)
        if (lost_l[row] > least_l) {
            plan->idle_loss_at = scratch->time->hours[row].start;
            plan->idle_loss_is_overflow = overflow_l[row] > lost_l[row] / 2;
        }
    free(lost_l);
    free(overflow_l);
}

static bool burns_to_the_end(const struct plan *plan,
                             const struct plan_action *action)
{
    int row =
        (int)((action->end - plan->time.hours[0].start) / SECONDS_PER_HOUR);

    return row >= plan->time.hour_count || !plan->time.hours[row].attended;
}

/* Which fires waited though there was enough, and which go on next day. */
static void find_waits(struct plan *plan, const struct plan_rules *rules)
{
    for (int i = 0; i < plan->action_count; i++) {
        struct plan_action *action = &plan->actions[i];

        action->waits_from = -1;
        if (action->kind != PLAN_BOIL)
            continue;
        for (int day = action->day - 1;
             day >= 0 && boil_of_day(plan, day) == NULL &&
             held_at_end_l(plan, day) >= rules->smallest_boil_l;
             day--)
            action->waits_from = day;
        action->goes_on =
            burns_to_the_end(plan, action) &&
            action->day + 1 < plan->time.day_count &&
            boil_of_day(plan, action->day + 1) != NULL &&
            held_at_end_l(plan, action->day) >= rules->smallest_boil_l;
    }
}

struct plan *plan_make(const struct plan_rules *rules,
                       const struct plan_costs *costs,
                       const struct plan_time *time,
                       const struct plan_flow *flow,
                       const struct plan_stock *stock)
{
    struct plan *plan = mem_alloc(1, sizeof *plan);
    struct lived with = {.rules = rules,
                         .costs = costs,
                         .time = time,
                         .flow = flow,
                         .hours = time->hour_count};
    struct lived scratch = with;

    plan->time = *time;
    plan_search(rules, costs, time, flow, stock, plan->course);
    lived_alloc(&with);
    lived_alloc(&scratch);
    lived_run(&with, stock, plan->course);
    find_sums(plan, &with);
    plan->buckets_l = lived_medians(&with, with.buckets_l);
    plan->tanks_l = lived_medians(&with, with.tanks_l);
    find_actions(plan, &with, &scratch);
    refine_reasons(plan, rules);
    find_waits(plan, rules);
    find_idle_loss(plan, &scratch, stock);
    lived_free(&with);
    lived_free(&scratch);
    return plan;
}

const struct plan_action *plan_boil_after(const struct plan *plan,
                                          const struct plan_action *action)
{
    for (int i = 0; i < plan->action_count; i++)
        if (plan->actions[i].kind == PLAN_BOIL &&
            plan->actions[i].day == action->day &&
            plan->actions[i].start >= action->end)
            return &plan->actions[i];
    return NULL;
}

void plan_free(struct plan *plan)
{
    if (plan == NULL)
        return;
    free(plan->actions);
    free(plan->buckets_l);
    free(plan->tanks_l);
    free(plan);
}
