#include "plan/team.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#ifdef __x86_64__
#include <immintrin.h>
#endif

/* Vectors are handed over within functions that are put into each other: no
 * calling convention has a part in it. */
#pragma GCC diagnostic ignored "-Wpsabi"

enum { NIGHT_FROM_MIN = 20 * 60, CACHE_LINE = 64 };

static const double nearly_none_l = 1e-9;

static const double *inflow_at(const struct teams *teams, int number, int row)
{
    size_t at =
        (size_t)number * (size_t)teams->rows + (size_t)(row - teams->first_row);

    return teams->inflow_l + at * (size_t)teams->streams * TEAM;
}

static const double *life_used_at(const struct teams *teams, int number,
                                  int row)
{
    size_t at = (size_t)(number % teams->ways) * (size_t)teams->rows +
                (size_t)(row - teams->first_row);

    return teams->life_used + at * (size_t)teams->places * TEAM;
}

#define LANES 1
#define TARGET
#define KERNEL(name) alone_##name
#include "plan/team_kernel.inc"
#include "plan/team_kernel_pass.inc"

#ifdef __x86_64__
#define LANES 4
#define TARGET __attribute__((target("avx2")))
#define KERNEL(name) avx2_##name
#include "plan/team_kernel.inc"
#include "plan/team_kernel_pass.inc"

#define LANES 8
#define TARGET __attribute__((target("avx512f,avx512dq")))
#define KERNEL(name) avx512_##name
#include "plan/team_kernel.inc"
#include "plan/team_kernel_pass.inc"
#endif

int team_lanes(void)
{
#ifdef __x86_64__
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq"))
        return 8;
    if (__builtin_cpu_supports("avx2"))
        return 4;
#endif
    return 1;
}

team_pass *team_pass_of(int lanes)
{
#ifdef __x86_64__
    if (lanes == 8)
        return avx512_pass;
    if (lanes == 4)
        return avx2_pass;
#else
    (void)lanes;
#endif
    return alone_pass;
}

static void *lines_alloc(size_t bytes, void **memory)
{
    size_t past;

    *memory = mem_alloc(bytes + CACHE_LINE, 1);
    past = (uintptr_t)*memory % CACHE_LINE;
    return (char *)*memory + (past > 0 ? CACHE_LINE - past : 0);
}

struct team *team_alloc(size_t count, void **memory)
{
    return lines_alloc(count * sizeof(struct team), memory);
}

static void lay_inflow(const struct teams *teams, const struct plan_flow *flow,
                       double *inflow_l)
{
    size_t row = (size_t)teams->streams * TEAM;
    int streams =
        flow->streams < teams->streams ? flow->streams : teams->streams;

    for (int member = 0; member < teams->members; member++)
        for (int stream = 0; stream < streams; stream++) {
            const double *from =
                flow->sap_l +
                ((size_t)member * (size_t)flow->streams + (size_t)stream) *
                    (size_t)flow->hours;
            double *to = inflow_l +
                         (size_t)(member / TEAM) * (size_t)teams->rows * row +
                         stream * TEAM + member % TEAM;

            for (int i = 0; i < teams->rows; i++, to += row)
                *to = from[i];
        }
}

void team_lay_life_used(const struct plan_rules *rules,
                        const struct plan_hour *hour, const int ways[TEAM],
                        double *to)
{
    for (int i = 0; i < rules->group_count; i++, to += TEAM)
        for (int lane = 0; lane < TEAM; lane++)
            to[lane] = hour->bucket_life_used[ways[lane]];
    for (int i = 0; i < rules->tank_count; i++, to += TEAM)
        for (int lane = 0; lane < TEAM; lane++)
            to[lane] = hour->tank_life_used[ways[lane]][i];
}

static void lay_life_used(const struct teams *teams, double *to)
{
    for (int number = 0; number < teams->ways; number++) {
        int ways[TEAM];

        for (int lane = 0; lane < TEAM; lane++)
            ways[lane] = (number * TEAM + lane) % PLAN_KEEPINGS;
        for (int row = 0; row < teams->rows; row++, to += teams->places * TEAM)
            team_lay_life_used(teams->rules, &teams->time->hours[row], ways,
                               to);
    }
}

void teams_begin(struct teams *teams, const struct plan_rules *rules,
                 const struct plan_costs *costs, const struct plan_time *time,
                 const struct plan_flow *flow)
{
    int count = (flow->members + TEAM - 1) / TEAM;
    int ways = count < PLAN_KEEPINGS ? count : PLAN_KEEPINGS;
    size_t row = 0, inflow = 0, life_used = 0;
    double *cells;

    *teams = (struct teams){.rules = rules,
                            .costs = costs,
                            .time = time,
                            .members = flow->members,
                            .count = count,
                            .places = rules->group_count + rules->tank_count,
                            .streams = rules->group_count + 1,
                            .rows = time->hour_count,
                            .ways = ways};
    teams->pass = team_pass_of(flow->members == 1 ? 1 : team_lanes());
    row = (size_t)teams->rows * TEAM;
    inflow = (size_t)count * (size_t)teams->streams * row;
    life_used = (size_t)ways * (size_t)teams->places * row;
    cells = lines_alloc((inflow + life_used) * sizeof *cells, &teams->memory);
    teams->inflow_l = cells;
    teams->life_used = cells + inflow;
    lay_inflow(teams, flow, cells);
    lay_life_used(teams, cells + inflow);
}

void teams_end(struct teams *teams)
{
    free(teams->memory);
}

static void put_sap(struct team_sap *to, int lane, const struct plan_sap *sap)
{
    to->l[lane] = sap->l;
    to->aged_l[lane] = sap->aged_l;
    to->ice_l[lane] = sap->ice_l;
}

void team_put(struct team *team, int lane, const struct plan_rules *rules,
              const struct plan_stock *stock)
{
    struct team_sap *tanks = team->places + rules->group_count;

    team->cost[lane] = stock->cost;
    team->lit[lane] = stock->lit ? -1 : 0;
    team->round[lane] = 0;
    for (int i = 0; i < rules->group_count; i++)
        put_sap(&team->places[i], lane, &stock->buckets[i]);
    for (int i = 0; i < rules->tank_count; i++)
        put_sap(&tanks[i], lane, &stock->tanks[i]);
    team->ran_l[lane] = stock->ran_l;
    team->boiled_l[lane] = stock->boiled_l;
    team->overflow_l[lane] = stock->overflow_l;
    team->spoiled_l[lane] = stock->spoiled_l;
    team->lit_count[lane] = stock->lit_count;
    team->trips[lane] = stock->trips;
    team->night_h[lane] = stock->night_h;
    team->fire_h[lane] = stock->fire_h;
}

static struct plan_sap get_sap(const struct team_sap *from, int lane)
{
    return (struct plan_sap){from->l[lane], from->aged_l[lane],
                             from->ice_l[lane]};
}

void team_get(const struct team *team, int lane, const struct plan_rules *rules,
              struct plan_stock *stock)
{
    const struct team_sap *tanks = team->places + rules->group_count;

    stock->cost = team->cost[lane];
    stock->lit = team->lit[lane] != 0;
    for (int i = 0; i < rules->group_count; i++)
        stock->buckets[i] = get_sap(&team->places[i], lane);
    for (int i = 0; i < rules->tank_count; i++)
        stock->tanks[i] = get_sap(&tanks[i], lane);
    stock->ran_l = team->ran_l[lane];
    stock->boiled_l = team->boiled_l[lane];
    stock->overflow_l = team->overflow_l[lane];
    stock->spoiled_l = team->spoiled_l[lane];
    stock->lit_count = (int)team->lit_count[lane];
    stock->trips = (int)team->trips[lane];
    stock->night_h = team->night_h[lane];
    stock->fire_h = team->fire_h[lane];
}

static double sum_l(const struct team_sap *saps, int count, int lane)
{
    double sum = 0;

    for (int i = 0; i < count; i++)
        sum += saps[i].l[lane];
    return sum;
}

double team_in_buckets_l(const struct team *team, int lane,
                         const struct plan_rules *rules)
{
    return sum_l(team->places, rules->group_count, lane);
}

double team_in_tanks_l(const struct team *team, int lane,
                       const struct plan_rules *rules)
{
    return sum_l(team->places + rules->group_count, rules->tank_count, lane);
}

const double *teams_inflow(const struct teams *teams, int member, int stream,
                           int row)
{
    return inflow_at(teams, member / TEAM, row) + stream * TEAM + member % TEAM;
}

void teams_set(const struct teams *teams, struct team *to,
               const struct plan_stock *stock)
{
    for (int member = 0; member < teams->members; member++)
        team_put(&to[member / TEAM], member % TEAM, teams->rules, stock);
}

void teams_wake(const struct teams *teams, struct team *team)
{
    for (int number = 0; number < teams->count; number++)
        memset(team[number].round, 0, sizeof team->round);
}

void teams_copy(const struct teams *teams, struct team *to,
                const struct team *from)
{
    size_t size = offsetof(struct team, places) +
                  (size_t)teams->places * sizeof from->places[0];

    for (int i = 0; i < teams->count; i++)
        memcpy(&to[i], &from[i], size);
}
