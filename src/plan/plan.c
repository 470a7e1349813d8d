#include "plan/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "plan/search.h"

static const double action_share = 0.5, hard_ice = 1.0 / 3;
static const double action_loss_share = 0.05, plan_loss_share = 0.02;
static const double idle_loss_share = 0.1; /* of a smallest boil */

enum { LAST_DAYS = 2 /* without a fire, for one to be called the last */ };

/* The course lived through by every member. */
struct lived {
    const struct plan_rules *rules;
    const struct plan_costs *costs;
    const struct plan_time *time;
    const struct plan_flow *flow;
    struct plan_stock *ends; /* [member]; owned */
    struct plan_deed *deeds; /* [member * hours + row]; owned */
    /* [member * hours + row], at the hour's end; owned */
    double *buckets_l, *tanks_l, *lost_l, *overflow_l;
    int hours;
};

static void live_hour(struct lived *lived, int member, int row,
                      const struct plan_day_choice *choice,
                      struct plan_stock *stock, bool *round)
{
    const struct plan_flow *flow = lived->flow;
    const double *sap_l = flow->sap_l + (size_t)member * (size_t)flow->streams *
                                            (size_t)flow->hours;
    double inflow_l[PLAN_MAX_GROUPS + 1];
    size_t at = (size_t)member * (size_t)lived->hours + (size_t)row;

    for (int stream = 0; stream < flow->streams; stream++)
        inflow_l[stream] = sap_l[stream * flow->hours + row];
    lived->deeds[at] =
        plan_stock_hour(stock, lived->rules, lived->costs, lived->time, row,
                        choice, inflow_l, round);
    lived->buckets_l[at] = plan_stock_in_buckets_l(stock, lived->rules);
    lived->tanks_l[at] = plan_stock_in_tanks_l(stock, lived->rules);
    lived->lost_l[at] = stock->overflow_l + stock->spoiled_l;
    lived->overflow_l[at] = stock->overflow_l;
}

static void live(struct lived *lived, const struct plan_stock *stock,
                 const struct plan_day_choice *course)
{
    for (int member = 0; member < lived->flow->members; member++) {
        struct plan_stock *now = &lived->ends[member];

        *now = *stock;
        for (int day = 0; day < lived->time->day_count; day++) {
            bool round = false;

            for (int row = lived->time->day_first[day];
                 row < lived->time->day_first[day + 1]; row++)
                live_hour(lived, member, row, &course[day], now, &round);
        }
    }
}

static void lived_alloc(struct lived *lived)
{
    size_t members = (size_t)lived->flow->members;
    size_t cells = members * (size_t)lived->hours + 1;

    lived->ends = mem_alloc(members, sizeof *lived->ends);
    lived->deeds = mem_alloc(cells, sizeof *lived->deeds);
    lived->buckets_l = mem_alloc(cells, sizeof(double));
    lived->tanks_l = mem_alloc(cells, sizeof(double));
    lived->lost_l = mem_alloc(cells, sizeof(double));
    lived->overflow_l = mem_alloc(cells, sizeof(double));
}

static void lived_free(struct lived *lived)
{
    free(lived->ends);
    free(lived->deeds);
    free(lived->buckets_l);
    free(lived->tanks_l);
    free(lived->lost_l);
    free(lived->overflow_l);
}

static int compare_numbers(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double quantile(const double *sorted, int count, double share)
{
    double place = share * (count - 1);
    int below = (int)floor(place);
    int above = below + 1 < count ? below + 1 : below;

    if (count == 0)
        return 0;
    return sorted[below] + (sorted[above] - sorted[below]) * (place - below);
}

static void sort_numbers(double *values, int count)
{
    qsort(values, (size_t)count, sizeof *values, compare_numbers);
}

/* One member's part in an action. */
struct part {
    int first, last; /* rows, -1 if it does nothing */
    double sap_l;
};

static struct part member_part(const struct lived *lived, int member, int day,
                               enum plan_kind kind)
{
    struct part part = {-1, -1, 0};

    for (int row = lived->time->day_first[day];
         row < lived->time->day_first[day + 1]; row++) {
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

static struct spread action_spread(const struct lived *lived, int day,
                                   enum plan_kind kind)
{
    size_t members = (size_t)lived->flow->members;
    struct spread spread = {mem_alloc(members, sizeof(double)),
                            mem_alloc(members, sizeof(double)),
                            mem_alloc(members, sizeof(double)), 0};

    for (int member = 0; member < lived->flow->members; member++) {
        struct part part = member_part(lived, member, day, kind);

        if (part.first < 0)
            continue;
        spread.first[spread.count] = part.first;
        spread.last[spread.count] = part.last;
        spread.sap_l[spread.count++] = part.sap_l;
    }
    sort_numbers(spread.first, spread.count);
    sort_numbers(spread.last, spread.count);
    sort_numbers(spread.sap_l, spread.count);
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
static bool find_action(const struct lived *lived, int day, enum plan_kind kind,
                        struct plan_action *action)
{
    struct spread spread = action_spread(lived, day, kind);
    bool most = spread.count >= action_share * lived->flow->members;

    memset(action, 0, sizeof *action);
    if (most) {
        action->kind = kind;
        action->day = day;
        action->share = (double)spread.count / lived->flow->members;
        action->start =
            row_start(lived->time, quantile(spread.first, spread.count, 0.5));
        action->end =
            row_start(lived->time, quantile(spread.last, spread.count, 0.5)) +
            SECONDS_PER_HOUR;
        action->sap_l_p10 = quantile(spread.sap_l, spread.count, 0.1);
        action->sap_l_p50 = quantile(spread.sap_l, spread.count, 0.5);
        action->sap_l_p90 = quantile(spread.sap_l, spread.count, 0.9);
    }
    spread_free(&spread);
    return most;
}

/* The row at which one course has lost `more_l` more than the other, -1 if
 * never. */
static int loss_row(const struct lived *with, const struct lived *without,
                    int member, double more_l)
{
    for (int row = 0; row < with->hours; row++) {
        size_t at = (size_t)member * (size_t)with->hours + (size_t)row;

        if (without->lost_l[at] - with->lost_l[at] > more_l)
            return row;
    }
    return -1;
}

struct loss {
    double overflow_l, spoiled_l; /* means */
    double chance;
    utc_s at;
};

static struct loss compare_lives(const struct lived *with,
                                 const struct lived *without, double sap_l)
{
    int members = with->flow->members, count = 0;
    double *rows = mem_alloc((size_t)members, sizeof *rows);
    struct loss loss = {0};

    for (int member = 0; member < members; member++) {
        const struct plan_stock *a = &with->ends[member];
        const struct plan_stock *b = &without->ends[member];
        int row = loss_row(with, without, member, action_loss_share * sap_l);

        loss.overflow_l += (b->overflow_l - a->overflow_l) / members;
        loss.spoiled_l += (b->spoiled_l - a->spoiled_l) / members;
        if (row >= 0)
            rows[count++] = row;
    }
    sort_numbers(rows, count);
    loss.chance = (double)count / members;
    loss.at = count > 0 ? row_start(with->time, quantile(rows, count, 0.5)) : 0;
    free(rows);
    return loss;
}

/* Lives without the one action and says what that costs. */
static void find_reason(const struct lived *with, struct lived *scratch,
                        const struct plan_stock *stock,
                        const struct plan_day_choice *course,
                        struct plan_action *action)
{
    struct plan_day_choice other[PLAN_MAX_DAYS];
    struct loss loss;

    memcpy(other, course, sizeof other);
    if (action->kind == PLAN_BOIL)
        other[action->day].boil_from = -1;
    else
        other[action->day].collect_at[0] = other[action->day].collect_at[1] =
            -1;
    live(scratch, stock, other);
    loss = compare_lives(with, scratch, action->sap_l_p50);
    action->loss_l = fmax(loss.overflow_l + loss.spoiled_l, 0);
    action->loss_chance = loss.chance;
    action->loss_at = loss.at;
    if (action->loss_l < action_loss_share * action->sap_l_p50)
        action->reason = PLAN_REASON_FULL_FIRE;
    else if (loss.overflow_l >= loss.spoiled_l)
        action->reason = PLAN_REASON_OVERFLOW;
    else
        action->reason = PLAN_REASON_SPOILAGE;
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
    if (last != NULL && last->reason == PLAN_REASON_FULL_FIRE &&
        last->day + LAST_DAYS < plan->time.day_count &&
        held_at_end_l(plan, plan->time.day_count - 1) < rules->smallest_boil_l)
        last->reason = PLAN_REASON_LAST;
}

static void add_action(struct plan *plan, const struct plan_action *action)
{
    plan->actions = mem_resize(plan->actions, (size_t)plan->action_count + 1,
                               sizeof *plan->actions);
    plan->actions[plan->action_count++] = *action;
}

static void find_actions(struct plan *plan, const struct lived *with,
                         struct lived *scratch, const struct plan_stock *stock)
{
    static const enum plan_kind kinds[] = {PLAN_COLLECT, PLAN_BOIL};

    for (int day = 0; day < plan->time.day_count; day++)
        for (int i = 0; i < 2; i++) {
            struct plan_action action;

            if (!find_action(with, day, kinds[i], &action))
                continue;
            find_reason(with, scratch, stock, plan->course, &action);
            add_action(plan, &action);
        }
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

static double *medians(const struct lived *lived, const double *cells)
{
    int members = lived->flow->members;
    double *out = mem_alloc((size_t)lived->hours + 1, sizeof *out);
    double *column = mem_alloc((size_t)members, sizeof *column);

    for (int row = 0; row < lived->hours; row++) {
        for (int member = 0; member < members; member++)
            column[member] = cells[member * lived->hours + row];
        sort_numbers(column, members);
        out[row] = quantile(column, members, 0.5);
    }
    free(column);
    return out;
}

/* Without any action: when is the first sap lost, and how? */
static void find_idle_loss(struct plan *plan, struct lived *scratch,
                           const struct plan_stock *stock)
{
    struct plan_day_choice idle[PLAN_MAX_DAYS];
    double least_l = idle_loss_share * scratch->rules->smallest_boil_l;
    double *lost_l, *overflow_l;

    for (int day = 0; day < PLAN_MAX_DAYS; day++)
        idle[day] = (struct plan_day_choice){{-1, -1}, -1};
    live(scratch, stock, idle);
    lost_l = medians(scratch, scratch->lost_l);
    overflow_l = medians(scratch, scratch->overflow_l);
    for (int row = 0; row < scratch->hours && plan->idle_loss_at == 0; row++)
        if (lost_l[row] > least_l) {
            plan->idle_loss_at = scratch->time->hours[row].start;
            plan->idle_loss_is_overflow = overflow_l[row] > lost_l[row] / 2;
        }
    free(lost_l);
    free(overflow_l);
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
    live(&with, stock, plan->course);
    find_sums(plan, &with);
    plan->buckets_l = medians(&with, with.buckets_l);
    plan->tanks_l = medians(&with, with.tanks_l);
    find_actions(plan, &with, &scratch, stock);
    refine_reasons(plan, rules);
    find_waits(plan, rules);
    find_idle_loss(plan, &scratch, stock);
    lived_free(&with);
    lived_free(&scratch);
    return plan;
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
