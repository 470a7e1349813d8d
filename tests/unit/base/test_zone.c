/* A zone's offsets are kept as they become known: in whatever order they are
 * asked for, they are those of the C library, which reads the same tzdata by
 * another way. */
#include "unit_test.h"

#include <stdlib.h>
#include <time.h>

#include "base/civil_time.h"

static const char *const names[] = {"America/New_York", "America/Toronto",
                                    "America/Halifax",  "America/St_Johns",
                                    "Europe/Paris",     "Europe/London",
                                    "Atlantic/Azores",  "Australia/Lord_Howe",
                                    "Asia/Kolkata",     "Pacific/Auckland"};

enum { NAMES = sizeof names / sizeof *names, HOURS = 5 * 366 * 24 };

static const utc_s BEGIN = 1672531200; /* 2023 */

static int library_offset_s(utc_s instant)
{
    time_t at = (time_t)instant;
    struct tm local, utc;

    localtime_r(&at, &local);
    gmtime_r(&at, &utc);
    /* The difference of the two clocks, within a day. */
    int s = (local.tm_hour - utc.tm_hour) * 3600 +
            (local.tm_min - utc.tm_min) * 60 + local.tm_sec - utc.tm_sec;
    if (local.tm_year != utc.tm_year || local.tm_yday != utc.tm_yday)
        s += local.tm_year > utc.tm_year || (local.tm_year == utc.tm_year &&
                                             local.tm_yday > utc.tm_yday)
                 ? SECONDS_PER_DAY
                 : -SECONDS_PER_DAY;
    return s;
}

static void check(const char *name, const struct zone *zone, utc_s instant)
{
    int offset_s = zone_offset_s(zone, instant);

    if (offset_s != library_offset_s(instant))
        fail_msg("%s at %lld: %d, not %d", name, (long long)instant, offset_s,
                 library_offset_s(instant));
}

/* The zone here, and the library's local time the same. */
static struct zone *open_both(const char *name)
{
    struct zone *zone = zone_open(name, NULL);

    assert_non_null(zone);
    setenv("TZ", name, 1);
    tzset();
    return zone;
}

/* Forward by hours, from the second before to the second after. */
static void test_forward(void **state)
{
    (void)state;
    for (int i = 0; i < NAMES; i++) {
        struct zone *zone = open_both(names[i]);

        for (int hour = 0; hour < HOURS; hour++) {
            check(names[i], zone, BEGIN + (utc_s)hour * SECONDS_PER_HOUR - 1);
            check(names[i], zone, BEGIN + (utc_s)hour * SECONDS_PER_HOUR);
        }
        zone_free(zone);
    }
}

static void test_back_and_anywhere(void **state)
{
    unsigned number = 11;

    (void)state;
    for (int i = 0; i < NAMES; i++) {
        struct zone *zone = open_both(names[i]);

        for (int hour = HOURS; hour > 0; hour -= 5)
            check(names[i], zone,
                  BEGIN + (utc_s)hour * SECONDS_PER_HOUR + 1799);
        for (int k = 0; k < 20000; k++) {
            number = number * 1664525u + 1013904223u;
            check(names[i], zone, BEGIN + (utc_s)(number >> 5));
        }
        zone_free(zone);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_forward),
        cmocka_unit_test(test_back_and_anywhere),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
