#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/civil_time.h"
#include "unit_test.h"

static struct error err;

static void takes(const char *words, int default_offset_s, const char *expected)
{
    utc_s instant;
    char back[ISO_TIME_SIZE];
    if (iso_time_parse(words, default_offset_s, &instant, &err) != 0)
        fail_msg("%s", err.text);
    iso_time_utc(instant, back);
    assert_string_equal(expected, back);
}

/* RFC 3339 section 5.8 has the first, third and fifth as its examples, and
 * 5.7 the leap second of 1990. */
static void times(void **state)
{
    (void)state;
    takes("1985-04-12T23:20:50.52Z", 0, "1985-04-12T23:20:50Z");
    takes("2026-03-08T14:30", 0, "2026-03-08T14:30:00Z");
    takes("1996-12-19T16:39:57-08:00", 0, "1996-12-20T00:39:57Z");
    takes("2026-03-08T14:30:00", -18000, "2026-03-08T19:30:00Z");
    takes("1990-12-31T23:59:60Z", 0, "1991-01-01T00:00:00Z");
    takes("1990-12-31T15:59:60-08:00", 0, "1991-01-01T00:00:00Z");
    takes("2026-03-08T05:45:00+05:45", 0, "2026-03-08T00:00:00Z");
    takes("2026-03-08T00:00:00-03:30", 0, "2026-03-08T03:30:00Z");
    takes("2026-03-08T00:00-0330", 0, "2026-03-08T03:30:00Z");
    takes("2026-03-08T00:00+02", -18000, "2026-03-07T22:00:00Z");
    takes("2026-03-08 00:00:00,25Z", 0, "2026-03-08T00:00:00Z");
    takes("0001-01-02T00:00Z", 0, "0001-01-02T00:00:00Z");
    takes("9999-12-30T23:59Z", 0, "9999-12-30T23:59:00Z");
    takes("1969-12-31T23:59:59Z", 0, "1969-12-31T23:59:59Z");
}

static void bad_times(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "2026-03-08",
        "2026-3-8T00:00Z",
        "2026-02-29T00:00Z",
        "2026-03-08T24:00Z",
        "0001-01-01T23:59Z",
        "9999-12-31T00:00Z",
        "2026-03-08T23:60Z",
        "2026-03-08T23:59:61Z",
        "2026-03-08T23:59:Z",
        "2026-03-08T23:59:59.Z",
        "2026-03-08T23:59Z ",
        "2026-03-08T23:59Zjunk",
        "2026-03-08T23:59+24:00",
        "2026-03-08T23:59+05:4",
        "2026-03-08T23:59+5",
        "2026-03-08T23:59+05:60",
        "2026-03-08X23:59Z",
        "20260308T2359Z",
        " 2026-03-08T23:59Z",
        "2026-03-08T2\xC2\xB3:59Z",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        utc_s instant = 42;
        if (iso_time_parse(bad[i], 0, &instant, &err) == 0)
            fail_msg("\"%s\" was taken", bad[i]);
        assert_non_null(strstr(err.text, bad[i]));
        assert_true(instant == 42);
    }
}

static void dates(void **state)
{
    (void)state;
    struct civil_date date;
    char words[ISO_DATE_SIZE];
    assert_int_equal(0, iso_date_parse("2024-02-29", &date, &err));
    iso_date(date, words);
    assert_string_equal("2024-02-29", words);
    static const char *const bad[] = {"2026-02-30", "2026-1-01", "2026-01-01x",
                                      "20260101",   "",          "0000-01-01"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_int_equal(-1, iso_date_parse(bad[i], &date, &err));
}

static void duration(const char *words, int64_t expected)
{
    int64_t seconds = -1;
    if (iso_duration_parse(words, &seconds, &err) != 0)
        fail_msg("%s", err.text);
    if (seconds != expected)
        fail_msg("%s is read as %jd s", words, (intmax_t)seconds);
}

/* ISO 8601 section 5.5.2: lengths by arithmetic. */
static void durations(void **state)
{
    (void)state;
    duration("PT1H", 3600);
    duration("PT72H", 72 * 3600);
    duration("P7DT13H", 7 * 86400 + 13 * 3600);
    duration("PT0S", 0);
    duration("PT1M", 60);
    duration("P2W", 14 * 86400);
    duration("P1DT2H3M4S", 86400 + 7200 + 180 + 4);
    duration("P0D", 0);
    duration("P3650D", 3650 * (int64_t)86400);
}

static void bad_durations(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",         "P",
        "PT",       "P1",
        "1H",       "P1H",
        "PT1D",     "PT1H1H",
        "PT1M1H",   "P1DT",
        "-PT1H",    "PT-1H",
        "P-1D",     "PT1.5H",
        "P1M",      "P1Y",
        "P1Y2DT3H", "PT1H ",
        "PT1HZ",    "P4000D",
        "pt1h",     "PT99999999999H",
        "P1D1W",    "P9999999999W",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        int64_t seconds = 42;
        if (iso_duration_parse(bad[i], &seconds, &err) == 0)
            fail_msg("\"%s\" was taken as %jd s", bad[i], (intmax_t)seconds);
        assert_true(seconds == 42);
    }
    iso_duration_parse("P1M", NULL, &err);
    assert_non_null(strstr(err.text, "months"));
    iso_duration_parse("-PT1H", NULL, &err);
    assert_non_null(strstr(err.text, "negative"));
}

static void intervals(void **state)
{
    (void)state;
    utc_s start, end;
    char words[ISO_TIME_SIZE];
    assert_int_equal(0, iso_interval_parse("2026-03-08T06:00:00+00:00/PT6H",
                                           &start, &end, &err));
    iso_time_utc(start, words);
    assert_string_equal("2026-03-08T06:00:00Z", words);
    assert_int_equal(6 * 3600, end - start);
    assert_int_equal(
        0, iso_interval_parse("2026-03-08T06:00Z/P7DT13H", &start, &end, &err));
    assert_int_equal(7 * 86400 + 13 * 3600, end - start);
    assert_int_equal(
        0, iso_interval_parse("2026-03-08T06:00Z/2026-03-08T07:30-01:00",
                              &start, &end, &err));
    assert_int_equal(9000, end - start);
    assert_int_equal(
        0, iso_interval_parse("2026-03-08T06:00Z/PT0S", &start, &end, &err));
    assert_true(start == end);
}

static void written_like(utc_s instant, int offset_s)
{
    time_t moment = (time_t)(instant + offset_s);
    char ours[ISO_TIME_SIZE], wanted[160], clock[64];
    struct tm parts;

    assert_non_null(gmtime_r(&moment, &parts));
    strftime(clock, sizeof clock, "-%m-%dT%H:%M:%S", &parts);
    snprintf(wanted, sizeof wanted, "%04d%s%c%02d:%02d", parts.tm_year + 1900,
             clock, offset_s < 0 ? '-' : '+', abs(offset_s) / 3600,
             abs(offset_s) / 60 % 60);
    iso_time_at(instant, offset_s, ours);
    assert_string_equal(wanted, ours);
}

/* The peer is the C library's calendar. */
static void written_as_the_c_library_does(void **state)
{
    (void)state;
    for (utc_s at = -62135596800; at < 253402300800; at += 86399 * 5003LL) {
        written_like(at + 86400, 0);
        written_like(at + 86400, -5 * 3600);
        written_like(at, 5 * 3600 + 45 * 60);
    }
    written_like(253402300799, 0);
    written_like(253402300800, 0);
}

/* What no clock tells still ends within its room. */
static void stray_instants_fit(void **state)
{
    (void)state;
    static const utc_s stray[] = {
        INT64_C(-67768100567884800), INT64_C(67767976233446399),
        INT64_C(-67768040609740800), -99999999999999, 99999999999999};
    char words[ISO_TIME_SIZE];

    for (size_t i = 0; i < sizeof stray / sizeof stray[0]; i++) {
        iso_time_at(stray[i], -3600, words);
        assert_true(strlen(words) < sizeof words);
        assert_string_equal(words + strlen(words) - 6, "-01:00");
        iso_time_utc(stray[i], words);
        assert_string_equal(words + strlen(words) - 1, "Z");
    }
}

#define LONG_FRACTION                                                          \
    ("2026-03-08T06:00:00.000000000000000000000000000000"                      \
     "000000000000000000000000000000Z/PT1H")

static void bad_intervals(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "2026-03-08T06:00Z",
        "2026-03-08T06:00Z/",
        "2026-03-08T06:00Z/P1M",
        "2026-03-08T06:00Z/-PT1H",
        "2026-03-08T06:00Z/2026-03-08T05:00Z",
        "PT6H/2026-03-08T06:00Z",
        "2026-03-08T06:00Z/PT1H/PT1H",
        "2026-03-08T06:00Z//PT1H",
        LONG_FRACTION,
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        utc_s start = 42, end = 42;
        if (iso_interval_parse(bad[i], &start, &end, &err) == 0)
            fail_msg("\"%s\" was taken", bad[i]);
        assert_true(start == 42 && end == 42);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(times),
        cmocka_unit_test(bad_times),
        cmocka_unit_test(dates),
        cmocka_unit_test(durations),
        cmocka_unit_test(bad_durations),
        cmocka_unit_test(intervals),
        cmocka_unit_test(written_as_the_c_library_does),
        cmocka_unit_test(stray_instants_fit),
        cmocka_unit_test(bad_intervals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
