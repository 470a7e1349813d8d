/* The plan in the bulletin: sentences, levels, and the way through JSON. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "fake_bulletin.h"
#include "publish/phrase.h"
#include "publish/plan_actions.h"

static const struct plan_rules rules = {.groups = {{140 * 12.0}},
                                        .group_count = 1,
                                        .tanks = {{760, KEEPING_SHADE}},
                                        .tank_count = 1,
                                        .sap_rate_l_h = 110,
                                        .smallest_boil_l = 227,
                                        .hands = 1,
                                        .attended_from_min = 6 * 60 + 30,
                                        .attended_to_min = 22 * 60 + 30};
static const struct plan_told told = {&rules, 0.023, 66.9, true, false, 0};

/* A plan of the bulletin's own days without an action. */
static struct plan *empty_plan(const struct bulletin *bulletin)
{
    struct plan *plan = mem_alloc(1, sizeof *plan);
    static double zeros[PLAN_MAX_HOURS];

    plan_time_fill(&plan->time, &rules, bulletin->zone, bulletin->made, 5,
                   zeros, zeros, 5 * 24, NULL, NULL);
    plan->actions = mem_alloc(4, sizeof *plan->actions);
    plan->buckets_l = mem_alloc(PLAN_MAX_HOURS, sizeof(double));
    plan->tanks_l = mem_alloc(PLAN_MAX_HOURS, sizeof(double));
    return plan;
}

static struct plan_action *add(struct plan *plan, enum plan_kind kind, int day,
                               int from, int to, enum plan_reason reason)
{
    struct plan_action *action = &plan->actions[plan->action_count++];
    int first = plan->time.day_first[day];
    int offset = plan->time.hours[first].minute / 60;

    *action = (struct plan_action){
        .kind = kind,
        .day = day,
        .start = plan->time.hours[first + from - offset].start,
        .end = plan->time.hours[first + to - offset].start,
        .share = 1,
        .sap_l_p50 = 500,
        .reason = reason,
        .loss_l = 200,
        .loss_chance = 0.8,
        .loss_at = plan->time.hours[first + to - offset].start,
        .waits_from = -1};
    return action;
}

static bool notes_hold(const struct bulletin *bulletin, const char *words)
{
    for (int i = 0; i < bulletin->notes.count; i++)
        if (strstr(bulletin->notes.items[i], words) != NULL)
            return true;
    return false;
}

static const struct bulletin_action *told_action(const struct bulletin *b,
                                                 enum action_kind kind)
{
    for (int i = 0; i < b->action_count; i++)
        if (b->actions[i].kind == kind)
            return &b->actions[i];
    fail_msg("no such action");
    return NULL;
}

static void nothing_to_do_is_an_answer(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);

    (void)state;
    bulletin_add_plan(bulletin, plan, &told);
    assert_int_equal(bulletin->action_count, 0);
    assert_true(notes_hold(bulletin, "Nothing to collect or boil in the days"));
    plan_free(plan);
    bulletin_free(bulletin);
}

static void waiting_says_until_when(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);
    char date[PHRASE_SIZE], words[128];

    (void)state;
    add(plan, PLAN_BOIL, 3, 9, 14, PLAN_REASON_FULL_FIRE);
    plan->idle_loss_at = plan->time.hours[90].start;
    bulletin_add_plan(bulletin, plan, &told);
    phrase_date(plan->time.dates[3], date);
    snprintf(words, sizeof words,
             "Nothing to collect or boil until %s: the "
             "sap keeps until",
             date);
    assert_true(notes_hold(bulletin, words));
    plan_free(plan);
    bulletin_free(bulletin);
}

/* Three days ahead the pressure is known, but not to a tenth of a degree. */
static void a_boil_far_ahead_says_whole_degrees(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);
    const struct bulletin_action *boil;

    (void)state;
    add(plan, PLAN_BOIL, 4, 9, 14, PLAN_REASON_OVERFLOW);
    bulletin->pan.hours = 5 * 24;
    bulletin->pan.start = bulletin->made - bulletin->made % SECONDS_PER_HOUR;
    for (int hour = 0; hour < 5 * 24; hour++) {
        bulletin->pan.station_pressure_hpa[hour] = 1013.25;
        bulletin->pan.known[hour] = true;
    }
    bulletin_add_plan(bulletin, plan, &told);
    boil = told_action(bulletin, ACTION_BOIL);
    assert_near(boil->draw_off_c * 1.8 + 32, 219, 0.5);
    assert_non_null(strstr(boil->detail, "of syrup, drawn off at 219 F."));
    bulletin_reword(bulletin, UNITS_METRIC);
    assert_non_null(strstr(boil->detail, "of syrup, drawn off at 104 C."));
    plan_free(plan);
    bulletin_free(bulletin);
}

/* 500 L at 110 L/h: five hours and one to start and finish; the last whole
 * attended hour ends at 22:00. */
static void a_boil_says_by_when_and_how_hot(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);
    const struct bulletin_action *boil;
    struct plan_action *action =
        add(plan, PLAN_BOIL, 1, 9, 14, PLAN_REASON_OVERFLOW);
    char clock[PHRASE_SIZE];

    (void)state;
    action->waits_from = 0;
    action->is_last = true;
    action->loss_at += SECONDS_PER_DAY;
    bulletin->pan.hours = 48;
    bulletin->pan.start = bulletin->made - bulletin->made % SECONDS_PER_HOUR;
    for (int hour = 0; hour < 48; hour++) {
        bulletin->pan.station_pressure_hpa[hour] = 1013.25;
        bulletin->pan.known[hour] = true;
    }
    bulletin_add_plan(bulletin, plan, &told);
    boil = told_action(bulletin, ACTION_BOIL);
    phrase_clock(bulletin, boil->start_by, clock);
    assert_string_equal(clock, "16:00");
    phrase_clock(bulletin, boil->done_by, clock);
    assert_string_equal(clock, "22:00");
    assert_non_null(strstr(boil->detail, "Lit by 16:00, it is out by 22:00."));
    /* Seven F above water's 212 F, to half a degree: the trade's rule. */
    assert_near(boil->draw_off_c * 1.8 + 32, 219, 0.5);
    assert_non_null(strstr(boil->detail, "3 gal of syrup, drawn off at 219."));
    assert_non_null(strstr(boil->reason, "It makes room: without it about 55 "
                                         "gal would run over"));
    assert_non_null(strstr(boil->reason, "waiting saves a fire."));
    assert_non_null(strstr(boil->reason, "last fire in sight up to"));
    assert_int_equal(boil->averts, AVERTS_OVERFLOW);
    plan_free(plan);
    bulletin_free(bulletin);
}

/* A boil that goes on next day is lit in time as well; one before another of
 * the day is out before that, and one that makes room is lit before it lacks.
 */
static void every_boil_says_by_when(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);
    struct plan_action *action;

    (void)state;
    action = add(plan, PLAN_BOIL, 1, 9, 15, PLAN_REASON_SPOILAGE);
    action->goes_on = true;
    add(plan, PLAN_BOIL, 1, 17, 22, PLAN_REASON_FULL_FIRE);
    action = add(plan, PLAN_BOIL, 3, 9, 15, PLAN_REASON_OVERFLOW);
    action->loss_at = action->start + 4 * SECONDS_PER_HOUR;
    bulletin_add_plan(bulletin, plan, &told);
    assert_int_equal(bulletin->action_count, 3);
    assert_non_null(strstr(bulletin->actions[0].detail, "the rest is for"));
    assert_non_null(strstr(bulletin->actions[0].detail,
                           "Lit by 11:00, it is out by 17:00."));
    assert_non_null(strstr(bulletin->actions[2].detail,
                           "Lit by 12:00, it is out by 18:00."));
    plan_free(plan);
    bulletin_free(bulletin);
}

static void sap_given_up_is_said(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);

    (void)state;
    add(plan, PLAN_BOIL, 0, 19, 22, PLAN_REASON_OVERFLOW);
    plan->ran_l = 4000;
    plan->boiled_l = 3000;
    plan->overflow_l = 900;
    bulletin_add_plan(bulletin, plan, &told);
    assert_true(notes_hold(bulletin, "About 240 gal of 1000 gal of sap, held "
                                     "and to come, must be given up for want "
                                     "of room"));
    assert_false(notes_hold(bulletin, "Nothing is logged"));
    plan_free(plan);
    bulletin_free(bulletin);
}

static void all_sap_given_up_is_told_once(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);

    (void)state;
    plan->ran_l = 4000;
    plan->overflow_l = 900;
    plan->spoiled_l = 910;
    bulletin_add_plan(bulletin, plan, &told);
    assert_true(notes_hold(bulletin, "All of the sap, held and to come, about "
                                     "480 gal, must be given up: it spoils "
                                     "before it can be boiled."));
    assert_false(notes_hold(bulletin, "480 gal of 480 gal"));
    plan_free(plan);
    bulletin_free(bulletin);
}

static void assert_given_up(double boiled_l, double spoiled_l,
                            const struct plan_told *by, const char *words)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);

    plan->boiled_l = boiled_l;
    plan->spoiled_l = spoiled_l;
    bulletin_add_plan(bulletin, plan, by);
    if (!notes_hold(bulletin, words))
        fail_msg("not told: %s", words);
    plan_free(plan);
    bulletin_free(bulletin);
}

/* What makes no smallest boil is not lost for want of time. */
static void too_little_for_a_fire_is_said(void **state)
{
    struct plan_rules small = rules;
    struct plan_told by = told;

    (void)state;
    by.rules = &small;
    small.smallest_boil_l = 227;
    assert_given_up(0, 190, &by,
                    "about 50 gal, must be given up: it is less than the "
                    "smallest boil, 60 gal.");
    assert_given_up(1000, 190, &by,
                    "About 50 gal of 310 gal of sap, held and to come, must be "
                    "given up: it spoils before there is enough of it for a "
                    "fire.");
    assert_given_up(1000, 300, &by, "it spoils before it can be boiled.");
    small.smallest_boil_l = 20000;
    assert_given_up(0, 1900, &by,
                    "about 500 gal, must be given up: the tanks do not hold "
                    "the smallest boil, 5300 gal.");
}

/* The taps are out, the tanks hold sap: a little that spoils of it is not held
 * against what runs, which is nothing. */
static void little_of_what_is_held_is_not_given_up(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct plan *plan = empty_plan(bulletin);

    (void)state;
    add(plan, PLAN_BOIL, 0, 19, 22, PLAN_REASON_SPOILAGE);
    plan->ran_l = 0;
    plan->boiled_l = 560;
    plan->spoiled_l = 8;
    bulletin_add_plan(bulletin, plan, &told);
    assert_false(notes_hold(bulletin, "must be given up"));
    plan_free(plan);
    bulletin_free(bulletin);
}

static void check_same(const struct bulletin *a, const struct bulletin *b)
{
    const struct bulletin_action *x = told_action(a, ACTION_BOIL);
    const struct bulletin_action *y = told_action(b, ACTION_BOIL);

    assert_string_equal(x->detail, y->detail);
    assert_string_equal(x->reason, y->reason);
    assert_int_equal(x->start_by, y->start_by);
    assert_int_equal(x->done_by, y->done_by);
    assert_near(x->syrup_l, y->syrup_l, 0.05);
    assert_int_equal(a->plan.hours, b->plan.hours);
    assert_int_equal(a->plan.start, b->plan.start);
    for (int hour = 0; hour < a->plan.hours; hour++) {
        assert_near(a->plan.buckets_l[hour], b->plan.buckets_l[hour], 0.5);
        assert_near(a->plan.tanks_l[hour], b->plan.tanks_l[hour], 0.5);
    }
    assert_near(b->plan.tanks_hold_l, 760, 0);
    assert_near(b->plan.buckets_hold_l, 1680, 0);
}

static void it_comes_back_out_of_json(void **state)
{
    struct bulletin *bulletin = fake_bulletin(), *back = NULL;
    struct plan *plan = empty_plan(bulletin);
    struct error err = {""};
    char *json;

    (void)state;
    add(plan, PLAN_BOIL, 1, 9, 14, PLAN_REASON_SPOILAGE);
    for (int hour = 0; hour < plan->time.hour_count; hour++) {
        plan->buckets_l[hour] = 3 * hour;
        plan->tanks_l[hour] = 700 - hour;
    }
    bulletin_add_plan(bulletin, plan, &told);
    json = bulletin_to_json(bulletin);
    assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err), 0);
    check_same(bulletin, back);
    free(json);
    bulletin_free(back);
    bulletin_free(bulletin);
    plan_free(plan);
}

/* Levels short of `count`, or words among them, are refused by name. */
static void broken_levels_are_refused(void **state)
{
    static const char *const broken[] = {
        "\"plan\":{\"start\":null,\"count\":1,\"buckets_hold_l\":1,"
        "\"tanks_hold_l\":1,\"ran_l\":1,\"boiled_l\":1,\"syrup_l\":1,"
        "\"overflow_l\":1,\"spoiled_l\":1,\"loss_chance\":0,"
        "\"buckets_l\":[1],\"tanks_l\":[]",
        "\"plan\":{\"start\":null,\"count\":1,\"buckets_hold_l\":1,"
        "\"tanks_hold_l\":1,\"ran_l\":1,\"boiled_l\":1,\"syrup_l\":1,"
        "\"overflow_l\":1,\"spoiled_l\":1,\"loss_chance\":0,"
        "\"buckets_l\":[1],\"tanks_l\":[\"x\"]"};

    (void)state;
    for (int i = 0; i < 2; i++) {
        struct bulletin *bulletin = fake_bulletin(), *back = NULL;
        struct error err = {""};
        char *json = bulletin_to_json(bulletin), *end = strrchr(json, '}');
        char *whole =
            mem_format("%.*s,%s}}", (int)(end - json), json, broken[i]);

        assert_int_equal(bulletin_from_json(whole, strlen(whole), &back, &err),
                         -1);
        assert_non_null(strstr(err.text, "tanks_l"));
        free(json);
        free(whole);
        bulletin_free(bulletin);
    }
}

/* How to do it is told of the next sixty hours, and of the first boil that is
 * not over, be it a week ahead. */
static void the_first_boil_is_told_whole(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    utc_s evening = fake_time(bulletin, 11, 20, 0);

    (void)state;
    fake_action(bulletin, ACTION_COLLECT, 7, 8, 4);
    fake_action(bulletin, ACTION_COLLECT, 10, 8, 4);
    fake_action(bulletin, ACTION_BOIL, 11, 8, 4);
    fake_action(bulletin, ACTION_BOIL, 15, 8, 4);
    assert_true(bulletin_action_near(bulletin, 0, FAKE_MADE));
    assert_false(bulletin_action_near(bulletin, 1, FAKE_MADE));
    assert_true(bulletin_action_near(bulletin, 2, FAKE_MADE));
    assert_false(bulletin_action_near(bulletin, 3, FAKE_MADE));
    assert_true(bulletin_action_near(bulletin, 3, evening));
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_to_do_is_an_answer),
        cmocka_unit_test(waiting_says_until_when),
        cmocka_unit_test(a_boil_says_by_when_and_how_hot),
        cmocka_unit_test(a_boil_far_ahead_says_whole_degrees),
        cmocka_unit_test(every_boil_says_by_when),
        cmocka_unit_test(sap_given_up_is_said),
        cmocka_unit_test(all_sap_given_up_is_told_once),
        cmocka_unit_test(too_little_for_a_fire_is_said),
        cmocka_unit_test(the_first_boil_is_told_whole),
        cmocka_unit_test(little_of_what_is_held_is_not_given_up),
        cmocka_unit_test(it_comes_back_out_of_json),
        cmocka_unit_test(broken_levels_are_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
