#include "plan/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "outlook/flow.h"
#include "plan/apart.h"
#include "plan/loss.h"
#include "plan/rounds.h"
#include "plan/search.h"

static const double action_share = 0.5, hard_ice = 1.0 / 3;
static const double action_loss_share = 0.05, plan_loss_share = 0.02;
static const double loss_chance_told = 0.3;
static const double idle_loss_share = 0.1; /* of a smallest boil */

static const double rounding_share = 1e-6;

enum { LAST_DAYS = 1 /* without a fire, for one to be called the last */ };

/* The rows that an action can take up: a day, or what a second round leaves
 * of it. */
struct rows {
    int from, to;
};

/* One member's part in an action, hours without a gap. */
struct part {
    int first;  /* row, -1 if it does nothing */
    double end; /* in hours, as rows */
    double sap_l;
};

/* The hours from a row's start on in which an action ends there: a fire takes
 * half an hour to start and half an hour after the last that it draws. */
static double ends_after_h(const struct lived *lived, enum plan_kind kind,
                           bool begins, double sap_l)
{
    if (kind == PLAN_COLLECT)
        return 1;
    return (begins ? 1 : 0.5) + sap_l / lived->teams->rules->sap_rate_l_h;
}

/* Of the fires or rounds in these rows that of this number, from 0 on. */
static struct part member_part(const struct lived *lived, int member,
                               struct rows rows, enum plan_kind kind,
                               int number)
{
    const double *done_l =
        kind == PLAN_BOIL ? lived->tale.boiled_l : lived->tale.collected_l;
    struct part part = {-1, 0, 0};
    bool was = false;

    for (int row = rows.from; row < rows.to && number >= 0; row++) {
        double sap_l =
            done_l[(size_t)row * lived->tale.stride + (size_t)member];
        bool does = sap_l >= 0;

        if (does && number == 0) {
            part.first = part.first < 0 ? row : part.first;
            part.end = row + ends_after_h(lived, kind, !was, sap_l);
            part.sap_l += sap_l;
        }
        number -= was && !does;
        was = does;
    }
    return part;
}

struct spread {
    double *first, *end, *sap_l; /* of the members that do it; owned */
    int count;
};

static struct spread action_spread(const struct lived *lived, struct rows rows,
                                   enum plan_kind kind, int number)
{
    size_t members = (size_t)lived->teams->members;
    struct spread spread = {mem_alloc(members, sizeof(double)),
                            mem_alloc(members, sizeof(double)),
                            mem_alloc(members, sizeof(double)), 0};

    for (int member = 0; member < lived->teams->members; member++) {
        struct part part = member_part(lived, member, rows, kind, number);

        if (part.first < 0)
            continue;
        spread.first[spread.count] = part.first;
        spread.end[spread.count] = part.end;
        spread.sap_l[spread.count++] = part.sap_l;
    }
    flow_sort(spread.first, spread.count);
    flow_sort(spread.end, spread.count);
    flow_sort(spread.sap_l, spread.count);
    return spread;
}

static void spread_free(struct spread *spread)
{
    free(spread->first);
    free(spread->end);
    free(spread->sap_l);
}

/* The moment at so many hours, taken to the half hour after. */
static utc_s half_hour(const struct lived *lived, double hours)
{
    return lived->teams->time->hours[0].start +
           (utc_s)ceil(2 * hours - rounding_share) * SECONDS_PER_HOUR / 2;
}

/* Start, amount and end are medians, each by itself: a fire must still burn as
 * long as that amount takes, if the day's attended hours allow it. */
static void burn_long_enough(const struct lived *lived,
                             struct plan_action *action)
{
    const struct plan_time *time = lived->teams->time;
    int first =
        (int)((action->start - time->hours[0].start) / SECONDS_PER_HOUR);
    double hours =
        first + 1 + action->sap_l_p50 / lived->teams->rules->sap_rate_l_h;
    int last = first;
    utc_s end;

    while (last + 1 < time->hour_count && time->hours[last + 1].attended)
        last++;
    end = half_hour(lived, fmin(hours, last + 1));
    action->end = action->end < end ? end : action->end;
}

/* The action of this number in the rows if most members do it. */
static bool find_action(const struct lived *lived, struct rows rows,
                        enum plan_kind kind, int number,
                        struct plan_action *action)
{
    struct spread spread = action_spread(lived, rows, kind, number);
    bool most = spread.count >= action_share * lived->teams->members;

    memset(action, 0, sizeof *action);
    if (most) {
        action->kind = kind;
        action->day = lived->teams->time->hours[rows.from].day;
        action->share = (double)spread.count / lived->teams->members;
        action->start = lived_row_start(
            lived, flow_quantile(spread.first, spread.count, 0.5));
        action->end =
            half_hour(lived, flow_quantile(spread.end, spread.count, 0.5));
        action->sap_l_p10 = flow_quantile(spread.sap_l, spread.count, 0.1);
        action->sap_l_p50 = flow_quantile(spread.sap_l, spread.count, 0.5);
        action->sap_l_p90 = flow_quantile(spread.sap_l, spread.count, 0.9);
        if (kind == PLAN_BOIL)
            burn_long_enough(lived, action);
    }
    spread_free(&spread);
    return most;
}

/* The course of the day without the action; `rows` are those in which it and
 * no other of its kind begins. */
static void leave_out(const struct plan_action *action, struct rows rows,
                      struct plan_day_choice *choice)
{
    if (action->kind == PLAN_BOIL) {
        choice->unlit[0] = (short)rows.from;
        choice->unlit[1] = (short)rows.to;
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
    struct plan_loss loss;

    memcpy(other, course, sizeof other);
    leave_out(action, rows, &other[action->day]);
    lived_run_from(scratch, with, action->day, other);
    loss =
        plan_loss_of(with, scratch, with->teams->time->day_first[action->day],
                     action_loss_share * action->sap_l_p50);
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
    bool feeds_another = false; /* a round for a fire beyond the days ahead */

    for (int i = 0; i < plan->action_count; i++) {
        struct plan_action *action = &plan->actions[i];

        if (action->kind != PLAN_BOIL) {
            feeds_another |= last != NULL && action->day > last->day;
            continue;
        }
        last = action;
        feeds_another = false;
        if (action->reason == PLAN_REASON_FULL_FIRE &&
            freezes_after(&plan->time, rules, action->day))
            action->reason = PLAN_REASON_FREEZE_UP;
    }
    if (last != NULL)
        last->is_last = !feeds_another &&
                        last->day + LAST_DAYS < plan->time.day_count &&
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

/* The actions of one kind in these rows, one after the other. */
static void find_in_rows(struct plan *plan, const struct lived *with,
                         struct lived *scratch, enum plan_kind kind,
                         struct rows rows)
{
    struct plan_action action, next;
    bool found = find_action(with, rows, kind, 0, &action);

    for (int number = 1; found; number++) {
        struct rows begins = rows;

        found = find_action(with, rows, kind, number, &next);
        if (found) {
            next.start = next.start < action.end ? action.end : next.start;
            begins.to = plan_row_of(plan, next.start);
        }
        find_reason(with, scratch, plan->course, begins, &action);
        add_action(plan, &action);
        rows.from = begins.to;
        action = next;
    }
}

/* The actions of one kind in the day's rows, apart at the row `split` (-1: not
 * apart). */
static void find_kind(struct plan *plan, const struct lived *with,
                      struct lived *scratch, enum plan_kind kind, int day,
                      int split)
{
    struct rows rows = day_rows(plan, day);

    while (rows.from < day_rows(plan, day).to) {
        rows.to = split > rows.from ? split : day_rows(plan, day).to;
        find_in_rows(plan, with, scratch, kind, rows);
        rows.from = rows.to;
    }
}

/* The round that finds the fire out in the middle of the day: who is alone
 * lights it again afterwards. -1 without. */
static int round_between(const struct plan *plan, const struct lived *with,
                         int day)
{
    for (int i = 0; i < plan->action_count && with->teams->rules->hands == 1;
         i++) {
        const struct plan_action *action = &plan->actions[i];
        int row = plan_row_of(plan, action->start);

        if (action->day == day && action->kind == PLAN_COLLECT &&
            row > plan->course[day].boil_from)
            return row;
    }
    return -1;
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
    if (with->teams->rules->hands == 1)
        plan_keep_apart(plan);
}

static void find_sums(struct plan *plan, const struct lived *with)
{
    const struct plan_rules *rules = with->teams->rules;
    int members = with->teams->members, losing = 0;

    for (int member = 0; member < members; member++) {
        const struct team *end = &with->now[member / TEAM];
        int lane = member % TEAM;
        double lost = end->overflow_l[lane] + end->spoiled_l[lane];

        plan->ran_l += end->ran_l[lane] / members;
        plan->boiled_l += end->boiled_l[lane] / members;
        plan->overflow_l += end->overflow_l[lane] / members;
        plan->spoiled_l += end->spoiled_l[lane] / members;
        plan->held_l += (team_in_buckets_l(end, lane, rules) +
                         team_in_tanks_l(end, lane, rules)) /
                        members;
        losing += lost > plan_loss_share * end->ran_l[lane] && lost > 1;
    }
    plan->overflow_chance = (double)losing / members;
}

/* The first row of the day at which the median member has lost so much: half
 * of them, or more, have. */
static int first_loss(const struct lived *lived, struct rows rows,
                      double least_l, short *order)
{
    int members = lived->teams->members;

    for (int row = rows.from; row < rows.to; row++) {
        const double *lost_l =
            lived->tale.lost_l + (size_t)row * lived->tale.stride;
        int losing = 0;

        for (int member = 0; member < members; member++)
            losing += lost_l[member] > least_l;
        if (2 * losing >= members &&
            lived_median(lost_l, members, order) > least_l)
            return row;
    }
    return -1;
}

/* Without any action: when is the first sap lost, and how? */
static void find_idle_loss(struct plan *plan, struct lived *scratch,
                           const struct plan_stock *stock)
{
    static const struct plan_day_choice idle = {{-1, -1}, -1, {0, 0}};
    double least_l = idle_loss_share * scratch->teams->rules->smallest_boil_l;
    int members = scratch->teams->members, row = -1;
    short *order = lived_order(members);

    lived_begin(scratch, stock);
    for (int day = 0; day < plan->time.day_count && row < 0; day++) {
        lived_day(scratch, day, &idle);
        row = first_loss(scratch, day_rows(plan, day), least_l, order);
    }
    if (row >= 0) {
        size_t at = (size_t)row * scratch->tale.stride;
        double lost_l = lived_median(scratch->tale.lost_l + at, members, order);

        plan->idle_loss_at = plan->time.hours[row].start;
        plan->idle_loss_is_overflow =
            lived_median(scratch->tale.overflow_l + at, members, order) >
            lost_l / 2;
    }
    free(order);
}

static bool burns_to_the_end(const struct plan *plan,
                             const struct plan_action *action)
{
    int row = plan_row_of(plan, action->end);

    return row >= plan->time.hour_count || !plan->time.hours[row].attended;
}

/* Which fires waited though there was enough, and which go on next day. Of
 * the fires of one day only the first has waited. */
static void find_waits(struct plan *plan, const struct plan_rules *rules)
{
    for (int i = 0; i < plan->action_count; i++) {
        struct plan_action *action = &plan->actions[i];

        action->waits_from = -1;
        if (action->kind != PLAN_BOIL)
            continue;
        for (int day = action->day - 1;
             day >= 0 && boil_of_day(plan, action->day) == action &&
             boil_of_day(plan, day) == NULL &&
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
    struct lived with, scratch;
    struct teams teams;

    plan->time = *time;
    plan_search(rules, costs, time, flow, stock, plan->course);
    teams_begin(&teams, rules, costs, time, flow);
    lived_alloc(&with, &teams, true);
    lived_alloc(&scratch, &teams, false);
    lived_run(&with, stock, plan->course);
    if (plan_drop_rounds(&with, plan->course))
        lived_run(&with, stock, plan->course);
    find_sums(plan, &with);
    plan->buckets_l = lived_medians(&with, with.tale.buckets_l);
    plan->tanks_l = lived_medians(&with, with.tale.tanks_l);
    find_actions(plan, &with, &scratch);
    refine_reasons(plan, rules);
    find_waits(plan, rules);
    find_idle_loss(plan, &scratch, stock);
    lived_free(&with);
    lived_free(&scratch);
    teams_end(&teams);
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
