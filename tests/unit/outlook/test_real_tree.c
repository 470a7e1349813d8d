/* The outlook with the real tree: what must hold whatever its parameters. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "outlook/outlook.h"
#include "test_seed.h"
#include "weather/random.h"

enum { START = 1771304400, HOURS = 24 * 30 }; /* 2026-02-17T05:00Z */
static const struct civil_date MARCH_12 = {2026, 3, 12};
static const utc_s NOW = START + (utc_s)24 * 20 * SECONDS_PER_HOUR;

/* Nights to 6 below, days to 6 above, and each day's own chance. */
static struct series *season(struct random *random)
{
    struct series *series = series_new(START, HOURS);
    double level_c = 0;

    for (int hour = 0; hour < HOURS; hour++) {
        double of_day = (hour % 24 - 15) / 24.0 * 2 * 3.14159265358979;

        if (random && hour % 24 == 0)
            level_c = 0.7 * level_c + 3 * random_normal(random);
        series_set(series, AIR_TEMP_C, hour, level_c + 6 * cos(of_day),
                   ORIGIN_FORECAST, 0);
    }
    return series;
}

struct bush {
    struct zone *zone;
    struct tree_model *model;
    struct tree_site site;
};

static int bush_open(void **state)
{
    static struct bush bush;
    struct error err = {""};

    memset(&bush, 0, sizeof bush);
    bush.site.latitude = 45.06;
    bush.site.longitude = -71.90;
    bush.site.elevation_m = 450;
    bush.site.tapped = true;
    bush.site.tapped_at = START;
    bush.zone = zone_open("America/New_York", &err);
    if (!bush.zone || tree_model_load(NULL, SPECIES_SUGAR_MAPLE,
                                      GATHERING_BUCKETS, &bush.model, &err)) {
        print_error("%s\n", err.text);
        return -1;
    }
    *state = &bush;
    return 0;
}

static int bush_close(void **state)
{
    struct bush *bush = *state;

    zone_free(bush->zone);
    tree_model_free(bush->model);
    return 0;
}

static struct outlook *make(const struct bush *bush, struct series *series,
                            struct members *members)
{
    return outlook_make(bush->model, &bush->site, bush->zone, series, members,
                        NULL, 0, NOW, MARCH_12, 4);
}

static void frost_and_thaw_give_a_run_by_day(void **state)
{
    struct series *series = season(NULL);
    struct outlook *outlook = make(*state, series, NULL);
    const struct bush *bush = *state;

    for (int i = 0; i < 3; i++) {
        const struct outlook_day *day = &outlook->days[i];
        int start_h = zone_civil(bush->zone, day->run_start).hour;
        int end_h = zone_civil(bush->zone, day->run_end - 1).hour;

        assert_true(day->known);
        assert_true(day->sap_l_per_tap_p50 > OUTLOOK_RUN_L_PER_TAP);
        assert_near(day->chance, 1, 0);
        assert_true(day->has_window);
        /* Kurokawa et al. 2022: runs start at 10 to 11 h and end at 18 to
         * 20 h on average; a window half as wide again about it. */
        assert_in_range(start_h, 8, 14);
        assert_in_range(end_h, 15, 23);
        assert_true(day->recharge > 0.05);
        assert_true(day->branch_ice_max > 0.5);
    }
    outlook_free(outlook);
    series_free(series);
}

static void a_hard_freeze_gives_none(void **state)
{
    struct series *series = series_new(START, HOURS);
    struct members *members;
    struct outlook *outlook;

    for (int hour = 0; hour < HOURS; hour++)
        series_set(series, AIR_TEMP_C, hour, -25, ORIGIN_FORECAST, 0);
    members = members_from_error_growth(series, NOW, 50, 1);
    outlook = make(*state, series, members);
    for (int i = 0; i < 4; i++) {
        assert_near(outlook->days[i].sap_l_per_tap_p90, 0, 1e-9);
        assert_near(outlook->days[i].chance, 0, 0);
        assert_int_equal(outlook->days[i].strength, STRENGTH_NONE);
    }
    outlook_free(outlook);
    members_free(members);
    series_free(series);
}

static void same_input_same_outlook(void **state)
{
    struct series *series = season(NULL);
    struct members *members = members_from_error_growth(series, NOW, 50, 4);
    struct outlook *one = make(*state, series, members);
    struct outlook *two = make(*state, series, members);

    assert_memory_equal(one->sap_l_per_tap, two->sap_l_per_tap,
                        HOURS * sizeof(double));
    for (int i = 0; i < 4; i++) {
        assert_near(one->days[i].sap_l_per_tap_p90,
                    two->days[i].sap_l_per_tap_p90, 0);
        assert_near(one->days[i].chance, two->days[i].chance, 0);
    }
    outlook_free(one);
    outlook_free(two);
    members_free(members);
    series_free(series);
}

/* The members share the tree's past: each has the hours that the tree would
 * have had, run from the first hour on under its weather. */
static void members_are_run_as_if_alone(void **state)
{
    const struct bush *bush = *state;
    struct tree_hour *alone = mem_alloc(HOURS, sizeof *alone);
    struct random random;

    random_seed(&random, test_seed());
    for (int round = 0; round < 3; round++) {
        struct series *series = season(&random);
        struct members *members =
            members_from_error_growth(series, NOW, 7, random_bits(&random));
        struct outlook *outlook = make(bush, series, members);

        for (int i = 0; i < members->count; i++) {
            struct forcing *forcing = forcing_from_series(
                series, bush->site.latitude, bush->site.longitude);

            forcing_set_member(forcing, members, i);
            tree_run(bush->model, &bush->site, forcing, alone);
            for (int row = 0; row < HOURS; row++)
                assert_near(outlook_member_l_per_tap(outlook, i, row),
                            alone[row].sap_l_per_tap, 1e-12);
            forcing_free(forcing);
        }
        outlook_free(outlook);
        members_free(members);
        series_free(series);
    }
    free(alone);
}

static void random_seasons_stay_in_order(void **state)
{
    struct random random;

    random_seed(&random, test_seed());
    for (int round = 0; round < 10; round++) {
        struct series *series = season(&random);
        struct members *members =
            members_from_error_growth(series, NOW, 21, random_bits(&random));
        struct outlook *outlook = make(*state, series, members);

        for (int i = 0; i < 4; i++) {
            const struct outlook_day *day = &outlook->days[i];

            assert_true(day->known);
            assert_true(day->sap_l_per_tap_p10 >= 0);
            assert_true(day->sap_l_per_tap_p10 <= day->sap_l_per_tap_p50);
            assert_true(day->sap_l_per_tap_p50 <= day->sap_l_per_tap_p90);
            /* Two gallons a tap and day are the practical most. */
            assert_true(day->sap_l_per_tap_p90 < 12);
            assert_true(day->charge >= 0 && day->charge <= 1.0001);
            assert_true(day->taphole >= 0 && day->taphole <= 1.0001);
        }
        outlook_free(outlook);
        members_free(members);
        series_free(series);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frost_and_thaw_give_a_run_by_day),
        cmocka_unit_test(a_hard_freeze_gives_none),
        cmocka_unit_test(same_input_same_outlook),
        cmocka_unit_test(members_are_run_as_if_alone),
        cmocka_unit_test(random_seasons_stay_in_order),
    };

    return cmocka_run_group_tests(tests, bush_open, bush_close);
}
