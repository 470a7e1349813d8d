/* The choices of a day tried together are those tried one by one: all of them,
 * at the same cost to the last bit; and none that is of use is left out.
 * Weather and flow are invented. */
#include "unit_test.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plan/day_tries.h"
#include "plan/search.h"
#include "steady_zone.h"

enum { DAYS = 2, HOURS = DAYS * 24, MEMBERS = 13, TEAMS = 2, STREAMS = 2 };

static const struct plan_rules rules = {.groups = {{600}},
                                        .group_count = 1,
                                        .tanks = {{500, KEEPING_SHADE}},
                                        .tank_count = 1,
                                        .sap_rate_l_h = 60,
                                        .smallest_boil_l = 120,
                                        .collect_l_h = 300,
                                        .hands = 1,
                                        .attended_from_min = 6 * 60 + 30,
                                        .attended_to_min = 22 * 60 + 30};

struct bench {
    struct plan_costs costs;
    struct plan_time time;
    struct plan_flow flow;
    struct teams teams;
    double sap_l[MEMBERS * STREAMS * HOURS];
    struct plan_stock stocks[MEMBERS];
    struct team *at_start;
    void *memory;
    struct plan_day_choice choices[PLAN_MAX_CHOICES];
    int count;
    /* What was taken. */
    double most, cost[PLAN_MAX_CHOICES];
    int taken[PLAN_MAX_CHOICES];
};

static struct bench bench;

static double most_cost(const void *self)
{
    return ((const struct bench *)self)->most;
}

static void take(void *self, int choice, double cost, const struct team *at_end)
{
    struct bench *to = self;

    assert_true(at_end[0].cost[0] > 0);
    to->taken[choice]++;
    to->cost[choice] = cost;
}

static double error_sd_k(double lead_h)
{
    return 1 + lead_h / 10;
}

static void end(void)
{
    free(bench.memory);
    teams_end(&bench.teams);
}

static void begin(void)
{
    double air_c[HOURS], sun[HOURS] = {0};
    struct zone *zone = steady_zone();
    struct plan_day_run run;

    memset(&bench, 0, sizeof bench);
    for (int hour = 0; hour < HOURS; hour++)
        air_c[hour] = 3 + 6 * sin((hour - 9) / 24.0 * 2 * acos(-1));
    for (int row = 0; row < MEMBERS * STREAMS; row++)
        for (int hour = 10; hour < 19; hour++)
            bench.sap_l[row * HOURS + hour] = 10 + 4 * row;
    for (int member = 0; member < MEMBERS; member++) {
        bench.stocks[member].keeping = member % PLAN_KEEPINGS;
        bench.stocks[member].buckets[0].l = 90 + 30 * member;
        bench.stocks[member].tanks[0].l = 70 + 20 * member;
    }
    bench.costs = plan_costs_for(&rules);
    plan_time_fill(&bench.time, &rules, zone, 1772600400, DAYS, air_c, sun,
                   HOURS, error_sd_k, NULL);
    bench.flow = (struct plan_flow){MEMBERS, STREAMS, HOURS, bench.sap_l};
    teams_begin(&bench.teams, &rules, &bench.costs, &bench.time, &bench.flow);
    bench.at_start = team_alloc((size_t)bench.teams.count, &bench.memory);
    for (int member = 0; member < MEMBERS; member++)
        team_put(&bench.at_start[member / TEAM], member % TEAM, &rules,
                 &bench.stocks[member]);
    run = plan_day_run(&bench.teams, 0);
    bench.count =
        plan_choices(&bench.teams, 0, &run, bench.at_start, bench.choices);
    zone_free(zone);
}

static void run(double most)
{
    struct day_tries tries = {.teams = &bench.teams,
                              .most_cost = most_cost,
                              .take = take,
                              .self = &bench};

    bench.most = most;
    memset(bench.taken, 0, sizeof bench.taken);
    day_tries_begin(&tries);
    day_tries_run(&tries, 0, bench.at_start, bench.choices, bench.count);
    day_tries_end(&tries);
}

/* The members' costs are added up as those of teams are. */
static double cost_alone(int choice)
{
    double cost[TEAMS * TEAM] = {0}, held_cost[TEAMS * TEAM] = {0};
    double sum = 0, held = 0;

    for (int member = 0; member < MEMBERS; member++) {
        struct plan_stock stock = bench.stocks[member];

        plan_stock_rows(&stock, &rules, &bench.costs, &bench.time, 0,
                        bench.time.day_first[1], &bench.choices[choice],
                        &bench.flow, member, NULL);
        cost[member] = stock.cost;
        held_cost[member] = plan_stock_held_cost(&stock, &rules, &bench.costs);
    }
    for (int number = 0; number < TEAMS; number++) {
        sum += team_sum(&cost[number * TEAM]);
        held += team_sum(&held_cost[number * TEAM]);
    }
    return (sum + held) / MEMBERS;
}

static void check_all(void)
{
    double least = INFINITY, greatest = 0;

    run(INFINITY);
    for (int i = 0; i < bench.count; i++) {
        assert_int_equal(bench.taken[i], 1);
        assert_true(bench.cost[i] == cost_alone(i));
        least = fmin(least, bench.cost[i]);
        greatest = fmax(greatest, bench.cost[i]);
    }
    assert_true(greatest > 1.1 * least);
}

/* However many members go at once. */
static void together_as_one_by_one(void **state)
{
    (void)state;
    begin();
    assert_true(bench.count > 20);
    for (int lanes = 1; lanes <= team_lanes(); lanes *= 2) {
        bench.teams.pass = team_pass_of(lanes);
        check_all();
    }
    end();
}

static void dear_ones_alone_are_left(void **state)
{
    int left = 0;

    (void)state;
    begin();
    run(1.2 * cost_alone(0));
    for (int i = 0; i < bench.count; i++) {
        left += bench.taken[i] == 0;
        if (cost_alone(i) <= bench.most)
            assert_int_equal(bench.taken[i], 1);
    }
    run(0.9 * cost_alone(0));
    for (int i = 0; i < bench.count; i++)
        if (cost_alone(i) <= bench.most)
            assert_int_equal(bench.taken[i], 1);
        else
            left += bench.taken[i] == 0;
    assert_true(left > 0);
    end();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(together_as_one_by_one),
        cmocka_unit_test(dear_ones_alone_are_left),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
