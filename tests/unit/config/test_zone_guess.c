/* Guessed time zones. */
#include <stdlib.h>

#include "config/reading.h"
#include "unit_test.h"

/* Towns of the sugar country and beyond, positions from memory to about a
 * tenth of a degree; their zones by the tz database (zone1970.tab and the
 * notes in its files northamerica). */
static const struct {
    const char *zone;
    double latitude, longitude;
} towns[] = {
    {"America/New_York", 44.5, -73.2},             /* Burlington */
    {"America/New_York", 44.8, -68.8},             /* Bangor */
    {"America/New_York", 43.0, -76.2},             /* Syracuse */
    {"America/New_York", 40.0, -79.1},             /* Somerset, Pennsylvania */
    {"America/New_York", 38.4, -79.6},             /* Monterey, Virginia */
    {"America/Detroit", 44.8, -85.6},              /* Traverse City */
    {"America/Detroit", 46.5, -87.4},              /* Marquette */
    {"America/Indiana/Indianapolis", 39.8, -86.2}, /* Indianapolis */
    {"America/Toronto", 46.1, -70.7},              /* Saint-Georges, Quebec */
    {"America/Toronto", 48.4, -68.5},              /* Rimouski */
    {"America/Toronto", 46.5, -81.0},              /* Sudbury */
    {"America/Halifax", 46.0, -66.6},              /* Fredericton */
    {"America/Halifax", 45.4, -63.3},              /* Truro */
    {"America/Menominee", 45.8, -88.1},            /* Iron Mountain */
    {"America/Chicago", 44.5, -88.0},              /* Green Bay */
    {"America/Chicago", 46.8, -92.1},              /* Duluth */
    {"America/Denver", 41.7, -111.8},              /* Logan */
    {"America/Denver", 46.9, -114.0},              /* Missoula */
    {"America/Los_Angeles", 45.5, -122.7},         /* Portland, Oregon */
};

/* The same clock, in winter and in summer. */
static void assert_same_clock(const char *a, const char *b)
{
    struct zone *one = zone_open(a, NULL), *other = zone_open(b, NULL);
    const utc_s january = 1768478400, july = 1784116800;
    assert_non_null(one);
    assert_non_null(other);
    if (zone_offset_s(one, january) != zone_offset_s(other, january) ||
        zone_offset_s(one, july) != zone_offset_s(other, july))
        fail_msg("%s and %s keep different clocks", a, b);
    zone_free(one);
    zone_free(other);
}

static void by_longitude(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof towns / sizeof towns[0]; i++) {
        const char *zone =
            zone_guess_by_place(towns[i].latitude, towns[i].longitude);
        assert_non_null(zone);
        assert_same_clock(zone, towns[i].zone);
    }
}

static void elsewhere_no_guess(void **state)
{
    (void)state;
    assert_null(zone_guess_by_place(47.5, -53)); /* Newfoundland */
    assert_null(zone_guess_by_place(47.5, 10));
    assert_null(zone_guess_by_place(-37, -71.9));
    assert_null(zone_guess_by_place(61.2, -149.9)); /* Alaska */
}

/* Standard time is that of a whole-hour meridian (45 CFR 71 for New York:
 * 75 degrees west), so the gap at -71.9 is -5 + 71.9 / 15 hours. */
static void gap_to_the_sun(void **state)
{
    (void)state;
    assert_near(zone_sun_gap_h("America/New_York", -75), 0, 1e-9);
    assert_near(zone_sun_gap_h("America/New_York", -71.9), -5 + 71.9 / 15,
                1e-9);
    assert_near(zone_sun_gap_h("Asia/Tokyo", -135), -6, 1e-9);
    assert_near(zone_sun_gap_h("Pacific/Auckland", -180), 1, 1e-9);
}

/* A link to what is no zone names none. */
static void this_machines_own(void **state)
{
    char *zone = zone_of_link("../usr/share/zoneinfo/America/New_York");

    (void)state;
    assert_string_equal(zone, "America/New_York");
    free(zone);
    assert_null(zone_of_link("/usr/share/zoneinfo/America/Sugarbush"));
    assert_null(zone_of_link("/usr/share/zoneinfo/"));
    assert_null(zone_of_link("/etc/clock"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(by_longitude),
        cmocka_unit_test(elsewhere_no_guess),
        cmocka_unit_test(gap_to_the_sun),
        cmocka_unit_test(this_machines_own),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
