#include "source/unit.h"
#include "source_test.h"

static double in(enum quantity quantity, const char *unit, double value)
{
    struct unit_scale scale;

    if (unit_find(quantity, unit, &scale) < 0)
        fail_msg("%s is not known", unit);
    return unit_apply(&scale, value);
}

/* NIST Special Publication 811 (2008), appendix B.8: mile per hour
 * 4.4704 E-01 m/s, knot 5.144444 E-01 m/s, kilometre per hour 2.777778 E-01
 * m/s, inch 2.54 E-02 m, inch of mercury 3.386389 E+03 Pa, millimetre of
 * mercury 1.333224 E+02 Pa, foot 3.048 E-01 m, degree Fahrenheit
 * (t - 32)/1.8. */
static void test_factors(void **state)
{
    struct unit_scale scale;

    (void)state;
    assert_near(in(WIND_M_S, "mp/h", 1), 0.44704, 1e-12);
    assert_near(in(WIND_M_S, "kn", 1), 0.5144444, 1e-7);
    assert_near(in(WIND_M_S, "km/h", 1), 0.2777778, 1e-7);
    assert_near(in(PRECIP_MM, "inch", 1), 25.4, 1e-12);
    assert_near(in(PRESSURE_HPA, "inHg", 1), 33.86389, 1e-9);
    assert_near(in(PRESSURE_HPA, "mmHg", 1), 1.333224, 1e-9);
    assert_near(in(AIR_TEMP_C, "°F", 14), -10, 1e-12);
    assert_near(in(AIR_TEMP_C, "K", 273.15), 0, 1e-12);
    assert_int_equal(0, unit_find_height("unit:ft", &scale));
    assert_near(unit_apply(&scale, 1), 0.3048, 1e-12);
}

/* Spellings of the three services over the years. */
static void test_spellings(void **state)
{
    (void)state;
    assert_near(in(AIR_TEMP_C, "wmoUnit:degC", 7), 7, 0);
    assert_near(in(AIR_TEMP_C, "unit:degC", 7), 7, 0);
    assert_near(in(AIR_TEMP_C, "nwsUnit:degF", 32), 0, 1e-12);
    assert_near(in(DEW_POINT_C, "uc:degC", 7), 7, 0);
    assert_near(in(AIR_TEMP_C, "http://codes.wmo.int/common/unit/degC", 7), 7,
                0);
    assert_near(in(AIR_TEMP_C, "celsius", 7), 7, 0);
    assert_near(in(WIND_M_S, "wmoUnit:km_h-1", 36), 10, 1e-12);
    assert_near(in(WIND_M_S, "unit:m_s-1", 10), 10, 0);
    assert_near(in(REL_HUMIDITY_PCT, "wmoUnit:percent", 10), 10, 0);
    assert_near(in(PRESSURE_HPA, "wmoUnit:Pa", 100000), 1000, 1e-9);
    assert_near(in(SHORTWAVE_W_M2, "W/m²", 10), 10, 0);
}

static void test_not_guessed(void **state)
{
    struct unit_scale scale;

    (void)state;
    assert_int_equal(-1, unit_find(AIR_TEMP_C, NULL, &scale));
    assert_int_equal(-1, unit_find(AIR_TEMP_C, "", &scale));
    assert_int_equal(-1, unit_find(AIR_TEMP_C, "m/s", &scale));
    assert_int_equal(-1, unit_find(AIR_TEMP_C, "wmoUnit:", &scale));
    assert_int_equal(-1, unit_find(WIND_M_S, "KM/H", &scale));
    assert_int_equal(-1, unit_find(PRESSURE_HPA, "other:hPa", &scale));
    assert_int_equal(-1, unit_find_height("degC", &scale));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_factors),
        cmocka_unit_test(test_spellings),
        cmocka_unit_test(test_not_guessed),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
