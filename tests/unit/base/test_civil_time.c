#include <stdlib.h>
#include <string.h>

#include "base/civil_time.h"
#include "unit_test.h"

static struct error err;

static struct zone *open_zone(const char *name)
{
    struct zone *zone = zone_open(name, &err);
    if (!zone)
        fail_msg("%s", err.text);
    return zone;
}

static utc_s utc(const char *words)
{
    utc_s instant = 0;
    if (iso_time_parse(words, 0, &instant, &err) != 0)
        fail_msg("%s", err.text);
    return instant;
}

static void assert_utc(const char *expected, utc_s instant)
{
    char words[ISO_TIME_SIZE];
    iso_time_utc(instant, words);
    assert_string_equal(expected, words);
}

static void assert_local(const struct zone *zone, const char *expected,
                         utc_s instant)
{
    char words[ISO_TIME_SIZE];
    iso_time_local(zone, instant, words);
    assert_string_equal(expected, words);
}

static int day_hours(const struct zone *zone, struct civil_date date)
{
    utc_s start = zone_day_start(zone, date);
    utc_s end = zone_day_start(zone, civil_date_add(date, 1));
    return (int)((end - start) / SECONDS_PER_HOUR);
}

/* Day numbers of POSIX time: 1970-01-01 is 0; 2000-03-01 is 11017 (951868800
 * seconds, IEEE Std 1003.1 section 4.16 formula). */
static void day_numbers(void **state)
{
    (void)state;
    assert_int_equal(0, civil_day_number((struct civil_date){1970, 1, 1}));
    assert_int_equal(-1, civil_day_number((struct civil_date){1969, 12, 31}));
    assert_int_equal(11017, civil_day_number((struct civil_date){2000, 3, 1}));
    for (int64_t day = -150000; day < 150000; day += 1) {
        struct civil_date date = civil_date_from_day_number(day);
        assert_true(civil_date_valid(date));
        assert_true(civil_day_number(date) == day);
    }
}

static void dates(void **state)
{
    (void)state;
    assert_true(civil_date_valid((struct civil_date){2024, 2, 29}));
    assert_true(civil_date_valid((struct civil_date){2000, 2, 29}));
    assert_false(civil_date_valid((struct civil_date){1900, 2, 29}));
    assert_false(civil_date_valid((struct civil_date){2026, 2, 29}));
    assert_false(civil_date_valid((struct civil_date){2026, 2, 30}));
    assert_false(civil_date_valid((struct civil_date){2026, 4, 31}));
    assert_false(civil_date_valid((struct civil_date){2026, 13, 1}));
    assert_false(civil_date_valid((struct civil_date){2026, 0, 1}));
    assert_false(civil_date_valid((struct civil_date){2026, 1, 0}));
    struct civil_date next =
        civil_date_add((struct civil_date){2026, 12, 31}, 1);
    assert_int_equal(0,
                     civil_date_compare(next, (struct civil_date){2027, 1, 1}));
    assert_true(civil_date_compare((struct civil_date){2026, 3, 8}, next) < 0);
    assert_int_equal(366, civil_day_of_year((struct civil_date){2024, 12, 31}));
    /* 25 November 2026 is a Wednesday, 1 January 1970 a Thursday. */
    assert_int_equal(2, civil_weekday((struct civil_date){2026, 11, 25}));
    assert_int_equal(3, civil_weekday((struct civil_date){1970, 1, 1}));
    assert_int_equal(2, civil_weekday((struct civil_date){1969, 12, 31}));
    assert_int_equal(5, civil_weekday((struct civil_date){1969, 12, 27}));
}

/* RFC 5545 section 3.3.5: a time in the gap takes the offset before it, one
 * that comes twice is its first coming. Energy Policy Act of 2005, section
 * 110: second Sunday of March, first Sunday of November, at 2 a.m. */
static void new_york_gap_and_overlap(void **state)
{
    (void)state;
    struct zone *zone = open_zone("America/New_York");
    struct civil_date spring = {2026, 3, 8}, autumn = {2026, 11, 1};
    assert_utc("2026-03-08T06:59:59Z", zone_instant(zone, spring, 1, 59, 59));
    assert_utc("2026-03-08T07:00:00Z", zone_instant(zone, spring, 2, 0, 0));
    assert_utc("2026-03-08T07:30:00Z", zone_instant(zone, spring, 2, 30, 0));
    assert_utc("2026-03-08T07:00:00Z", zone_instant(zone, spring, 3, 0, 0));
    assert_utc("2026-11-01T05:00:00Z", zone_instant(zone, autumn, 1, 0, 0));
    assert_utc("2026-11-01T05:30:00Z", zone_instant(zone, autumn, 1, 30, 0));
    assert_utc("2026-11-01T07:00:00Z", zone_instant(zone, autumn, 2, 0, 0));
    assert_local(zone, "2026-11-01T01:30:00-04:00", utc("2026-11-01T05:30Z"));
    assert_local(zone, "2026-11-01T01:30:00-05:00", utc("2026-11-01T06:30Z"));
    assert_local(zone, "2026-03-08T03:30:00-04:00", utc("2026-03-08T07:30Z"));
    zone_free(zone);
}

static void new_york_days(void **state)
{
    (void)state;
    struct zone *zone = open_zone("America/New_York");
    assert_utc("2026-03-08T05:00:00Z",
               zone_day_start(zone, (struct civil_date){2026, 3, 8}));
    assert_utc("2026-11-01T04:00:00Z",
               zone_day_start(zone, (struct civil_date){2026, 11, 1}));
    assert_int_equal(24, day_hours(zone, (struct civil_date){2026, 3, 7}));
    assert_int_equal(23, day_hours(zone, (struct civil_date){2026, 3, 8}));
    assert_int_equal(24, day_hours(zone, (struct civil_date){2026, 3, 9}));
    assert_int_equal(25, day_hours(zone, (struct civil_date){2026, 11, 1}));
    zone_free(zone);
}

/* Every instant of every day belongs to the day whose bounds hold it. */
static void days_tile_the_year(void **state)
{
    (void)state;
    static const char *const names[] = {"America/New_York", "America/St_Johns",
                                        "America/Havana", "Europe/Dublin",
                                        "Australia/Lord_Howe"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct zone *zone = open_zone(names[i]);
        struct civil_date date = {2026, 1, 1};
        for (int day = 0; day < 366; day++) {
            struct civil_date next = civil_date_add(date, 1);
            utc_s start = zone_day_start(zone, date);
            utc_s end = zone_day_start(zone, next);
            assert_int_equal(0,
                             civil_date_compare(date, zone_date(zone, start)));
            assert_true(civil_date_compare(zone_date(zone, start - 1), date) <
                        0);
            for (utc_s t = start; t < end; t += 1800)
                assert_int_equal(0,
                                 civil_date_compare(date, zone_date(zone, t)));
            date = next;
        }
        zone_free(zone);
    }
}

/* Newfoundland is at -03:30, and -02:30 in summer (IANA tz database). */
static void st_johns_half_hour(void **state)
{
    (void)state;
    struct zone *zone = open_zone("America/St_Johns");
    assert_int_equal(-12600, zone_offset_s(zone, utc("2026-01-15T00:00Z")));
    assert_int_equal(-9000, zone_offset_s(zone, utc("2026-07-15T00:00Z")));
    assert_utc("2026-03-08T06:00:00Z",
               zone_instant(zone, (struct civil_date){2026, 3, 8}, 2, 30, 0));
    assert_utc("2026-11-01T04:00:00Z",
               zone_instant(zone, (struct civil_date){2026, 11, 1}, 1, 30, 0));
    assert_int_equal(23, day_hours(zone, (struct civil_date){2026, 3, 8}));
    assert_int_equal(25, day_hours(zone, (struct civil_date){2026, 11, 1}));
    zone_free(zone);
}

/* IANA tz database: Cuba's clocks go from 00:00 to 01:00 in spring and from
 * 01:00 to 00:00 in autumn; those of Sao Paulo went from 00:00 to 01:00 on 4
 * November 2018. */
static void midnight_that_does_not_exist(void **state)
{
    (void)state;
    struct zone *zone = open_zone("America/Havana");
    utc_s start = zone_day_start(zone, (struct civil_date){2026, 3, 8});
    assert_utc("2026-03-08T05:00:00Z", start);
    assert_local(zone, "2026-03-08T01:00:00-04:00", start);
    assert_int_equal(23, day_hours(zone, (struct civil_date){2026, 3, 8}));
    assert_utc("2026-11-01T04:00:00Z",
               zone_day_start(zone, (struct civil_date){2026, 11, 1}));
    assert_int_equal(25, day_hours(zone, (struct civil_date){2026, 11, 1}));
    zone_free(zone);
    zone = open_zone("America/Sao_Paulo");
    assert_utc("2018-11-04T03:00:00Z",
               zone_day_start(zone, (struct civil_date){2018, 11, 4}));
    assert_int_equal(23, day_hours(zone, (struct civil_date){2018, 11, 4}));
    zone_free(zone);
}

/* IANA tz database: Toronto's clocks went from 23:30 on 30 March 1919 to
 * 00:30 on the 31st; Samoa left out 30 December 2011. */
static void gap_across_midnight(void **state)
{
    (void)state;
    struct zone *zone = open_zone("America/Toronto");
    assert_utc("1919-03-31T04:30:00Z",
               zone_day_start(zone, (struct civil_date){1919, 3, 31}));
    zone_free(zone);
    zone = open_zone("Pacific/Apia");
    assert_int_equal(0, day_hours(zone, (struct civil_date){2011, 12, 30}));
    assert_utc("2011-12-30T10:00:00Z",
               zone_day_start(zone, (struct civil_date){2011, 12, 31}));
    zone_free(zone);
}

static void other_zones(void **state)
{
    (void)state;
    struct zone *zone = open_zone("Asia/Kathmandu");
    assert_int_equal(20700, zone_offset_s(zone, utc("2026-03-08T00:00Z")));
    zone_free(zone);
    zone = open_zone("UTC");
    assert_int_equal(0, zone_offset_s(zone, utc("2026-03-08T00:00Z")));
    assert_local(zone, "2026-03-08T00:00:00+00:00", utc("2026-03-08T00:00Z"));
    assert_int_equal(24, day_hours(zone, (struct civil_date){2026, 3, 8}));
    zone_free(zone);
    zone_free(NULL);
}

static void unknown_zone_names_the_nearest(void **state)
{
    (void)state;
    assert_null(zone_open("America/New_Yrok", &err));
    assert_non_null(strstr(err.text, "America/New_Yrok"));
    assert_non_null(strstr(err.text, "America/New_York"));
    assert_null(zone_open("../../etc/passwd", &err));
    assert_null(zone_open("", &err));
    assert_null(zone_nearest_name("qqqqqqqqqqqqqqqqqq"));
    char *name = zone_nearest_name("america/montreal");
    assert_string_equal("America/Montreal", name);
    free(name);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(day_numbers),
        cmocka_unit_test(dates),
        cmocka_unit_test(new_york_gap_and_overlap),
        cmocka_unit_test(new_york_days),
        cmocka_unit_test(days_tile_the_year),
        cmocka_unit_test(st_johns_half_hour),
        cmocka_unit_test(midnight_that_does_not_exist),
        cmocka_unit_test(gap_across_midnight),
        cmocka_unit_test(other_zones),
        cmocka_unit_test(unknown_zone_names_the_nearest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
