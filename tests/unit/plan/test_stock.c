/* The sap at hand: balance, hours, hands, and the search's choices. */
#include "unit_test.h"

#include <stdlib.h>
#include <time.h>

#include "plan/search.h"
#include "plan/trial.h"
#include "steady_zone.h"

enum { DAYS = 10, HOURS = DAYS * 24 + 1 };

/* The demo's size: 140 buckets of 15 L, a tank of 300 gal, 28 gal an hour
 * (invented). */
static struct plan_rules roomy(void)
{
    return (struct plan_rules){.groups = {{140 * 15.0}},
                               .group_count = 1,
                               .tanks = {{1136, KEEPING_SHADE}},
                               .tank_count = 1,
                               .sap_rate_l_h = 110,
                               .smallest_boil_l = 227,
                               .collect_l_h = 300,
                               .hands = 1,
                               .attended_from_min = 6 * 60 + 30,
                               .attended_to_min = 22 * 60 + 30};
}

/* xorshift64* (Vigna 2016, ACM TOMS 42:30), for tests alone. */
static double chance(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return (double)((*state * 2685821657736338717ULL) >> 11) /
           9007199254740992.0;
}

/* Random weather and flow: nights that freeze or not, sap in the afternoon. */
static void random_season(uint64_t *state, int hours, double per_day_l,
                          double *air_temp_c, double *sun, double *sap_l)
{
    double run = 0, warm = 0;

    for (int hour = 0; hour < hours; hour++) {
        int clock = hour % 24;

        if (clock == 0) {
            warm = -6 + 12 * chance(state);
            run = chance(state) < 0.5 ? 0 : per_day_l * chance(state) * 2;
        }
        air_temp_c[hour] = warm + 5 * (clock > 8 && clock < 18);
        sun[hour] = clock > 8 && clock < 16 ? 300 : 0;
        sap_l[hour] = clock >= 10 && clock < 19 ? run / 9 : 0;
    }
}

struct world {
    double air_temp_c[90 * 24], sun[90 * 24], sap_l[2 * 90 * 24];
};

static struct world *new_world(uint64_t *state, int hours, double per_day_l)
{
    struct world *world = calloc(1, sizeof *world);

    assert_non_null(world);
    random_season(state, hours, per_day_l, world->air_temp_c, world->sun,
                  world->sap_l);
    return world;
}

static void lay_out(struct plan_time *time, const struct plan_rules *rules,
                    const struct world *world, struct zone *zone)
{
    plan_time_fill(time, rules, zone, 1772600400, DAYS, world->air_temp_c,
                   world->sun, HOURS, NULL, NULL);
}

/* Sap that is warm at the start ages from the first hour on, and goes on where
 * it was when the day is planned anew. */
static void tanks_are_as_warm_as_they_are(void **state)
{
    struct plan_rules rules = roomy();
    struct zone *zone = steady_zone();
    struct plan_time *cold = calloc(1, sizeof *cold);
    struct plan_time *warm = calloc(1, sizeof *warm);
    double air_temp_c[HOURS], sun[HOURS] = {0}, temp_c[PLAN_MAX_TANKS];

    (void)state;
    for (int hour = 0; hour < HOURS; hour++)
        air_temp_c[hour] = 10;
    plan_tank_temps(&rules, air_temp_c, sun, 12, temp_c);
    assert_true(temp_c[0] > 4 && temp_c[0] < 10);
    plan_time_fill(cold, &rules, zone, 1772600400, DAYS, air_temp_c, sun, HOURS,
                   NULL, NULL);
    assert_near(cold->hours[11].tank_temp_c[0], temp_c[0], 1e-9);
    plan_time_fill(warm, &rules, zone, 1772600400, DAYS, air_temp_c, sun, HOURS,
                   NULL, temp_c);
    for (int hour = 0; hour < 24; hour++)
        assert_near(warm->hours[hour].tank_life_used[0][0],
                    cold->hours[hour + 12].tank_life_used[0][0], 1e-9);
    assert_true(warm->hours[0].tank_life_used[0][0] >
                1.5 * cold->hours[0].tank_life_used[0][0]);
    zone_free(zone);
    free(cold);
    free(warm);
}

/* Of the hour that is under way only its first half is there to be used. */
static void an_hour_half_gone_is_gone(void **state)
{
    struct zone *zone = steady_zone();
    struct plan_time *time = calloc(1, sizeof *time);
    struct plan_rules rules = roomy();
    const double air_temp_c[HOURS] = {0}, sun[HOURS] = {0};
    utc_s noon = 1772600400 + 12 * SECONDS_PER_HOUR;

    (void)state;
    assert_non_null(time);
    plan_time_fill(time, &rules, zone, noon + 1800, DAYS, air_temp_c, sun,
                   HOURS, NULL, NULL);
    assert_true(time->hours[0].start == noon && time->hours[0].attended);
    plan_time_fill(time, &rules, zone, noon + 1801, DAYS, air_temp_c, sun,
                   HOURS, NULL, NULL);
    assert_true(time->hours[0].start == noon && !time->hours[0].attended);
    assert_true(time->hours[1].attended);
    zone_free(zone);
    free(time);
}

/* While there is ice in it, sap grows no older than at freezing. */
static void ice_keeps_sap_cold(void **state)
{
    struct plan_rules rules = roomy();
    struct plan_costs costs = plan_costs_for(&rules);
    struct zone *zone = steady_zone();
    struct plan_time *time = calloc(1, sizeof *time);
    double air_temp_c[HOURS], sun[HOURS] = {0}, none[PLAN_MAX_GROUPS + 1] = {0};
    double warm_c[PLAN_MAX_TANKS] = {9};
    struct plan_stock icy = {.tanks = {{400, 200, 60}}};
    struct plan_stock clear = {.tanks = {{400, 200, 0}}};
    struct plan_day_choice idle = {{-1, -1}, -1, {0, 0}};
    bool round = false;

    (void)state;
    assert_non_null(time);
    for (int hour = 0; hour < HOURS; hour++)
        air_temp_c[hour] = 10;
    plan_time_fill(time, &rules, zone, 1772600400, DAYS, air_temp_c, sun, HOURS,
                   NULL, warm_c);
    plan_stock_hour(&icy, &rules, &costs, time, 0, &idle, none, &round);
    plan_stock_hour(&clear, &rules, &costs, time, 0, &idle, none, &round);
    assert_true(icy.tanks[0].ice_l > 0 && icy.tanks[0].ice_l < 60);
    assert_near(icy.tanks[0].aged_l / 400 - 0.5,
                keeping_used_per_h(0) * (1 - icy.tanks[0].ice_l / 400), 1e-12);
    assert_near(clear.tanks[0].aged_l / 400 - 0.5,
                time->hours[0].tank_life_used[0][0], 1e-12);
    zone_free(zone);
    free(time);
}

/* What ice in the tank costs in the end, beside none. */
static double held_ice_cost(const struct plan_rules *rules, double ice_l)
{
    struct plan_costs costs = plan_costs_for(rules);
    struct plan_stock icy = {.tanks = {{400, 200, ice_l}}};
    struct plan_stock clear = {.tanks = {{400, 200, 0}}};

    return plan_stock_held_cost(&icy, rules, &costs) -
           plan_stock_held_cost(&clear, rules, &costs);
}

/* Ice costs where it takes the room for three smallest boils, no more than it
 * takes. */
static void ice_that_bars_the_fire_costs(void **state)
{
    struct plan_rules rules = roomy();
    double spare_l = rules.tanks[0].size_l - 3 * rules.smallest_boil_l;

    (void)state;
    assert_near(held_ice_cost(&rules, spare_l / 2 - 1), 0, 0);
    assert_near(held_ice_cost(&rules, spare_l / 2 + 40), 40, 1e-9);
    rules.tanks[0].size_l = 500; /* has none to spare */
    assert_near(held_ice_cost(&rules, 40), 40, 1e-9);
}

/* Ten days of 150 L each, less than a smallest boil: `run_l` says whether it
 * ran. */
static struct plan_trial_result habit_of(double run_l)
{
    static double air_temp_c[DAYS * 24], sun[DAYS * 24], sap_l[2 * DAYS * 24];
    struct plan_rules rules = roomy();
    struct plan_costs costs = plan_costs_for(&rules);
    struct zone *zone = steady_zone();
    struct plan_season season = {zone, 1772600400, DAYS * 24, air_temp_c,
                                 sun,  sap_l,      run_l};
    struct plan_trial_result result;

    for (int hour = 0; hour < DAYS * 24; hour++) {
        air_temp_c[hour] = 3;
        sap_l[hour] = hour % 24 >= 10 && hour % 24 < 19 ? 150 / 9.0 : 0;
    }
    result = plan_trial(&rules, &costs, &season, PLAN_HABIT, NULL, NULL, 1);
    zone_free(zone);
    return result;
}

/* The habit does not ask whether a fire is worth it, only whether it ran. */
static void habit_lights_every_evening_that_it_ran(void **state)
{
    struct plan_trial_result ran = habit_of(56), never = habit_of(1000);

    (void)state;
    assert_int_equal(ran.lit_days, DAYS);
    assert_true(never.lit_days >= 4 && never.lit_days <= DAYS / 2);
    assert_near(ran.ran_l, 150 * DAYS, 1e-6);
    assert_near(ran.unattended_hours, 0, 0);
    assert_true(ran.kept_l >= never.kept_l);
}

static uint64_t seed_from_clock(void)
{
    uint64_t seed = (uint64_t)time(NULL) | 1;

    print_message("seed %llu\n", (unsigned long long)seed);
    return seed;
}

static int choices_of(const struct plan_rules *rules,
                      const struct plan_time *time, int day,
                      const struct plan_stock *stock,
                      const struct plan_flow *flow, struct plan_day_choice *out)
{
    struct plan_costs costs = plan_costs_for(rules);
    struct plan_day_run run;
    struct teams teams;
    void *memory;
    struct team *team = team_alloc(1, &memory);
    int count;

    teams_begin(&teams, rules, &costs, time, flow);
    teams_set(&teams, team, stock);
    run = plan_day_run(&teams, day);
    count = plan_choices(&teams, day, &run, team, out);
    teams_end(&teams);
    free(memory);
    return count;
}

/* In = boiled + held + spilled + spoiled; nothing is done outside the
 * attended hours, nowhere is anybody twice, no fire on less than the smallest
 * boil. Where less than half an hour is left of an hour's boiling, the fire is
 * finished in the next, an attended one. */
static void check_day(const struct plan_rules *rules,
                      const struct plan_time *time, int day,
                      const struct plan_day_choice *choice,
                      const struct plan_flow *flow, struct plan_stock *stock)
{
    struct plan_costs costs = plan_costs_for(rules);
    bool round = false, finishes = false;

    for (int row = time->day_first[day]; row < time->day_first[day + 1];
         row++) {
        double inflow[2] = {flow->sap_l[row], flow->sap_l[flow->hours + row]};
        bool was_lit = stock->lit;
        double tanks_l = plan_stock_in_tanks_l(stock, rules) + inflow[1];
        struct plan_deed deed = plan_stock_hour(stock, rules, &costs, time, row,
                                                choice, inflow, &round);
        double held = plan_stock_in_buckets_l(stock, rules) +
                      plan_stock_in_tanks_l(stock, rules);

        assert_near(stock->ran_l,
                    stock->boiled_l + stock->overflow_l + stock->spoiled_l +
                        held,
                    1e-6);
        assert_true(time->hours[row].attended ||
                    !(deed.boiling || deed.collecting));
        assert_true(rules->hands > 1 || !(deed.boiling && deed.collecting));
        assert_true(!finishes || deed.boiling);
        finishes = deed.boiling &&
                   (!was_lit || deed.boiled_l > rules->sap_rate_l_h / 2);
        if (deed.boiling && !was_lit && rules->hands == 1)
            assert_true(tanks_l >= rules->smallest_boil_l - 1e-6);
        for (int tank = 0; tank < rules->tank_count; tank++)
            assert_true(stock->tanks[tank].l <=
                        rules->tanks[tank].size_l + 1e-6);
    }
}

/* Rows of the day's night and day alike: the rules, not the choice, keep
 * people at home. */
static struct plan_day_choice any_choice(const struct plan_time *time, int day,
                                         uint64_t *seed)
{
    int first = time->day_first[day];
    double rows = time->day_first[day + 1] - first;
    short at[3];

    for (int i = 0; i < 3; i++)
        at[i] = (short)(first + (int)(rows * chance(seed)));
    return (struct plan_day_choice){
        {at[0] < at[1] ? at[0] : at[1], at[0] < at[1] ? at[1] : at[0]},
        at[2],
        {0, 0}};
}

static void test_balance_and_hours(void **state)
{
    uint64_t seed = seed_from_clock();
    struct zone *zone = steady_zone();

    (void)state;
    for (int trial = 0; trial < 60; trial++) {
        struct plan_rules rules = roomy();
        struct plan_time *time = calloc(1, sizeof *time);
        struct world *world = new_world(&seed, HOURS, 900);
        struct plan_flow flow = {1, 2, HOURS, world->sap_l};
        struct plan_stock stock = {0};
        struct plan_day_choice choices[PLAN_MAX_CHOICES];

        assert_non_null(time);
        rules.hands = 1 + trial % 2;
        rules.tanks[0].size_l = 200 + 1500 * chance(&seed);
        rules.tanks[0].site = (enum keeping_site)(trial % 3);
        rules.tanks[1] = rules.tanks[0];
        rules.tank_count = 1 + trial % 2;
        lay_out(time, &rules, world, zone);
        for (int day = 0; day < time->day_count; day++) {
            int count = choices_of(&rules, time, day, &stock, &flow, choices);
            int pick = (int)(chance(&seed) * count);

            if (trial % 3 == 0)
                choices[pick] = any_choice(time, day, &seed);
            check_day(&rules, time, day, &choices[pick], &flow, &stock);
        }
        free(world);
        free(time);
    }
    zone_free(zone);
}

/* With storage running full tomorrow, the plan carries and boils; with two
 * litres in a bucket it does nothing. */
static void test_waits_and_acts(void **state)
{
    struct plan_rules rules = roomy();
    struct plan_costs costs = plan_costs_for(&rules);
    struct plan_time *time = calloc(1, sizeof *time);
    struct zone *zone = steady_zone();
    uint64_t seed = 12345;
    struct world *world = new_world(&seed, HOURS, 0);
    struct plan_flow flow = {1, 2, HOURS, world->sap_l};
    struct plan_stock stock = {0};
    struct plan_day_choice course[PLAN_MAX_DAYS];

    (void)state;
    assert_non_null(time);
    lay_out(time, &rules, world, zone);
    stock.buckets[0].l = 2;
    plan_search(&rules, &costs, time, &flow, &stock, course);
    for (int day = 0; day < time->day_count; day++) {
        assert_int_equal(course[day].collect_at[0], -1);
        assert_int_equal(course[day].boil_from, -1);
    }
    stock.buckets[0].l = 2000;
    for (int hour = 24; hour < 72; hour++)
        world->sap_l[hour] = 40;
    plan_search(&rules, &costs, time, &flow, &stock, course);
    assert_true(course[0].collect_at[0] >= 0 || course[1].collect_at[0] >= 0);
    assert_true(course[0].boil_from >= 0 || course[1].boil_from >= 0);
    free(world);
    free(time);
    zone_free(zone);
}

/* The course found is never dearer than doing nothing or the habit. */
static void test_search_beats_simple_courses(void **state)
{
    uint64_t seed = seed_from_clock();
    struct plan_rules rules = roomy();
    struct plan_costs costs = plan_costs_for(&rules);
    struct zone *zone = steady_zone();
    struct plan_time *time = calloc(1, sizeof *time);

    (void)state;
    assert_non_null(time);
    for (int trial = 0; trial < 10; trial++) {
        struct world *world = new_world(&seed, HOURS, 700);
        struct plan_flow flow = {1, 2, HOURS, world->sap_l};
        struct plan_stock stock = {0};
        struct plan_day_choice course[PLAN_MAX_DAYS], other[PLAN_MAX_DAYS];
        double cost;

        lay_out(time, &rules, world, zone);
        cost = plan_search(&rules, &costs, time, &flow, &stock, course);
        assert_near(
            cost, plan_course_cost(&rules, &costs, time, &flow, &stock, course),
            1e-6);
        for (int day = 0; day < PLAN_MAX_DAYS; day++)
            other[day] = (struct plan_day_choice){{-1, -1}, -1, {0, 0}};
        assert_true(cost <= plan_course_cost(&rules, &costs, time, &flow,
                                             &stock, other));
        for (int day = 0; day < time->day_count; day++)
            for (int row = time->day_first[day]; row < time->day_first[day + 1];
                 row++)
                if (time->hours[row].minute == 17 * 60)
                    other[day] = (struct plan_day_choice){
                        {(short)row, -1}, (short)row, {0, 0}};
        assert_true(cost <= plan_course_cost(&rules, &costs, time, &flow,
                                             &stock, other) +
                                1e-6);
        free(world);
    }
    free(time);
    zone_free(zone);
}

/* Under 100 ms for ten days, fifty members, three tanks (and the sanitizers'
 * slowness allowed for: this test prints what it took and the benchmark
 * target holds the bound). */
static void test_speed_is_printed(void **state)
{
    struct plan_rules rules = roomy();
    struct plan_costs costs = plan_costs_for(&rules);
    struct zone *zone = steady_zone();
    struct plan_time *time = calloc(1, sizeof *time);
    double *sap_l = calloc(50 * 2 * HOURS, sizeof *sap_l);
    struct plan_flow flow = {50, 2, HOURS, sap_l};
    struct plan_stock stock = {0};
    struct plan_day_choice course[PLAN_MAX_DAYS];
    uint64_t seed = 99;
    struct world *world = new_world(&seed, HOURS, 700);
    clock_t begun;

    (void)state;
    assert_non_null(time);
    assert_non_null(sap_l);
    rules.tank_count = 3;
    rules.tanks[1] = rules.tanks[2] = rules.tanks[0];
    lay_out(time, &rules, world, zone);
    for (int member = 0; member < 50; member++)
        random_season(&seed, HOURS, 700, world->air_temp_c, world->sun,
                      sap_l + (size_t)member * 2 * HOURS);
    begun = clock();
    plan_search(&rules, &costs, time, &flow, &stock, course);
    print_message("ten days, 50 members, 3 tanks: %.1f ms\n",
                  (double)(clock() - begun) * 1000 / CLOCKS_PER_SEC);
    assert_true(course[0].boil_from >= -1);
    free(sap_l);
    free(world);
    free(time);
    zone_free(zone);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_balance_and_hours),
        cmocka_unit_test(tanks_are_as_warm_as_they_are),
        cmocka_unit_test(an_hour_half_gone_is_gone),
        cmocka_unit_test(ice_keeps_sap_cold),
        cmocka_unit_test(ice_that_bars_the_fire_costs),
        cmocka_unit_test(habit_lights_every_evening_that_it_ran),
        cmocka_unit_test(test_waits_and_acts),
        cmocka_unit_test(test_search_beats_simple_courses),
        cmocka_unit_test(test_speed_is_printed),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
