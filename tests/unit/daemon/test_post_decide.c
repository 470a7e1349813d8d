/* When what is mailed: each morning once at its hour of the wall clock, each
 * alert once for each start, quiet hours kept. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "daemon/post_decide.h"
#include "daemon/schedule.h"
#include "fake_bulletin.h"

enum { HOUR = SECONDS_PER_HOUR };

struct bench {
    struct bulletin *bulletin;
    struct post_rules rules;
    struct post_memory memory;
    struct post_decision decision;
};

static int set_up(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);

    bench->bulletin = fake_bulletin();
    /* No run of its own: each test says what holds. */
    for (int i = 0; i < bench->bulletin->day_count; i++)
        bench->bulletin->days[i].has_window = false;
    bench->rules = (struct post_rules){.alerts = 0x7f,
                                       .morning_min = 5 * 60 + 30,
                                       .has_quiet = true,
                                       .quiet_from_min = 22 * 60,
                                       .quiet_to_min = 5 * 60};
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    bulletin_free(bench->bulletin);
    free(bench);
    return 0;
}

static utc_s at(const struct bench *bench, int day, int hour, int minute)
{
    return fake_time(bench->bulletin, day, hour, minute);
}

/* Decides; the forecast is always a quarter of an hour old. Returns the
 * count of alerts. */
static int decide(struct bench *bench, utc_s now)
{
    bench->bulletin->weather_from = now - 900;
    post_decide(&bench->rules, bench->bulletin->zone, bench->bulletin, now,
                &bench->memory, &bench->decision);
    return bench->decision.alert_count;
}

static struct bulletin_action *collect(struct bench *bench, utc_s start,
                                       enum action_averts averts)
{
    struct bulletin *bulletin = bench->bulletin;
    struct bulletin_action *action;

    free(bulletin->actions);
    bulletin->actions = mem_alloc(1, sizeof *bulletin->actions);
    bulletin->action_count = 1;
    action = &bulletin->actions[0];
    action->kind = ACTION_COLLECT;
    action->date = bulletin_date(bulletin, start);
    action->start = start;
    action->end = start + 2 * HOUR;
    action->sap_l = 400;
    action->averts = averts;
    return action;
}

static void nothing_to_do(struct bench *bench)
{
    bench->bulletin->action_count = 0;
}

/* Ten days minute by minute in steps of ten minutes, over the change to
 * summer time on 8 March (23 hours): at 05:30 of each day, once. */
static void each_morning_once(void **state)
{
    struct bench *bench = *state;
    int mornings = 0;

    for (utc_s now = at(bench, 5, 0, 0); now < at(bench, 15, 0, 0);
         now += 600) {
        struct civil_time civil = bulletin_civil(bench->bulletin, now);

        decide(bench, now);
        assert_false(bench->decision.missed);
        if (!bench->decision.morning)
            continue;
        assert_int_equal(civil.hour, 5);
        assert_int_equal(civil.minute, 30);
        assert_int_equal(civil.date.day, 5 + mornings);
        assert_int_equal(civil_date_compare(bench->decision.date, civil.date),
                         0);
        mornings++;
    }
    assert_int_equal(mornings, 10);
}

/* 02:30 is skipped on 8 March: then at 03:00. On 1 November it comes twice:
 * the first time alone. */
static void hours_that_are_not_or_twice(void **state)
{
    struct bench *bench = *state;
    const struct zone *zone = bench->bulletin->zone;
    struct civil_date autumn = {2026, 11, 1};
    utc_s begin = zone_day_start(zone, autumn);
    int mornings = 0;

    bench->rules.morning_min = 2 * 60 + 30;
    decide(bench, at(bench, 7, 12, 0)); /* that day is dealt with */
    decide(bench, at(bench, 8, 1, 59));
    assert_false(bench->decision.morning);
    decide(bench, at(bench, 8, 3, 0));
    assert_true(bench->decision.morning);
    decide(bench, at(bench, 8, 3, 1));
    assert_false(bench->decision.morning);
    bench->rules.morning_min = 60 + 30;
    bench->memory.morning = civil_date_add(autumn, -1);
    for (utc_s now = begin; now < begin + 25 * HOUR; now += 600) {
        decide(bench, now);
        if (!bench->decision.morning)
            continue;
        mornings++;
        assert_int_equal(now, begin + 90 * 60); /* 01:30 of summer time */
    }
    assert_int_equal(mornings, 1);
}

/* Late rather than lost, but not after noon; and said once. */
static void a_late_morning(void **state)
{
    struct bench *bench = *state;

    decide(bench, at(bench, 6, 5, 30));
    assert_true(bench->decision.morning);
    decide(bench, at(bench, 7, 11, 59));
    assert_true(bench->decision.morning);
    assert_int_equal(bench->decision.date.day, 7);
    decide(bench, at(bench, 8, 12, 0));
    assert_false(bench->decision.morning);
    assert_true(bench->decision.missed);
    decide(bench, at(bench, 8, 12, 10));
    assert_false(bench->decision.missed);
    decide(bench, at(bench, 9, 5, 30));
    assert_true(bench->decision.morning);
    /* Asleep for days: the last one alone counts, and it is too late. */
    decide(bench, at(bench, 12, 3, 0));
    assert_false(bench->decision.morning);
    assert_true(bench->decision.missed);
    decide(bench, at(bench, 12, 5, 30));
    assert_true(bench->decision.morning);
}

/* One that was due before noon and waited for a turn goes after noon too. */
static void waited_over_noon(void **state)
{
    struct bench *bench = *state;

    decide(bench, at(bench, 6, 5, 30));
    bench->rules.due = at(bench, 7, 11, 59);
    decide(bench, at(bench, 7, 12, 1));
    assert_true(bench->decision.morning);
    assert_int_equal(bench->decision.date.day, 7);
    bench->rules.due = at(bench, 8, 12, 0);
    decide(bench, at(bench, 8, 12, 1));
    assert_false(bench->decision.morning);
    assert_true(bench->decision.missed);
}

/* Without a bulletin the morning waits for one. */
static void nothing_published(void **state)
{
    struct bench *bench = *state;

    post_decide(&bench->rules, bench->bulletin->zone, NULL, at(bench, 6, 5, 30),
                &bench->memory, &bench->decision);
    assert_false(bench->decision.morning || bench->decision.missed);
    decide(bench, at(bench, 6, 7, 0));
    assert_true(bench->decision.morning);
}

static void once_a_start(void **state)
{
    struct bench *bench = *state;
    utc_s start = at(bench, 7, 16, 0);

    bench->memory.morning = (struct civil_date){2026, 3, 7};
    collect(bench, start, AVERTS_OVERFLOW);
    assert_int_equal(decide(bench, at(bench, 6, 15, 50)), 0); /* too early */
    assert_int_equal(decide(bench, at(bench, 6, 16, 10)), 1);
    assert_int_equal(bench->decision.alerts[0].kind, MAIL_OVERFLOW);
    assert_int_equal(bench->decision.since[0], at(bench, 6, 16, 10));
    for (int hour = 17; hour < 40; hour++)
        assert_int_equal(decide(bench, at(bench, 6, hour, 0)), 0);
    /* It trembles: gone for five hours is not over, six are. */
    nothing_to_do(bench);
    assert_int_equal(decide(bench, at(bench, 7, 17, 0)), 0);
    assert_int_equal(decide(bench, at(bench, 7, 20, 0)), 0);
    collect(bench, at(bench, 8, 16, 0), AVERTS_OVERFLOW);
    assert_int_equal(decide(bench, at(bench, 7, 20, 30)), 0);
    nothing_to_do(bench);
    assert_int_equal(decide(bench, at(bench, 8, 5, 0)), 0);
    collect(bench, at(bench, 8, 16, 0), AVERTS_OVERFLOW);
    bench->memory.morning = (struct civil_date){2026, 3, 8};
    assert_int_equal(decide(bench, at(bench, 8, 6, 0)), 1);
}

static void kinds_of_loss(void **state)
{
    static const struct {
        enum action_averts averts;
        enum mail_kind kind;
    } pairs[] = {{AVERTS_OVERFLOW, MAIL_OVERFLOW},
                 {AVERTS_SPOILAGE, MAIL_SPOILAGE},
                 {AVERTS_FREEZE_UP, MAIL_FREEZE_UP}};
    struct bench *bench = *state;

    bench->memory.morning = (struct civil_date){2026, 3, 7};
    for (int i = 0; i < 3; i++) {
        collect(bench, at(bench, 7, 16, 0), pairs[i].averts);
        memset(bench->memory.conditions, 0, sizeof bench->memory.conditions);
        assert_int_equal(decide(bench, at(bench, 7, 9, 0)), 1);
        assert_int_equal(bench->decision.alerts[0].kind, pairs[i].kind);
        /* One that is not wanted is not sent. */
        memset(bench->memory.conditions, 0, sizeof bench->memory.conditions);
        bench->rules.alerts = 0x7fu & ~(1u << pairs[i].kind);
        assert_int_equal(decide(bench, at(bench, 7, 9, 0)), 0);
        bench->rules.alerts = 0x7f;
    }
    collect(bench, at(bench, 7, 16, 0), AVERTS_NOTHING);
    assert_int_equal(decide(bench, at(bench, 7, 9, 10)), 0);
}

static void quiet_hours(void **state)
{
    struct bench *bench = *state;

    bench->memory.morning = (struct civil_date){2026, 3, 8};
    collect(bench, at(bench, 8, 9, 0), AVERTS_SPOILAGE);
    assert_int_equal(decide(bench, at(bench, 7, 22, 0)), 0);
    assert_int_equal(decide(bench, at(bench, 8, 1, 30)), 0);
    assert_int_equal(decide(bench, at(bench, 8, 4, 50)), 0);
    assert_int_equal(decide(bench, at(bench, 8, 5, 0)), 1);
    assert_int_equal(bench->decision.since[0], at(bench, 7, 22, 0));
    /* One that no longer holds at their end is not sent at all. */
    memset(&bench->memory.conditions, 0, sizeof bench->memory.conditions);
    collect(bench, at(bench, 9, 9, 0), AVERTS_SPOILAGE);
    assert_int_equal(decide(bench, at(bench, 8, 23, 0)), 0);
    nothing_to_do(bench);
    bench->memory.morning = (struct civil_date){2026, 3, 9};
    for (int minute = 0; minute < 48 * 60; minute += 30)
        assert_int_equal(decide(bench, at(bench, 9, 5, minute)), 0);
    /* By day, and at their edges. */
    assert_false(post_is_quiet(&bench->rules, bench->bulletin->zone,
                               at(bench, 8, 21, 59)));
    assert_true(post_is_quiet(&bench->rules, bench->bulletin->zone,
                              at(bench, 8, 22, 0)));
    bench->rules.quiet_from_min = 13 * 60;
    bench->rules.quiet_to_min = 14 * 60;
    assert_true(post_is_quiet(&bench->rules, bench->bulletin->zone,
                              at(bench, 8, 13, 30)));
    assert_false(post_is_quiet(&bench->rules, bench->bulletin->zone,
                               at(bench, 8, 14, 0)));
}

static void next_look(void **state)
{
    struct bench *bench = *state;
    const struct zone *zone = bench->bulletin->zone;

    assert_int_equal(post_decide_next(&bench->rules, zone, at(bench, 7, 12, 0)),
                     at(bench, 8, 5, 30));
    assert_int_equal(post_decide_next(&bench->rules, zone, at(bench, 7, 23, 0)),
                     at(bench, 8, 5, 0));
}

/* A morning mail tells all that holds; the alerts of it are not sent besides.
 */
static void morning_tells_all(void **state)
{
    struct bench *bench = *state;

    collect(bench, at(bench, 7, 16, 0), AVERTS_OVERFLOW);
    assert_int_equal(decide(bench, at(bench, 7, 5, 30)), 0);
    assert_true(bench->decision.morning);
    assert_int_equal(decide(bench, at(bench, 7, 6, 30)), 0);
    assert_int_equal(bench->memory.told_count, 1);
}

static void run_starting(void **state)
{
    struct bench *bench = *state;
    struct bulletin_day *days = bench->bulletin->days;

    bench->memory.morning = (struct civil_date){2026, 3, 9};
    for (int day = 7; day <= 8; day++) {
        days[day - 5].has_window = true;
        days[day - 5].run_start = at(bench, day, 10, 0);
        days[day - 5].run_end = at(bench, day, 17, 0);
    }
    assert_int_equal(decide(bench, at(bench, 7, 7, 59)), 0);
    assert_int_equal(decide(bench, at(bench, 7, 8, 0)), 1);
    assert_int_equal(bench->decision.alerts[0].kind, MAIL_RUN_STARTING);
    assert_int_equal(bench->decision.alerts[0].best_before,
                     at(bench, 7, 17, 0));
    assert_int_equal(decide(bench, at(bench, 7, 16, 0)), 0);
    /* The next day's run is the same spell. */
    assert_int_equal(decide(bench, at(bench, 7, 23, 0)), 0);
    assert_int_equal(decide(bench, at(bench, 8, 9, 0)), 0);
    assert_int_equal(decide(bench, at(bench, 8, 16, 0)), 0);
    /* After a day without one it is another. */
    assert_int_equal(decide(bench, at(bench, 9, 13, 0)), 0);
    days[5].strength = STRENGTH_GOOD_RUN;
    days[5].chance = 0.8;
    days[5].has_window = true;
    days[5].run_start = at(bench, 10, 10, 0);
    days[5].run_end = at(bench, 10, 15, 0);
    bench->memory.morning = (struct civil_date){2026, 3, 10};
    assert_int_equal(decide(bench, at(bench, 10, 9, 0)), 1);
    /* One that is more likely not to come is not told. */
    days[5].chance = 0.4;
    memset(&bench->memory.conditions, 0, sizeof bench->memory.conditions);
    assert_int_equal(decide(bench, at(bench, 10, 9, 0)), 0);
}

static void plan_changed(void **state)
{
    struct bench *bench = *state;

    collect(bench, at(bench, 7, 16, 0), AVERTS_NOTHING);
    assert_int_equal(decide(bench, at(bench, 7, 5, 30)), 0);
    assert_true(bench->decision.morning);
    /* An hour later is no change, two are. */
    collect(bench, at(bench, 7, 17, 0), AVERTS_NOTHING);
    assert_int_equal(decide(bench, at(bench, 7, 7, 0)), 0);
    collect(bench, at(bench, 7, 18, 0), AVERTS_NOTHING);
    assert_int_equal(decide(bench, at(bench, 7, 8, 0)), 1);
    assert_int_equal(bench->decision.alerts[0].kind, MAIL_PLAN_CHANGED);
    assert_non_null(strstr(bench->decision.alerts[0].lines[0], "18:00-20:00"));
    assert_non_null(strstr(bench->decision.alerts[0].lines[1], "16:00-18:00"));
    /* What was told last is what counts from then on. */
    assert_int_equal(decide(bench, at(bench, 7, 9, 0)), 0);
    /* Away with it; again only three hours after the last alert. */
    nothing_to_do(bench);
    assert_int_equal(decide(bench, at(bench, 7, 11, 30)), 1);
    assert_non_null(strstr(bench->decision.alerts[0].lines[0], "Falls away"));
    /* What has begun or is over has not fallen away. */
    collect(bench, at(bench, 8, 16, 0), AVERTS_NOTHING);
    assert_int_equal(decide(bench, at(bench, 8, 5, 30)), 0);
    nothing_to_do(bench);
    assert_int_equal(decide(bench, at(bench, 8, 16, 30)), 0);
}

static void forecast_stale(void **state)
{
    struct bench *bench = *state;
    utc_s fetched = at(bench, 6, 15, 0);

    bench->memory.morning = (struct civil_date){2026, 3, 8};
    bench->bulletin->weather_from = fetched;
    for (int hours = 22; hours < 26; hours++) {
        post_decide(&bench->rules, bench->bulletin->zone, bench->bulletin,
                    fetched + hours * HOUR, &bench->memory, &bench->decision);
        assert_int_equal(bench->decision.alert_count, hours == 24);
    }
    assert_int_equal(decide(bench, fetched + 27 * HOUR), 0);
    bench->bulletin->weather_from = fetched;
    post_decide(&bench->rules, bench->bulletin->zone, bench->bulletin,
                fetched + 28 * HOUR, &bench->memory, &bench->decision);
    assert_int_equal(bench->decision.alert_count, 1); /* another start */
}

static void memory_as_json(void **state)
{
    struct bench *bench = *state;
    struct post_memory back;
    char *words, *again;

    collect(bench, at(bench, 7, 16, 0), AVERTS_OVERFLOW);
    decide(bench, at(bench, 7, 5, 30));
    words = post_memory_to_json(&bench->memory);
    assert_int_equal(0, post_memory_from_json(words, &back, NULL));
    again = post_memory_to_json(&back);
    assert_string_equal(words, again);
    assert_int_equal(back.told_count, 1);
    assert_int_equal(back.told[0].start, at(bench, 7, 16, 0));
    assert_true(back.conditions[MAIL_OVERFLOW].active);
    assert_int_equal(back.conditions[MAIL_OVERFLOW].told, at(bench, 7, 5, 30));
    assert_int_equal(-1, post_memory_from_json("{", &back, NULL));
    assert_int_equal(back.told_count, 0);
    free(again);
    free(words);
}

/* Noted under a clock that ran ahead: it does not silence what comes. */
static void wrong_clock(void **state)
{
    struct bench *bench = *state;

    collect(bench, at(bench, 7, 16, 0), AVERTS_OVERFLOW);
    bench->memory.morning = (struct civil_date){2031, 1, 1};
    bench->memory.conditions[MAIL_OVERFLOW] = (struct post_condition){
        true, FAKE_MADE * 2, FAKE_MADE * 2, FAKE_MADE * 2};
    decide(bench, at(bench, 7, 5, 30));
    assert_true(bench->decision.morning);
    bench->memory.conditions[MAIL_OVERFLOW] = (struct post_condition){
        true, FAKE_MADE * 2, FAKE_MADE * 2, FAKE_MADE * 2};
    assert_int_equal(decide(bench, at(bench, 7, 9, 0)), 1);
}

#define WITH_BENCH(test)                                                       \
    cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_BENCH(each_morning_once), WITH_BENCH(hours_that_are_not_or_twice),
        WITH_BENCH(a_late_morning),    WITH_BENCH(waited_over_noon),
        WITH_BENCH(nothing_published), WITH_BENCH(once_a_start),
        WITH_BENCH(kinds_of_loss),     WITH_BENCH(quiet_hours),
        WITH_BENCH(next_look),         WITH_BENCH(morning_tells_all),
        WITH_BENCH(run_starting),      WITH_BENCH(plan_changed),
        WITH_BENCH(forecast_stale),    WITH_BENCH(memory_as_json),
        WITH_BENCH(wrong_clock),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
