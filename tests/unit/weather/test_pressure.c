#include "unit_test.h"

#include "weather/pressure.h"

/* Table of the standard atmosphere, ISO 2533:1975 (the same as the U.S.
 * Standard Atmosphere 1976), by geopotential height; from memory. */
static void standard_atmosphere_follows_its_table(void **state)
{
    (void)state;
    assert_near(pressure_standard_hpa(0), 1013.25, 1e-9);
    assert_near(pressure_standard_hpa(500), 954.61, 0.02);
    assert_near(pressure_standard_hpa(1000), 898.75, 0.02);
    assert_near(pressure_standard_hpa(2000), 794.95, 0.05);
    assert_near(temperature_standard_c(0), 15.0, 1e-9);
    assert_near(temperature_standard_c(1000), 8.5, 1e-9);
}

/* Stull, Practical Meteorology (University of British Columbia, 2017),
 * chapter 1, sample application of the hypsometric equation: the layer of 100
 * to 90 kPa at a mean of 280 K is about 864 m thick (from memory). */
static void hypsometric_layer_as_published(void **state)
{
    double there_c = 280.0 - 273.15 - STANDARD_LAPSE_K_M * 864.0 / 2.0;

    (void)state;
    assert_near(pressure_move_hpa(1000, 0, 864, there_c), 900, 0.2);
    assert_near(pressure_move_hpa(900, 864, 0,
                                  280.0 - 273.15 + STANDARD_LAPSE_K_M * 432.0),
                1000, 0.2);
}

/* In the standard atmosphere itself the two agree closely: the mean of the
 * layer's ends is not quite its harmonic mean. */
static void hypsometric_agrees_with_the_standard_atmosphere(void **state)
{
    (void)state;
    for (double height_m = 0; height_m <= 1500; height_m += 50)
        assert_near(pressure_move_hpa(1013.25, 0, height_m,
                                      temperature_standard_c(height_m)),
                    pressure_standard_hpa(height_m), 0.05);
    /* About 12 hPa in 100 m near sea level. */
    assert_near(1013.25 - pressure_move_hpa(1013.25, 0, 100, 10), 12, 0.3);
    assert_near(pressure_move_hpa(970, 300, 300, -5), 970, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(standard_atmosphere_follows_its_table),
        cmocka_unit_test(hypsometric_layer_as_published),
        cmocka_unit_test(hypsometric_agrees_with_the_standard_atmosphere),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
