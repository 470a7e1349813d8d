#include "unit_test.h"

#include "weather/forcing.h"
#include "weather/sun.h"

enum { START = 1772949600 };

static void what_is_missing_is_filled_and_told(void **state)
{
    struct series *series = series_new(START, 4);
    struct forcing *forcing;

    (void)state;
    series_set(series, AIR_TEMP_C, 1, -4, ORIGIN_OBSERVED, 0);
    series_set(series, AIR_TEMP_C, 3, 2, ORIGIN_OBSERVED, 0);
    series_set(series, WIND_M_S, 1, 6, ORIGIN_OBSERVED, 0);
    series_set(series, SHORTWAVE_W_M2, 1, 0, ORIGIN_OBSERVED, 0);
    forcing = forcing_from_series(series, 45, -72);
    assert_int_equal(forcing->start, START);
    assert_int_equal(forcing->hours, 4);
    assert_false(forcing->known[0]);
    assert_near(forcing->air_temp_c[0], -4, 0); /* the first known */
    assert_true(forcing->known[1]);
    assert_false(forcing->known[2]);
    assert_near(forcing->air_temp_c[2], -4, 0); /* the last known */
    assert_near(forcing->air_temp_c[3], 2, 0);
    assert_near(forcing->wind_m_s[0], 2, 0);
    assert_near(forcing->wind_m_s[1], 6, 0);
    forcing_free(forcing);
    series_free(series);
}

static void missing_sun_is_that_of_half_a_cloud(void **state)
{
    struct series *series = series_new(START, 24);
    struct forcing *forcing;

    (void)state;
    series_set(series, SHORTWAVE_W_M2, 11, 50, ORIGIN_OBSERVED, 0);
    forcing = forcing_from_series(series, 45, -72);
    assert_near(forcing->shortwave_w_m2[11], 50, 0);
    assert_near(forcing->shortwave_w_m2[10],
                sun_shortwave_w_m2(45, -72, START + 10 * 3600, 0.5), 0);
    assert_true(forcing->shortwave_w_m2[10] > 200);
    assert_near(forcing->shortwave_w_m2[0], 0, 0); /* 01:00 at night */
    assert_near(forcing->air_temp_c[5], 0, 0);
    assert_false(forcing->known[5]);
    forcing_free(forcing);
    series_free(series);
}

static void a_member_s_temperature_is_taken_where_it_reaches(void **state)
{
    struct series *series = series_new(START, 5);
    struct members *members = members_new(START + 3600, 2, 2);
    struct forcing *forcing;

    (void)state;
    for (int hour = 0; hour < 5; hour++)
        if (hour != 2)
            series_set(series, AIR_TEMP_C, hour, hour, ORIGIN_FORECAST, 0);
    members->air_temp_c[2] = 10; /* member 1, 07:00 */
    members->air_temp_c[3] = 20;
    forcing = forcing_from_series(series, 45, -72);
    forcing_set_member(forcing, members, 1);
    assert_near(forcing->air_temp_c[0], 0, 0);
    assert_near(forcing->air_temp_c[1], 10, 0);
    assert_near(forcing->air_temp_c[2], 20, 0);
    assert_near(forcing->air_temp_c[3], 3, 0);
    assert_false(forcing->known[2]); /* what the series lacks stays unknown */
    forcing_free(forcing);
    members_free(members);
    series_free(series);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_missing_is_filled_and_told),
        cmocka_unit_test(missing_sun_is_that_of_half_a_cloud),
        cmocka_unit_test(a_member_s_temperature_is_taken_where_it_reaches),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
