#include "plan/stock.h"

#include <string.h>

#include "plan/team.h"

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

/* A team of one, for this row. */
struct alone {
    struct teams teams;
    struct team team;
    double inflow_l[TEAM_STREAMS * TEAM], life_used[TEAM_PLACES * TEAM];
};

static void set_alone(struct alone *alone, const struct plan_stock *stock,
                      const struct plan_rules *rules,
                      const struct plan_costs *costs)
{
    memset(alone, 0, sizeof *alone);
    alone->teams =
        (struct teams){.rules = rules,
                       .costs = costs,
                       .members = 1,
                       .count = 1,
                       .places = rules->group_count + rules->tank_count,
                       .streams = rules->group_count + 1,
                       .rows = 1,
                       .ways = 1,
                       .inflow_l = alone->inflow_l,
                       .life_used = alone->life_used,
                       .pass = team_pass_of(1)};
    team_put(&alone->team, 0, rules, stock);
}

struct plan_deed plan_stock_hour(struct plan_stock *stock,
                                 const struct plan_rules *rules,
                                 const struct plan_costs *costs,
                                 const struct plan_time *time, int row,
                                 const struct plan_day_choice *choice,
                                 const double *inflow_l, bool *round)
{
    double collected_l[TEAM], boiled_l[TEAM];
    struct team_tale tale = {.collected_l = collected_l, .boiled_l = boiled_l};
    struct alone alone;
    int ways[TEAM];

    set_alone(&alone, stock, rules, costs);
    alone.teams.time = time;
    alone.teams.first_row = row;
    alone.team.round[0] = *round ? -1 : 0;
    for (int i = 0; i <= rules->group_count; i++)
        alone.inflow_l[i * TEAM] = inflow_l[i];
    for (int lane = 0; lane < TEAM; lane++)
        ways[lane] = stock->keeping;
    team_lay_life_used(rules, &time->hours[row], ways, alone.life_used);
    alone.teams.pass(&alone.teams, &alone.team, row, row + 1, choice, &tale,
                     NULL);
    team_get(&alone.team, 0, rules, stock);
    *round = alone.team.round[0] != 0;
    return (struct plan_deed){collected_l[0] >= 0, boiled_l[0] >= 0,
                              collected_l[0] > 0 ? collected_l[0] : 0,
                              boiled_l[0] > 0 ? boiled_l[0] : 0};
}

void plan_stock_rows(struct plan_stock *stock, const struct plan_rules *rules,
                     const struct plan_costs *costs,
                     const struct plan_time *time, int from, int to,
                     const struct plan_day_choice *choice,
                     const struct plan_flow *flow, int member,
                     struct plan_deed *deeds)
{
    const double *sap_l = flow->sap_l + (size_t)member * (size_t)flow->streams *
                                            (size_t)flow->hours;
    bool round = false;

    for (int row = from; row < to; row++) {
        double inflow_l[TEAM_STREAMS] = {0};
        struct plan_deed deed;

        for (int stream = 0; stream < flow->streams; stream++)
            inflow_l[stream] = sap_l[stream * flow->hours + row];
        deed = plan_stock_hour(stock, rules, costs, time, row, choice, inflow_l,
                               &round);
        if (deeds != NULL)
            deeds[row - from] = deed;
    }
}

double plan_stock_held_cost(const struct plan_stock *stock,
                            const struct plan_rules *rules,
                            const struct plan_costs *costs)
{
    static const struct plan_day_choice idle = {{-1, -1}, -1, {0, 0}};
    double held_cost[TEAM];
    struct alone alone;

    set_alone(&alone, stock, rules, costs);
    alone.teams.pass(&alone.teams, &alone.team, 0, 0, &idle, NULL, held_cost);
    return held_cost[0];
}
