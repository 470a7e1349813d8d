/* The plan as actions with reasons: overflow, waiting, the last fire, frost;
 * one person in one place. Weather and flow are invented. */
#include "unit_test.h"

#include <stdlib.h>

#include "plan/plan.h"
#include "steady_zone.h"
#include "weather/random.h"

enum { DAYS = 10, HOURS = DAYS * 24, MEMBERS = 5, STREAMS = 2 };

struct world {
    double air_temp_c[HOURS], sun[HOURS];
    double sap_l[MEMBERS * STREAMS * HOURS];
    struct plan_time time;
    struct plan_stock stock;
    struct plan_rules rules;
};

/* 140 buckets of 15 L, a tank of 1136 L, 110 L/h; all days at air_temp_c. */
static struct world *new_world(double air_temp_c)
{
    struct world *world = calloc(1, sizeof *world);

    assert_non_null(world);
    world->rules = (struct plan_rules){.groups = {{140 * 15.0}},
                                       .group_count = 1,
                                       .tanks = {{1136, KEEPING_SHADE}},
                                       .tank_count = 1,
                                       .sap_rate_l_h = 110,
                                       .smallest_boil_l = 227,
                                       .collect_l_h = 570,
                                       .hands = 1,
                                       .attended_from_min = 6 * 60 + 30,
                                       .attended_to_min = 22 * 60 + 30};
    for (int hour = 0; hour < HOURS; hour++)
        world->air_temp_c[hour] = air_temp_c;
    return world;
}

/* Sap of a day into the buckets, from ten to nineteen o'clock, alike for all
 * members. */
static void let_run(struct world *world, int day, double litres)
{
    for (int member = 0; member < MEMBERS; member++)
        for (int hour = 10; hour < 19; hour++)
            world->sap_l[member * STREAMS * HOURS + day * 24 + hour] =
                litres / 9;
}

/* From midnight of 4 March 2026 at -05:00 on. */
static struct plan *plan_for(struct world *world)
{
    struct plan_costs costs = plan_costs_for(&world->rules);
    struct plan_flow flow = {MEMBERS, STREAMS, HOURS, world->sap_l};
    struct zone *zone = steady_zone();
    struct plan *plan;

    plan_time_fill(&world->time, &world->rules, zone, 1772600400, DAYS,
                   world->air_temp_c, world->sun, HOURS, NULL, NULL);
    plan = plan_make(&world->rules, &costs, &world->time, &flow, &world->stock);
    zone_free(zone);
    return plan;
}

static const struct plan_action *first_of(const struct plan *plan,
                                          enum plan_kind kind)
{
    for (int i = 0; i < plan->action_count; i++)
        if (plan->actions[i].kind == kind)
            return &plan->actions[i];
    return NULL;
}

static int count_of(const struct plan *plan, enum plan_kind kind)
{
    int count = 0;

    for (int i = 0; i < plan->action_count; i++)
        count += plan->actions[i].kind == kind;
    return count;
}

/* Half an hour to start, half an hour to finish, and what it draws between:
 * told by the half hour. */
static void assert_fire_fits(const struct plan_action *boil,
                             const struct plan_rules *rules)
{
    double told_h = (double)(boil->end - boil->start) / SECONDS_PER_HOUR;
    double fire_h = 1 + boil->sap_l_p50 / rules->sap_rate_l_h;

    assert_true(told_h >= fire_h - 1e-6);
    assert_true(told_h < fire_h + 0.5);
}

static void nothing_runs_nothing_is_done(void **state)
{
    struct world *world = new_world(-5);
    struct plan *plan = plan_for(world);

    (void)state;
    assert_int_equal(plan->action_count, 0);
    assert_int_equal(plan->idle_loss_at, 0);
    plan_free(plan);
    free(world);
}

/* Buckets of 2100 L with 1800 in them, and 1500 on each of two days. */
static void what_would_run_over_is_the_reason(void **state)
{
    struct world *world = new_world(1);
    struct plan *plan;
    bool overflow = false;

    (void)state;
    world->stock.buckets[0].l = 1800;
    let_run(world, 0, 1500);
    let_run(world, 1, 1500);
    plan = plan_for(world);
    assert_true(plan->idle_loss_is_overflow);
    /* 300 L of room at 167 L an hour from ten on: gone before noon. */
    assert_true(plan->idle_loss_at >= plan->time.hours[10].start &&
                plan->idle_loss_at <= plan->time.hours[12].start);
    for (int i = 0; i < plan->action_count; i++)
        if (plan->actions[i].reason == PLAN_REASON_OVERFLOW) {
            overflow = true;
            assert_true(plan->actions[i].loss_l > 0);
            assert_true(plan->actions[i].loss_at != 0);
        }
    assert_true(overflow);
    assert_true(plan->overflow_l < 0.5 * 1800);
    assert_true(count_of(plan, PLAN_BOIL) >= 2);
    plan_free(plan);
    free(world);
}

/* Enough for a fire on the first day, more on the second, cold throughout:
 * one fire, on the second day or later. */
static void it_waits_for_one_fire(void **state)
{
    struct world *world = new_world(1);
    const struct plan_action *boil;
    struct plan *plan;

    (void)state;
    let_run(world, 0, 300);
    let_run(world, 1, 300);
    plan = plan_for(world);
    assert_int_equal(count_of(plan, PLAN_BOIL), 1);
    boil = first_of(plan, PLAN_BOIL);
    assert_true(boil->day >= 1);
    assert_int_equal(boil->waits_from, 0);
    assert_true(boil->is_last);
    assert_near(plan->boiled_l, 600, 60);
    assert_fire_fits(boil, &world->rules);
    plan_free(plan);
    free(world);
}

/* A tank that a fire of two hours empties, filled by tubing every five hours:
 * each fire is told with its own hours and its own sap. */
static void each_fire_of_a_day_is_told(void **state)
{
    struct world *world = new_world(1);
    struct plan *plan;
    int fires = 0, making_room = 0;

    (void)state;
    world->rules.tanks[0].size_l = 320;
    world->rules.sap_rate_l_h = 300;
    for (int member = 0; member < MEMBERS; member++)
        for (int hour = 5; hour < 22; hour += 5)
            world->sap_l[(member * STREAMS + 1) * HOURS + hour] = 290;
    plan = plan_for(world);
    for (int i = 0; i < plan->action_count; i++) {
        const struct plan_action *action = &plan->actions[i];

        if (action->kind != PLAN_BOIL || action->day != 0)
            continue;
        fires++;
        assert_near(action->sap_l_p50, 290, 0.1);
        assert_fire_fits(action, &world->rules);
        making_room += action->reason == PLAN_REASON_OVERFLOW;
    }
    assert_true(fires >= 3);
    assert_true(making_room >= fires - 1); /* after the last none runs in */
    plan_free(plan);
    free(world);
}

/* Enough for a fire on the evening before, then a tank full every few hours:
 * the first fire has waited, those after it have not. */
static void the_first_fire_of_a_day_has_waited(void **state)
{
    struct world *world = new_world(2);
    struct plan *plan;
    int fires = 0;

    (void)state;
    world->rules.tanks[0].size_l = 320;
    world->rules.sap_rate_l_h = 300;
    for (int member = 0; member < MEMBERS; member++) {
        world->sap_l[(member * STREAMS + 1) * HOURS + 21] = 305;
        for (int hour = 24 + 9; hour < 24 + 22; hour += 5)
            world->sap_l[(member * STREAMS + 1) * HOURS + hour] = 305;
    }
    plan = plan_for(world);
    for (int i = 0; i < plan->action_count; i++)
        if (plan->actions[i].kind == PLAN_BOIL) {
            assert_int_equal(plan->actions[i].day, 1);
            assert_int_equal(plan->actions[i].waits_from, fires == 0 ? 0 : -1);
            fires++;
        }
    assert_true(fires >= 2);
    plan_free(plan);
    free(world);
}

/* One hour a day: time for a round, for no fire that would take its sap. */
static void no_round_without_a_fire(void **state)
{
    struct world *world = new_world(4);
    struct plan *plan;

    (void)state;
    world->rules.attended_from_min = 18 * 60;
    world->rules.attended_to_min = 19 * 60;
    for (int day = 0; day < DAYS; day++)
        let_run(world, day, 200);
    plan = plan_for(world);
    assert_int_equal(plan->action_count, 0);
    plan_free(plan);
    free(world);
}

/* Sap for a fire, and later too little for another: the fire is the last, and
 * the rest stays where it is. */
static void no_round_after_the_last_fire(void **state)
{
    struct world *world = new_world(4);
    const struct plan_action *boil;
    struct plan *plan;

    (void)state;
    let_run(world, 0, 900);
    let_run(world, 8, 150);
    plan = plan_for(world);
    boil = first_of(plan, PLAN_BOIL);
    assert_non_null(boil);
    assert_true(boil->is_last);
    for (int i = 0; i < plan->action_count; i++)
        assert_true(plan->actions[i].day <= boil->day);
    assert_true(plan->held_l + plan->spoiled_l > 100);
    plan_free(plan);
    free(world);
}

/* A cold wave after the run: the tank would freeze hard. */
static void it_boils_out_before_a_hard_freeze(void **state)
{
    struct world *world = new_world(-14);
    const struct plan_action *boil;
    struct plan *plan;

    (void)state;
    for (int hour = 0; hour < 24; hour++)
        world->air_temp_c[hour] = 2;
    world->stock.tanks[0].l = 900;
    plan = plan_for(world);
    boil = first_of(plan, PLAN_BOIL);
    assert_non_null(boil);
    assert_int_equal(boil->day, 0);
    assert_int_equal(boil->reason, PLAN_REASON_FREEZE_UP);
    plan_free(plan);
    free(world);
}

/* A fire of 900 L an evening does not take: it goes on next day. */
static void a_boil_of_two_days_says_so(void **state)
{
    struct world *world = new_world(9);
    const struct plan_action *boil;
    struct plan *plan;

    (void)state;
    world->rules.attended_from_min = 17 * 60;
    world->stock.tanks[0].l = 1100;
    plan = plan_for(world);
    boil = first_of(plan, PLAN_BOIL);
    assert_non_null(boil);
    assert_true(boil->goes_on);
    assert_false(boil->is_last);
    plan_free(plan);
    free(world);
}

/* Into the tank by tubing, of each member its own amount and hour. */
static void let_members_run(struct world *world, int day, struct random *random)
{
    for (int member = 0; member < MEMBERS; member++) {
        int first = 4 + (int)(8 * random_even(random));
        double litres = 800 * random_even(random);
        double *sap_l =
            world->sap_l + (member * STREAMS + 1) * HOURS + day * 24;

        for (int hour = first; hour < first + 6; hour++)
            sap_l[hour] = litres / 6;
    }
}

/* What is told as start and amount fits into what is told as the time, unless
 * the attended hours end with it. */
static void medians_fit_together(void **state)
{
    struct random random;

    (void)state;
    random_seed(&random, 11);
    for (int trial = 0; trial < 12; trial++) {
        struct world *world = new_world(6);
        struct plan *plan;

        for (int day = 0; day < DAYS; day++)
            let_members_run(world, day, &random);
        plan = plan_for(world);
        for (int i = 0; i < plan->action_count; i++) {
            const struct plan_action *action = &plan->actions[i];
            double told_h =
                (double)(action->end - action->start) / SECONDS_PER_HOUR;
            double fire_h = 1 + action->sap_l_p50 / world->rules.sap_rate_l_h;
            utc_s from = plan->time.hours[0].start;

            if (action->kind == PLAN_BOIL &&
                plan->time.hours[(action->end - from) / SECONDS_PER_HOUR]
                    .attended)
                assert_true(told_h >= fire_h - 1e-6);
        }
        plan_free(plan);
        free(world);
    }
}

/* Who is alone is nowhere twice, and nowhere outside the attended hours; told
 * levels stay within what the vessels hold. */
static void check_plan(const struct plan *plan, const struct plan_rules *rules)
{
    for (int i = 0; i < plan->action_count; i++) {
        const struct plan_action *a = &plan->actions[i];

        for (utc_s at = a->start; at < a->end; at += SECONDS_PER_HOUR / 2)
            assert_true(
                plan->time
                    .hours[(at - plan->time.hours[0].start) / SECONDS_PER_HOUR]
                    .attended);
        for (int k = 0; k < i; k++) {
            const struct plan_action *b = &plan->actions[k];

            assert_true(a->start >= b->end || b->start >= a->end);
        }
    }
    for (int row = 0; row < plan->time.hour_count; row++) {
        assert_true(plan->buckets_l[row] <= rules->groups[0].holds_l + 1e-6);
        assert_true(plan->tanks_l[row] <= rules->tanks[0].size_l + 1e-6);
    }
}

static void alone_in_one_place(void **state)
{
    struct random random;

    (void)state;
    random_seed(&random, 7);
    for (int trial = 0; trial < 12; trial++) {
        struct world *world = new_world(3 + 3 * random_normal(&random));
        struct plan *plan;

        world->rules.tanks[0].size_l = trial % 2 ? 400 : 1136;
        for (int day = 0; day < DAYS; day++)
            let_run(world, day, fmax(0, 600 + 500 * random_normal(&random)));
        plan = plan_for(world);
        check_plan(plan, &world->rules);
        plan_free(plan);
        free(world);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_runs_nothing_is_done),
        cmocka_unit_test(what_would_run_over_is_the_reason),
        cmocka_unit_test(it_waits_for_one_fire),
        cmocka_unit_test(each_fire_of_a_day_is_told),
        cmocka_unit_test(the_first_fire_of_a_day_has_waited),
        cmocka_unit_test(no_round_without_a_fire),
        cmocka_unit_test(no_round_after_the_last_fire),
        cmocka_unit_test(it_boils_out_before_a_hard_freeze),
        cmocka_unit_test(a_boil_of_two_days_says_so),
        cmocka_unit_test(medians_fit_together),
        cmocka_unit_test(alone_in_one_place),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
