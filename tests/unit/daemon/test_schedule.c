/* Civil hours against the law on summer time: in the United States the clock
 * goes forward at 02:00 on the second Sunday of March and back at 02:00 on the
 * first Sunday of November (15 U.S.C. 260a): 8 March and 1 November 2026. */
#include "daemon/schedule.h"

#include <stdio.h>

#include "unit_test.h"

static struct zone *new_york;

static int open_zone(void **state)
{
    (void)state;
    new_york = zone_open("America/New_York", NULL);
    return new_york == NULL;
}

static int close_zone(void **state)
{
    (void)state;
    zone_free(new_york);
    return 0;
}

static utc_s at(const char *words)
{
    utc_s instant = 0;

    assert_int_equal(iso_time_parse(words, 0, &instant, NULL), 0);
    return instant;
}

static const struct civil_date spring = {2026, 3, 8};
static const struct civil_date autumn = {2026, 11, 1};
enum { HALF_PAST_1 = 90, HALF_PAST_2 = 150, HALF_PAST_5 = 330 };

static void test_plain_hour(void **state)
{
    (void)state;
    assert_int_equal(schedule_instant(new_york, (struct civil_date){2026, 3, 5},
                                      HALF_PAST_5),
                     at("2026-03-05T05:30:00-05:00"));
    assert_int_equal(schedule_instant(new_york, spring, HALF_PAST_5),
                     at("2026-03-08T05:30:00-04:00"));
    assert_int_equal(schedule_instant(new_york, spring, 0),
                     at("2026-03-08T00:00:00-05:00"));
}

static void test_hour_that_does_not_exist(void **state)
{
    (void)state;
    assert_int_equal(schedule_instant(new_york, spring, HALF_PAST_2),
                     at("2026-03-08T03:00:00-04:00"));
    assert_int_equal(schedule_instant(new_york, spring, 120),
                     at("2026-03-08T03:00:00-04:00"));
    assert_int_equal(schedule_instant(new_york, spring, 119),
                     at("2026-03-08T01:59:00-05:00"));
    assert_int_equal(schedule_instant(new_york, spring, 180),
                     at("2026-03-08T03:00:00-04:00"));
}

static void test_hour_that_comes_twice(void **state)
{
    utc_s first = at("2026-11-01T01:30:00-04:00");

    (void)state;
    assert_int_equal(schedule_instant(new_york, autumn, HALF_PAST_1), first);
    assert_int_equal(schedule_next(new_york, HALF_PAST_1, first - 1), first);
    assert_int_equal(schedule_next(new_york, HALF_PAST_1, first),
                     at("2026-11-02T01:30:00-05:00"));
    /* Between the two comings and after the second: not again. */
    assert_int_equal(schedule_next(new_york, HALF_PAST_1, first + 3600),
                     at("2026-11-02T01:30:00-05:00"));
}

/* Cuba's clock went forward at midnight on 8 March 2026 (tz database): the
 * day begins at 01:00. */
static void test_gap_at_midnight(void **state)
{
    struct zone *havana = zone_open("America/Havana", NULL);
    utc_s instant;

    (void)state;
    assert_non_null(havana);
    instant = schedule_instant(havana, spring, 30);
    assert_int_equal(instant, at("2026-03-08T01:00:00-04:00"));
    assert_int_equal(instant, zone_day_start(havana, spring));
    zone_free(havana);
}

/* Every hour of the wall clock, through a year: once a day, in order. */
static void test_each_minute_once_a_day(void **state)
{
    static const int minutes[] = {0, 59, 60, 90, 119, 120, 150, 179, 180, 1439};

    (void)state;
    for (size_t i = 0; i < sizeof minutes / sizeof minutes[0]; i++) {
        utc_s now = at("2026-01-01T04:59:59Z");
        struct civil_date date = {2026, 1, 1};

        for (int day = 0; day < 365; day++) {
            now = schedule_next(new_york, minutes[i], now);
            assert_int_equal(civil_date_compare(zone_date(new_york, now), date),
                             0);
            date = civil_date_add(date, 1);
        }
    }
}

static void want_due(const char *now, struct civil_date done, bool due,
                     struct civil_date date)
{
    struct civil_date got;

    assert_int_equal(schedule_due(new_york, HALF_PAST_5, done, at(now), &got),
                     due);
    if (due)
        assert_int_equal(civil_date_compare(got, date), 0);
}

static void test_due_once_and_late(void **state)
{
    const struct civil_date d5 = {2026, 3, 5}, d6 = {2026, 3, 6},
                            d7 = {2026, 3, 7}, none = {0, 0, 0};

    (void)state;
    want_due("2026-03-06T05:29:59-05:00", d5, false, d6);
    want_due("2026-03-06T05:30:00-05:00", d5, true, d6);
    want_due("2026-03-06T05:30:01-05:00", d6, false, d6);
    want_due("2026-03-06T23:59:00-05:00", d5, true, d6);
    /* Slept through the 6th: told for it after midnight, and then the 7th. */
    want_due("2026-03-07T00:10:00-05:00", d5, true, d6);
    want_due("2026-03-07T05:30:00-05:00", d5, true, d7);
    /* Never done: today's alone. */
    want_due("2026-03-06T03:00:00-05:00", none, false, d5);
    want_due("2026-03-06T06:00:00-05:00", none, true, d6);
}

static void test_due_after_a_wrong_clock(void **state)
{
    const struct civil_date d6 = {2026, 3, 6}, d7 = {2026, 3, 7},
                            future = {2031, 1, 1};

    (void)state;
    want_due("2026-03-06T06:00:00-05:00", future, true, d6);
    /* Set back by a day: done is done. */
    want_due("2026-03-06T06:00:00-05:00", d7, false, d6);
}

static void test_turn_due(void **state)
{
    (void)state;
    assert_false(schedule_turn_due(1001, 1000));
    assert_true(schedule_turn_due(1000, 1000));
    assert_true(schedule_turn_due(900, 1000));
    assert_false(schedule_turn_due(1000 + SCHEDULE_LONGEST_REST_S, 1000));
    assert_true(schedule_turn_due(1001 + SCHEDULE_LONGEST_REST_S, 1000));
}

/* Ten thousand places in an hour: no minute has more than a tenth above its
 * share of 167 (five standard deviations are 64). */
static void test_spread(void **state)
{
    int minutes[60] = {0};
    char key[32];

    (void)state;
    for (int i = 0; i < 10000; i++) {
        int place;

        snprintf(key, sizeof key, "sugarhouse-%d", i);
        place = schedule_spread_s(key, 3600);
        assert_in_range(place, 0, 3599);
        assert_int_equal(place, schedule_spread_s(key, 3600));
        minutes[place / 60]++;
    }
    for (int i = 0; i < 60; i++)
        assert_in_range(minutes[i], 167 - 64, 167 + 64);
    assert_int_equal(schedule_spread_s("any", 1), 0);
    assert_int_equal(schedule_spread_s("any", 0), 0);
}

static void test_wait(void **state)
{
    (void)state;
    assert_int_equal(schedule_wait_ms(100, 100, 30000), 0);
    assert_int_equal(schedule_wait_ms(100, 90, 30000), 0);
    assert_int_equal(schedule_wait_ms(100, 105, 30000), 5000);
    assert_int_equal(schedule_wait_ms(100, 200, 30000), 30000);
    assert_int_equal(schedule_wait_ms(100, SCHEDULE_NEVER, 30000), 30000);
    assert_int_equal(schedule_wait_ms(100, 101, 500), 500);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plain_hour),
        cmocka_unit_test(test_hour_that_does_not_exist),
        cmocka_unit_test(test_hour_that_comes_twice),
        cmocka_unit_test(test_gap_at_midnight),
        cmocka_unit_test(test_each_minute_once_a_day),
        cmocka_unit_test(test_due_once_and_late),
        cmocka_unit_test(test_due_after_a_wrong_clock),
        cmocka_unit_test(test_turn_due),
        cmocka_unit_test(test_spread),
        cmocka_unit_test(test_wait),
    };

    return cmocka_run_group_tests(tests, open_zone, close_zone);
}
