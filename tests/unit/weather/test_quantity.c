#include "unit_test.h"

#include "weather/quantity.h"

static void names_go_both_ways(void **state)
{
    (void)state;
    assert_string_equal(quantity_name(AIR_TEMP_C), "air_temp_c");
    assert_string_equal(quantity_name(PRECIP_MM), "precip_mm");
    for (int i = 0; i < QUANTITY_COUNT; i++)
        assert_int_equal(quantity_from_name(quantity_name((enum quantity)i)),
                         i);
    assert_int_equal(quantity_from_name("air_temp_f"), -1);
    assert_int_equal(quantity_from_name(""), -1);
}

static void only_precipitation_is_a_sum(void **state)
{
    (void)state;
    for (int i = 0; i < QUANTITY_COUNT; i++)
        assert_int_equal(quantity_is_sum((enum quantity)i), i == PRECIP_MM);
    assert_true(quantity_is_over_hour(PRECIP_MM));
    assert_true(quantity_is_over_hour(SHORTWAVE_W_M2));
    assert_false(quantity_is_over_hour(AIR_TEMP_C));
}

static void a_value_outside_its_range_is_refused(void **state)
{
    struct error err;

    (void)state;
    assert_int_equal(quantity_check(AIR_TEMP_C, -60, &err), 0);
    assert_int_equal(quantity_check(AIR_TEMP_C, 60, &err), 0);
    assert_int_equal(quantity_check(AIR_TEMP_C, 148.89, &err), -1);
    assert_string_equal(err.text, "air_temp_c 148.89 is outside -60..60");
    assert_int_equal(quantity_check(PRESSURE_HPA, 29.92, &err), -1);
    assert_int_equal(quantity_check(REL_HUMIDITY_PCT, -1, NULL), -1);
    assert_int_equal(quantity_check(AIR_TEMP_C, (double)NAN, &err), -1);
    assert_string_equal(err.text, "air_temp_c is not a number");
    assert_int_equal(quantity_check(AIR_TEMP_C, (double)INFINITY, &err), -1);
}

static void an_instrument_s_offset_is_settled(void **state)
{
    (void)state;
    assert_near(quantity_settle(SHORTWAVE_W_M2, -3.2), 0, 0);
    assert_near(quantity_settle(SHORTWAVE_W_M2, -21), -21, 0);
    assert_near(quantity_settle(PRECIP_MM, -0.04), 0, 0);
    assert_near(quantity_settle(REL_HUMIDITY_PCT, 102), 100, 0);
    assert_near(quantity_settle(REL_HUMIDITY_PCT, 106), 106, 0);
    assert_near(quantity_settle(AIR_TEMP_C, 61), 61, 0);
    assert_near(quantity_settle(CLOUD_PCT, 40), 40, 0);
}

static void range_and_jump_are_told(void **state)
{
    double min, max;

    (void)state;
    quantity_range(SHORTWAVE_W_M2, &min, &max);
    assert_near(min, 0, 0);
    assert_near(max, 1500, 0);
    assert_near(quantity_max_jump(AIR_TEMP_C), 25, 0);
    assert_near(quantity_max_jump(WIND_M_S), 0, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_go_both_ways),
        cmocka_unit_test(only_precipitation_is_a_sum),
        cmocka_unit_test(a_value_outside_its_range_is_refused),
        cmocka_unit_test(an_instrument_s_offset_is_settled),
        cmocka_unit_test(range_and_jump_are_told),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
