/* The plan in the turn, on the demo's operation and invented answers. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "logbook/spool.h"
#include "publish/phrase.h"
#include "source/source.h"
#include "sugarhouse/keeping.h"
#include "sugarhouse/syrup.h"
#include "turn/make_plan.h"
#include "turn/plan_rules.h"
#include "turn_bench.h"

#define NOW DEMO_NOW

static int set_up(void **state)
{
    *state = turn_bench_as_read("plan");
    return 0;
}

static struct bulletin *turn_at(struct turn_bench *bench, utc_s now)
{
    struct turn_result result;
    struct bulletin *bulletin = turn_bench_good(bench, now, &result);

    turn_result_free(&result);
    return bulletin;
}

static bool notes_hold(const struct bulletin *bulletin, const char *words)
{
    for (int i = 0; i < bulletin->notes.count; i++)
        if (strstr(bulletin->notes.items[i], words) != NULL)
            return true;
    return false;
}

static bool reasons_hold(const struct bulletin *bulletin, const char *words)
{
    for (int i = 0; i < bulletin->action_count; i++)
        if (strstr(bulletin->actions[i].reason, words) != NULL)
            return true;
    return false;
}

/* What the demo is there to show: an overflow averted, a wait that pays, and a
 * last fire, each with its reason. */
static void the_demo_shows_its_three_cases(void **state)
{
    struct bulletin *bulletin = turn_at(*state, NOW);

    assert_true(bulletin->plan.hours > 200);
    assert_near(bulletin->plan.tanks_hold_l, 160 * L_PER_US_GALLON, 0.1);
    assert_near(bulletin->plan.buckets_hold_l, 140 * 3 * L_PER_US_GALLON, 0.1);
    assert_true(notes_hold(bulletin, "Left alone, sap would run over from"));
    assert_true(notes_hold(bulletin, "Nothing to collect or boil until Sat"));
    assert_true(reasons_hold(bulletin, "It makes room: without it"));
    assert_true(reasons_hold(bulletin, "waiting saves a fire"));
    assert_true(reasons_hold(bulletin, "It is the last fire in sight"));
    assert_true(notes_hold(bulletin, "Nothing is logged yet"));
    bulletin_free(bulletin);
}

/* In order of time, within the attended hours, and never two at once. */
static void actions_are_in_order_and_apart(void **state)
{
    struct bulletin *bulletin = turn_at(*state, NOW);
    utc_s last = 0;

    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];
        struct civil_time from = bulletin_civil(bulletin, action->start);
        struct civil_time to = bulletin_civil(bulletin, action->end);

        if (action->all_day)
            continue;
        assert_true(action->start >= last);
        last = action->end;
        assert_true(from.hour * 60 + from.minute >= 390);
        assert_true(to.hour * 60 + to.minute <= 1350);
    }
    bulletin_free(bulletin);
}

static void no_taps_no_plan(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *bulletin;

    for (int i = 0; i < bench->config->bush_count; i++)
        bench->config->bushes[i].has_tapped = false;
    bulletin = turn_at(bench, NOW);
    assert_int_equal(bulletin->plan.hours, 0);
    assert_int_equal(bulletin->lack, LACKS_TAPS);
    /* Tomorrow it runs: whatever the season's weather says, tap today. */
    assert_int_equal(bulletin->actions[0].kind, ACTION_TAP);
    assert_int_equal(bulletin->actions[0].date.day, 5);
    bulletin_free(bulletin);
}

static void no_sugarhouse_no_plan(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *bulletin;

    bench->config->sugarhouse.present = false;
    bulletin = turn_at(bench, NOW);
    assert_int_equal(bulletin->plan.hours, 0);
    assert_int_equal(bulletin->lack, LACKS_NOTHING);
    for (int i = 0; i < bulletin->action_count; i++)
        assert_true(bulletin->actions[i].all_day);
    bulletin_free(bulletin);
}

/* A sugarhouse without what a plan needs: the reason stands in its place. */
static void what_is_lacking_is_said(void **state)
{
    struct turn_bench *bench = *state;
    struct config_sugarhouse *house = &bench->config->sugarhouse;
    struct config_sugarhouse whole = *house;
    struct bulletin *bulletin;

    house->evaporation_l_h = 0;
    house->pan_area_m2 = 0;
    bulletin = turn_at(bench, NOW);
    assert_int_equal(bulletin->plan.hours, 0);
    assert_int_equal(bulletin->lack, LACKS_EVAPORATOR);
    bulletin_free(bulletin);
    *house = whole;
    house->tank_count = 0;
    bulletin = turn_at(bench, NOW);
    assert_int_equal(bulletin->lack, LACKS_TANK);
    bulletin_free(bulletin);
    *house = whole;
    house->attended_from_min = 18 * 60;
    house->attended_to_min = 19 * 60 + 30;
    bulletin = turn_at(bench, NOW);
    assert_int_equal(bulletin->plan.hours, 0);
    assert_int_equal(bulletin->lack, LACKS_HOURS);
    bulletin_free(bulletin);
    *house = whole;
}

/* Writes into the logbook of the next turn, through the spool. */
static void note(struct turn_bench *bench, struct log_note note)
{
    struct log_record record = {
        .change = LOG_NEW, .written = note.at, .note = note};
    struct logbook book = {0};
    struct error err = {""};

    log_uid_make(record.written, (uint64_t)note.kind + 1, record.uid);
    assert_true(logbook_add(&book, &record));
    if (spool_write(bench->spool, bench->config->slug, &book, &err) != 0)
        fail_msg("%s", err.text);
    logbook_free(&book);
}

/* The taps are out: no run is told and none is planned for, but what stands
 * in the tanks is boiled yet. */
static void pulled_taps_run_no_more(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *bulletin = turn_at(bench, NOW);
    struct log_note sap = {.kind = LOG_COLLECTED, .at = NOW - 7200};
    struct log_note pulled = {.kind = LOG_PULLED, .at = NOW - 3600};
    bool boils = false;

    assert_true(bulletin->days[bulletin->day_count / 2].sap_l_p50 > 100);
    bulletin_free(bulletin);
    sap.has[LOG_SAP_L] = true;
    sap.figure[LOG_SAP_L] = 600;
    note(bench, sap);
    note(bench, pulled);
    bulletin = turn_at(bench, NOW);
    for (int i = 0; i < bulletin->day_count; i++) {
        const struct bulletin_day *day = &bulletin->days[i];

        if (civil_date_compare(day->date, (struct civil_date){2026, 3, 5}) < 0)
            continue;
        assert_near(day->sap_l_p50 + day->sap_l_p90 + day->chance, 0, 0);
        assert_int_equal(day->strength, STRENGTH_NONE);
    }
    assert_near(bulletin->plan.ran_l, 0, 0);
    for (int i = 0; i < bulletin->action_count; i++) {
        assert_int_not_equal(bulletin->actions[i].kind, ACTION_COLLECT);
        boils |= bulletin->actions[i].kind == ACTION_BOIL;
    }
    assert_true(boils);
    bulletin_free(bulletin);
}

/* 600 L carried in this morning stand in the tank; the hint is gone. */
static void the_log_fills_the_tanks(void **state)
{
    struct turn_bench *bench = *state;
    struct log_record record = {
        .change = LOG_NEW,
        .number = 1,
        .written = NOW - 600,
        .note = {.kind = LOG_COLLECTED, .at = NOW - SECONDS_PER_HOUR}};
    struct logbook book = {0};
    struct log_view view = {0};
    struct bulletin *bulletin = turn_at(bench, NOW);
    double before = bulletin->plan.tanks_l[0];

    log_uid_make(record.written, 1, record.uid);
    record.note.has[LOG_SAP_L] = true;
    record.note.figure[LOG_SAP_L] = 600;
    assert_true(logbook_add(&book, &record));
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    free(bulletin->plan.buckets_l);
    free(bulletin->plan.tanks_l);
    bulletin->plan = (struct bulletin_plan){.hours = 0};
    bulletin->action_count = 0;
    error_list_free(&bulletin->notes);
    bulletin->notes = (struct error_list){NULL, 0};
    make_plan(bench->config, &view, bulletin);
    assert_true(before < 100);
    assert_true(bulletin->plan.tanks_l[0] > 500);
    assert_false(notes_hold(bulletin, "Nothing is logged yet"));
    log_view_free(&view);
    logbook_free(&book);
    bulletin_free(bulletin);
}

/* The syrup told is that of the sugar noted; without a note, of 2 Brix. */
static void the_log_sweetens_the_sap(void **state)
{
    struct turn_bench *bench = *state;
    struct log_note sap = {.kind = LOG_COLLECTED, .at = NOW - 7200};
    struct bulletin *bulletin = turn_at(bench, NOW);

    assert_near(bulletin->plan.syrup_l / bulletin->plan.boiled_l,
                syrup_from_sap_l(1, 2, 66.9), 1e-9);
    assert_true(notes_hold(bulletin, "as sweet as usual (2 Brix)"));
    bulletin_free(bulletin);
    sap.has[LOG_SAP_L] = sap.has[LOG_SAP_BRIX] = true;
    sap.figure[LOG_SAP_L] = 600;
    sap.figure[LOG_SAP_BRIX] = 2.8;
    note(bench, sap);
    bulletin = turn_at(bench, NOW);
    assert_near(bulletin->plan.syrup_l / bulletin->plan.boiled_l,
                syrup_from_sap_l(1, 2.8, 66.9), 1e-9);
    assert_true(notes_hold(bulletin, "as sweet as on Thu 5 Mar"));
    bulletin_free(bulletin);
}

/* How long held sap keeps is told where the log knows of it: fresh sap by both
 * moments, old sap as darkening already; none without a log. */
static void the_log_tells_how_long_sap_keeps(void **state)
{
    struct turn_bench *bench = *state;
    struct log_note sap = {.kind = LOG_COLLECTED,
                           .at = NOW - 24 * SECONDS_PER_HOUR};
    struct bulletin *bulletin = turn_at(bench, NOW);

    assert_false(notes_hold(bulletin, "Sap held in"));
    bulletin_free(bulletin);
    sap.has[LOG_SAP_L] = true;
    sap.figure[LOG_SAP_L] = 600;
    note(bench, sap);
    bulletin = turn_at(bench, NOW);
    assert_near(keeping_light_share(KEEPING_BOIL_BY_LIFE), 1 - 1 / 5.0, 1e-12);
    assert_true(notes_hold(bulletin, "Sap held in the tanks: by "));
    assert_false(notes_hold(bulletin, "already"));
    bulletin_free(bulletin);
}

static void old_sap_is_told_as_old(void **state)
{
    struct turn_bench *bench = *state;
    struct log_note sap = {.kind = LOG_COLLECTED,
                           .at = NOW - 8 * SECONDS_PER_DAY};
    struct bulletin *bulletin;

    for (int i = 0; i < bench->config->bush_count; i++)
        bench->config->bushes[i].tapped = (struct civil_date){2026, 2, 1};
    sap.has[LOG_SAP_L] = true;
    sap.figure[LOG_SAP_L] = 600;
    note(bench, sap);
    bulletin = turn_at(bench, NOW);
    assert_true(notes_hold(bulletin, "Sap held in the tanks: its syrup passes "
                                     "a fifth less light already"));
    bulletin_free(bulletin);
}

/* What is told as the smallest boil is what the plan goes by. */
static void one_smallest_boil(void **state)
{
    struct turn_bench *bench = *state;
    struct config_sugarhouse *house = &bench->config->sugarhouse;
    struct plan_rules rules;

    assert_near(plan_smallest_boil_l(house), 60 * L_PER_US_GALLON, 1e-9);
    house->smallest_boil_l = 0;
    assert_true(plan_rules_from_config(bench->config, &rules));
    assert_near(rules.smallest_boil_l, 2 * rules.sap_rate_l_h, 1e-9);
    assert_near(plan_smallest_boil_l(house), rules.smallest_boil_l, 0);
    /* What the tanks never hold would never be lit. */
    house->storage_l = 3 * rules.sap_rate_l_h;
    assert_near(plan_smallest_boil_l(house), 1.5 * rules.sap_rate_l_h, 1e-9);
    house->evaporation_l_h = house->pan_area_m2 = 0;
    assert_near(plan_smallest_boil_l(house), 0, 0);
}

/* Hour after hour on the same answers, what is planned for the coming days
 * stays: a calendar that trembles is no use. */
static void the_plan_stays_from_hour_to_hour(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *first = turn_at(bench, NOW);
    int moved = 0, told = 0;

    for (int hour = 1; hour <= 6; hour++) {
        struct bulletin *later = turn_at(bench, NOW + hour * SECONDS_PER_HOUR);

        for (int i = 0; i < later->action_count; i++) {
            bool same = false;

            for (int k = 0; k < first->action_count; k++)
                same |= first->actions[k].kind == later->actions[i].kind &&
                        first->actions[k].start == later->actions[i].start &&
                        first->actions[k].end == later->actions[i].end;
            moved += !same;
            told++;
        }
        bulletin_free(first);
        first = later;
    }
    print_message("%d of %d actions moved\n", moved, told);
    assert_true(moved * 10 <= told);
    bulletin_free(first);
}

#define ROW(test)                                                              \
    cmocka_unit_test_setup_teardown(test, set_up, turn_bench_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(the_demo_shows_its_three_cases),
        ROW(actions_are_in_order_and_apart),
        ROW(no_taps_no_plan),
        ROW(no_sugarhouse_no_plan),
        ROW(what_is_lacking_is_said),
        ROW(the_log_fills_the_tanks),
        ROW(the_log_sweetens_the_sap),
        ROW(the_log_tells_how_long_sap_keeps),
        ROW(old_sap_is_told_as_old),
        ROW(one_smallest_boil),
        ROW(pulled_taps_run_no_more),
        ROW(the_plan_stays_from_hour_to_hour),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
