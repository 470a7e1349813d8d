/* Barometers told apart, classes of syrup. */
#include "unit_test.h"

#include "base/units.h"
#include "sugarhouse/barometer.h"
#include "sugarhouse/grade.h"
#include "sugarhouse/water.h"

/* US Standard Atmosphere 1976 (as ISO 2533), table I: 500 m 954.61 hPa and
 * 11.75 C, 1000 m 898.76 and 8.50, 2000 m 795.01 and 2.00. */
static const double standard[][3] = {{0, 1013.25, 15},
                                     {500, 954.61, 11.75},
                                     {1000, 898.76, 8.5},
                                     {2000, 795.01, 2}};

static void test_sea_level_to_station(void **state)
{
    (void)state;
    for (int i = 0; i < 4; i++)
        assert_near(barometer_station_hpa(BAROMETER_SEA_LEVEL, 1013.25,
                                          standard[i][0], standard[i][2]),
                    standard[i][1], 0.15);
}

static void test_altimeter_to_station(void **state)
{
    (void)state;
    for (int i = 0; i < 3; i++)
        assert_near(barometer_station_hpa(BAROMETER_ALTIMETER, 1013.25,
                                          standard[i][0], -30),
                    standard[i][1], 0.45);
}

/* Cold air is denser: less pressure is left at the height. At 450 m 20 K are
 * 4 hPa, and 0.2 F at the boil. */
static void test_temperature_counts(void **state)
{
    double cold = barometer_station_hpa(BAROMETER_SEA_LEVEL, 1013.25, 450, -10);
    double warm = barometer_station_hpa(BAROMETER_SEA_LEVEL, 1013.25, 450, 10);

    (void)state;
    assert_near(warm - cold, 3.9, 0.3);
    assert_near((water_boiling_c(warm) - water_boiling_c(cold)) * 1.8, 0.21,
                0.03);
    assert_near(barometer_station_hpa(BAROMETER_STATION, 960, 450, 10), 960, 0);
}

/* 29.92 inHg read at 1480 ft cannot be the air's own there. */
static void test_mistaken_kind(void **state)
{
    (void)state;
    assert_true(barometer_looks_reduced(1013.25, 450));
    assert_true(barometer_unlikely(1013.25, 450));
    assert_false(barometer_looks_reduced(960, 450));
    assert_false(barometer_looks_reduced(925, 450)); /* a deep storm */
    assert_false(barometer_unlikely(990, 450));
    assert_false(barometer_looks_reduced(1013.25, 100));
    assert_true(barometer_unlikely(760, 0)); /* mmHg written as hPa */
}

/* 80 FR 4853: 75.0 and more, 50.0 to 74.9, 25.0 to 49.9, under 25.0. */
static void test_classes(void **state)
{
    static const struct {
        double light_pct;
        enum grade grade;
    } rows[] = {{100, GRADE_GOLDEN},
                {75.0, GRADE_GOLDEN},
                {74.9, GRADE_AMBER},
                {50.0, GRADE_AMBER},
                {49.9, GRADE_DARK},
                {25.0, GRADE_DARK},
                {24.9, GRADE_VERY_DARK},
                {0, GRADE_VERY_DARK},
                /* Read to a tenth. */
                {74.96, GRADE_GOLDEN},
                {74.94, GRADE_AMBER}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(grade_of_light(rows[i].light_pct), rows[i].grade);
    for (int grade = 0; grade < GRADE_COUNT; grade++)
        assert_int_equal(grade_from_word(grade_word((enum grade)grade)), grade);
    assert_int_equal(grade_from_word("fancy"), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sea_level_to_station),
        cmocka_unit_test(test_altimeter_to_station),
        cmocka_unit_test(test_temperature_counts),
        cmocka_unit_test(test_mistaken_kind),
        cmocka_unit_test(test_classes),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
