#include "unit_test.h"

#include "test_seed.h"
#include "weather/random.h"
#include "weather/sun.h"

/* The worked example of Reda and Andreas, Solar Position Algorithm for Solar
 * Radiation Applications, NREL/TP-560-34302: Golden, 2003-10-17 12:30:30
 * at -07:00. Elevation without refraction 39.872046, azimuth 194.340241
 * degrees; sunrise 06:12:43 and sunset 17:20:19 (those two from memory). */
static const double GOLDEN_N = 39.742476, GOLDEN_E = -105.1786;
static const utc_s EXAMPLE = 1066419030;

static double elevation_deg(double latitude, double longitude, utc_s instant)
{
    return asin(sun_sin_elevation(latitude, longitude, instant)) * 180.0 /
           3.14159265358979323846;
}

static void position_as_published(void **state)
{
    (void)state;
    assert_near(elevation_deg(GOLDEN_N, GOLDEN_E, EXAMPLE), 39.872046, 0.1);
}

static void rise_and_set_as_published(void **state)
{
    utc_s rise = 0, set = 0;

    (void)state;
    assert_true(sun_rise_set(GOLDEN_N, GOLDEN_E, EXAMPLE / SECONDS_PER_DAY,
                             &rise, &set));
    /* 06:12:43 and 17:20:19 at -07:00, to a minute and a half. */
    assert_in_range(rise, 1066396363 - 90, 1066396363 + 90);
    assert_in_range(set, 1066436419 - 90, 1066436419 + 90);
}

static void the_pole_has_no_sunrise(void **state)
{
    utc_s rise, set;
    int64_t june = 20624, december = 20808; /* 2026-06-20, 2026-12-21 */

    (void)state;
    assert_false(sun_rise_set(80, 0, june, &rise, &set));
    assert_false(sun_rise_set(80, 0, december, &rise, &set));
    assert_true(sun_rise_set(45, 0, june, &rise, &set));
    assert_true(set - rise > 15 * 3600);
    assert_true(sun_rise_set(45, 0, december, &rise, &set));
    assert_true(set - rise < 9 * 3600);
}

/* Kasten and Czeplak (1980): an overcast sky lets a quarter through; clear
 * sky 910 sin h - 30. */
static void shortwave_follows_the_formula(void **state)
{
    utc_s noon = 1773939600 - 1800; /* the hour around noon at 75 W */
    double sin_h = sun_sin_elevation(45, -75, noon + 1800);
    double clear = sun_shortwave_w_m2(45, -75, noon, 0);

    (void)state;
    /* The mean of the hour lies a little under its middle. */
    assert_near(clear, 910 * sin_h - 30, 8);
    assert_near(sun_shortwave_w_m2(45, -75, noon, 1), clear / 4, 1e-9);
    assert_near(sun_shortwave_w_m2(45, -75, noon, 0.5),
                clear * (1 - 0.75 * pow(0.5, 3.4)), 1e-9);
    assert_near(sun_shortwave_w_m2(45, -75, noon + 12 * 3600, 0), 0, 0);
}

static void shortwave_is_never_negative_nor_above_the_sun(void **state)
{
    struct random random;

    (void)state;
    random_seed(&random, test_seed());
    for (int i = 0; i < 20000; i++) {
        double latitude = random_even(&random) * 180 - 90;
        double longitude = random_even(&random) * 360 - 180;
        utc_s at = (utc_s)(random_even(&random) * 4e9) - 1000000000;
        double flux = sun_shortwave_w_m2(latitude, longitude, at,
                                         random_even(&random) * 3 - 1);

        assert_true(flux >= 0 && flux <= 880.0);
        if (elevation_deg(latitude, longitude, at) < -16)
            assert_near(flux, 0, 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(position_as_published),
        cmocka_unit_test(rise_and_set_as_published),
        cmocka_unit_test(the_pole_has_no_sunrise),
        cmocka_unit_test(shortwave_follows_the_formula),
        cmocka_unit_test(shortwave_is_never_negative_nor_above_the_sun),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
