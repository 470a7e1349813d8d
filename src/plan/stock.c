#include "plan/stock.h"

#include <math.h>
#include <string.h>

enum { NIGHT_FROM_MIN = 20 * 60 };

static const double nearly_none_l = 1e-9;

struct plan_stock plan_stock_of_member(const struct plan_stock *stock,
                                       int member)
{
    struct plan_stock own = *stock;

    own.keeping = member % PLAN_KEEPINGS;
    return own;
}

/* Older and younger sap mixed: life goes by volume. */
static void add_sap(struct plan_sap *to, double l, double life_used)
{
    double sum = to->l + l;

    if (sum <= nearly_none_l) {
        to->l = sum;
        return;
    }
    to->life_used = (to->l * to->life_used + l * life_used) / sum;
    to->l = sum;
}

static double take_sap(struct plan_sap *from, double l)
{
    double taken = l < from->l ? l : from->l;

    from->l -= taken;
    if (from->l <= nearly_none_l) {
        taken += from->l;
        from->l = 0;
        from->life_used = 0;
    }
    if (from->ice_l > from->l)
        from->ice_l = from->l;
    return taken;
}

/* What can be had of it: the ice, and as much again in its slush, cannot. */
static double liquid_l(const struct plan_sap *sap)
{
    double l = sap->l - 2 * sap->ice_l;

    return l > 0 ? l : 0;
}

double plan_stock_in_buckets_l(const struct plan_stock *stock,
                               const struct plan_rules *rules)
{
    double sum = 0;

    for (int group = 0; group < rules->group_count; group++)
        sum += stock->buckets[group].l;
    return sum;
}

double plan_stock_in_tanks_l(const struct plan_stock *stock,
                             const struct plan_rules *rules)
{
    double sum = 0;

    for (int tank = 0; tank < rules->tank_count; tank++)
        sum += stock->tanks[tank].l;
    return sum;
}

double plan_stock_tank_room_l(const struct plan_stock *stock,
                              const struct plan_rules *rules)
{
    double sum = 0;

    for (int tank = 0; tank < rules->tank_count; tank++)
        sum += rules->tanks[tank].size_l - stock->tanks[tank].l;
    return sum > 0 ? sum : 0;
}

/* Into the tanks, the one nearest the pan first; what finds no room is
 * returned. */
static double pour(struct plan_stock *stock, const struct plan_rules *rules,
                   double l, double life_used)
{
    for (int tank = rules->tank_count - 1; tank >= 0 && l > 0; tank--) {
        double room = rules->tanks[tank].size_l - stock->tanks[tank].l;
        double part = l < room ? l : room;

        if (part <= 0)
            continue;
        add_sap(&stock->tanks[tank], part, life_used);
        l -= part;
    }
    return l;
}

static void spill(struct plan_stock *stock, const struct plan_costs *costs,
                  double l)
{
    if (l <= 0)
        return;
    stock->overflow_l += l;
    stock->cost += l * costs->overflow_per_l;
}

static void run_in(struct plan_stock *stock, const struct plan_rules *rules,
                   const struct plan_costs *costs, const double *inflow_l)
{
    for (int group = 0; group < rules->group_count; group++) {
        struct plan_sap *buckets = &stock->buckets[group];
        double over;

        stock->ran_l += inflow_l[group];
        add_sap(buckets, inflow_l[group], 0);
        over = buckets->l - rules->groups[group].holds_l;
        if (over > 0)
            spill(stock, costs, take_sap(buckets, over));
    }
    stock->ran_l += inflow_l[rules->group_count];
    spill(stock, costs, pour(stock, rules, inflow_l[rules->group_count], 0));
}

/* Carries in what an hour allows and the tanks have room for. */
static double collect(struct plan_stock *stock, const struct plan_rules *rules)
{
    double can = rules->collect_l_h, carried = 0;
    double room = plan_stock_tank_room_l(stock, rules);

    can = can < room ? can : room;
    for (int group = 0; group < rules->group_count && can > carried; group++) {
        double life_used = stock->buckets[group].life_used;
        double liquid = liquid_l(&stock->buckets[group]);
        double part = can - carried;

        part = take_sap(&stock->buckets[group], part < liquid ? part : liquid);
        pour(stock, rules, part, life_used);
        carried += part;
    }
    return carried;
}

/* Sap that the pan can draw. */
static double drawable_l(const struct plan_stock *stock,
                         const struct plan_rules *rules)
{
    double sum = 0;

    for (int tank = 0; tank < rules->tank_count; tank++)
        sum += liquid_l(&stock->tanks[tank]);
    return sum;
}

static double draw(struct plan_stock *stock, const struct plan_rules *rules,
                   const struct plan_costs *costs, double l)
{
    double drawn = 0;

    for (int tank = rules->tank_count - 1; tank >= 0 && drawn < l; tank--) {
        double life_used = stock->tanks[tank].life_used;
        double liquid = liquid_l(&stock->tanks[tank]), part = l - drawn;

        part = take_sap(&stock->tanks[tank], part < liquid ? part : liquid);
        stock->cost += part * life_used * costs->held_per_life;
        drawn += part;
    }
    return drawn;
}

/* Half an hour to start and half an hour to finish. */
static double boil(struct plan_stock *stock, const struct plan_rules *rules,
                   const struct plan_costs *costs, const struct plan_time *time,
                   int row)
{
    const struct plan_hour *hour = &time->hours[row];
    bool last = row + 1 >= time->hour_count || !time->hours[row + 1].attended;
    double can =
        rules->sap_rate_l_h * (stock->lit ? 1 : 0.5) * (last ? 0.5 : 1);
    double boiled = draw(stock, rules, costs, can);

    if (!stock->lit) {
        stock->lit_count++;
        stock->cost += costs->light_up;
        if (hour->day == 0)
            stock->cost += costs->early_per_h *
                           (rules->attended_to_min - hour->minute) / 60;
    }
    stock->fire_h += 1;
    if (hour->minute >= NIGHT_FROM_MIN) {
        stock->night_h += 1;
        stock->cost += costs->night_per_h;
    }
    stock->boiled_l += boiled;
    stock->lit = !last && drawable_l(stock, rules) > rules->sap_rate_l_h / 2;
    return boiled;
}

/* Ice grows by a share of the sap or melts likewise; returns what froze. */
static double freeze(struct plan_sap *sap, double share)
{
    double was_l = sap->ice_l, ice_l = was_l + share * sap->l;

    if (share <= 0 && was_l <= 0)
        return 0;
    sap->ice_l = ice_l < 0 ? 0 : ice_l > sap->l ? sap->l : ice_l;
    return sap->ice_l > was_l ? sap->ice_l - was_l : 0;
}

/* Ice keeps; the rest grows older, at freezing while there is ice in it. */
static void age_sap(struct plan_stock *stock, struct plan_sap *sap,
                    const struct plan_costs *costs,
                    const struct plan_hour *hour, double life_used)
{
    if (sap->ice_l > 0)
        life_used = (life_used < hour->icy_life_used ? life_used
                                                     : hour->icy_life_used) *
                    (1 - sap->ice_l / sap->l);
    sap->life_used += life_used;
    if (sap->life_used < 1)
        return;
    stock->spoiled_l += sap->l;
    stock->cost += sap->l * costs->spoiled_per_l;
    *sap = (struct plan_sap){0, 0, 0};
}

static void age(struct plan_stock *stock, const struct plan_rules *rules,
                const struct plan_costs *costs, const struct plan_hour *hour)
{
    for (int group = 0; group < rules->group_count; group++) {
        struct plan_sap *sap = &stock->buckets[group];

        if (sap->l <= 0)
            continue;
        freeze(sap, hour->bucket_ice);
        age_sap(stock, sap, costs, hour,
                hour->bucket_life_used[stock->keeping]);
    }
    for (int tank = 0; tank < rules->tank_count; tank++) {
        struct plan_sap *sap = &stock->tanks[tank];

        if (sap->l <= 0)
            continue;
        stock->cost += costs->ice_per_l * freeze(sap, hour->tank_ice[tank]);
        age_sap(stock, sap, costs, hour,
                hour->tank_life_used[stock->keeping][tank]);
    }
}

/* What could be carried in of the buckets. */
static double carriable_l(const struct plan_stock *stock,
                          const struct plan_rules *rules)
{
    double sum = 0;

    for (int group = 0; group < rules->group_count; group++)
        sum += liquid_l(&stock->buckets[group]);
    return sum;
}

/* A round goes on until the buckets are empty, the tanks are full or the
 * day's work is over. */
static bool round_goes_on(const struct plan_stock *stock,
                          const struct plan_rules *rules,
                          const struct plan_day_choice *choice, int row,
                          bool round)
{
    if (row == choice->collect_at[0] || row == choice->collect_at[1])
        round = true;
    return round && carriable_l(stock, rules) > rules->collect_l_h / 60 &&
           plan_stock_tank_room_l(stock, rules) > 1;
}

/* Lit with at least two hours to go: one to start, one to finish. */
static bool fire_burns(const struct plan_stock *stock,
                       const struct plan_rules *rules,
                       const struct plan_time *time, int row,
                       const struct plan_day_choice *choice)
{
    if (stock->lit)
        return true;
    if (choice->light_until > 0 && row >= choice->light_until)
        return false;
    return choice->boil_from >= 0 && row >= choice->boil_from &&
           row + 1 < time->hour_count && time->hours[row + 1].attended &&
           drawable_l(stock, rules) >= rules->smallest_boil_l;
}

struct plan_deed plan_stock_hour(struct plan_stock *stock,
                                 const struct plan_rules *rules,
                                 const struct plan_costs *costs,
                                 const struct plan_time *time, int row,
                                 const struct plan_day_choice *choice,
                                 const double *inflow_l, bool *round)
{
    const struct plan_hour *hour = &time->hours[row];
    struct plan_deed deed = {false, false, 0, 0};
    bool was_round = *round;

    run_in(stock, rules, costs, inflow_l);
    *round = hour->attended && !(stock->lit && rules->hands < 2) &&
             round_goes_on(stock, rules, choice, row, was_round);
    if (*round) {
        if (!was_round) {
            stock->trips++;
            stock->cost += costs->trip;
        }
        deed.collecting = true;
        deed.collected_l = collect(stock, rules);
        /* What drips in while the last buckets are emptied waits for the
         * next round. */
        *round = carriable_l(stock, rules) > rules->collect_l_h / 60;
    }
    if (hour->attended && (!deed.collecting || rules->hands >= 2) &&
        fire_burns(stock, rules, time, row, choice)) {
        deed.boiling = true;
        deed.boiled_l = boil(stock, rules, costs, time, row);
    } else {
        stock->lit = false;
    }
    age(stock, rules, costs, hour);
    return deed;
}

static struct plan_deed
pass_row(struct plan_stock *stock, const struct plan_rules *rules,
         const struct plan_costs *costs, const struct plan_time *time, int row,
         const struct plan_day_choice *choice, const struct plan_flow *flow,
         int member, bool *round)
{
    const double *sap_l = flow->sap_l + (size_t)member * (size_t)flow->streams *
                                            (size_t)flow->hours;
    double inflow_l[PLAN_MAX_GROUPS + 1] = {0};

    for (int stream = 0; stream < flow->streams; stream++)
        inflow_l[stream] = sap_l[stream * flow->hours + row];
    return plan_stock_hour(stock, rules, costs, time, row, choice, inflow_l,
                           round);
}

void plan_stock_run(struct plan_stock *stock, const struct plan_rules *rules,
                    const struct plan_costs *costs,
                    const struct plan_time *time, int from, int to,
                    const struct plan_day_choice *choice,
                    const struct plan_flow *flow, int member, bool *round)
{
    for (int row = from; row < to; row++)
        pass_row(stock, rules, costs, time, row, choice, flow, member, round);
}

void plan_stock_rows(struct plan_stock *stock, const struct plan_rules *rules,
                     const struct plan_costs *costs,
                     const struct plan_time *time, int from, int to,
                     const struct plan_day_choice *choice,
                     const struct plan_flow *flow, int member,
                     struct plan_deed *deeds)
{
    bool round = false;

    for (int row = from; row < to; row++) {
        struct plan_deed deed = pass_row(stock, rules, costs, time, row, choice,
                                         flow, member, &round);
        if (deeds != NULL)
            deeds[row - from] = deed;
    }
}

static double held_cost(const struct plan_sap *sap,
                        const struct plan_costs *costs)
{
    /* By the time it is boiled it will be older: half of what it has left is
     * taken as the risk that it spoils. */
    return sap->l * (0.02 + 0.35 * sap->life_used * sap->life_used) *
           costs->spoiled_per_l;
}

/* Where few hours are attended: what a day's fire does not take, the fires of
 * the days after will not take either while the trees run. */
static double backlog_cost(const struct plan_stock *stock,
                           const struct plan_rules *rules,
                           const struct plan_costs *costs)
{
    int hours = (rules->attended_to_min - rules->attended_from_min) / 60 - 1;
    double over;

    if (!plan_has_few_hours(rules))
        return 0;
    over = plan_stock_in_buckets_l(stock, rules) +
           plan_stock_in_tanks_l(stock, rules) - hours * rules->sap_rate_l_h;
    return over > 0 ? over * costs->backlog_per_l : 0;
}

double plan_stock_held_cost(const struct plan_stock *stock,
                            const struct plan_rules *rules,
                            const struct plan_costs *costs)
{
    double cost = backlog_cost(stock, rules, costs);

    for (int group = 0; group < rules->group_count; group++)
        cost += held_cost(&stock->buckets[group], costs);
    for (int tank = 0; tank < rules->tank_count; tank++)
        cost += held_cost(&stock->tanks[tank], costs);
    return cost;
}
