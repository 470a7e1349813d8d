/* The air at the pan: taken from the weather, told in the JSON, read back. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "fake_bulletin.h"

/* Falls by 0.5 hPa an hour; hour 5 is missing. The weather begins two hours
 * before the bulletin. All invented. */
static struct series *falling_pressure(int hours)
{
    struct series *series = series_new(FAKE_MADE - 7200, hours);
    struct series_source source = {.name = "nws"};
    int number = series_add_source(series, &source);

    for (int hour = 0; hour < hours; hour++)
        if (hour != 7)
            series_set(series, PRESSURE_HPA, hour, 961 - 0.5 * hour,
                       ORIGIN_FORECAST, number);
    return series;
}

static struct bulletin *with_pressure(int hours)
{
    struct bulletin *bulletin = fake_bulletin();
    struct series *series = falling_pressure(hours);

    bulletin_take_pressure(bulletin, series, 450);
    series_free(series);
    return bulletin;
}

static void test_hours_from_made_on(void **state)
{
    struct bulletin *bulletin = with_pressure(260);
    const struct bulletin_pan *pan = &bulletin->pan;

    (void)state;
    assert_int_equal(pan->hours, 240);
    assert_true(pan->start <= FAKE_MADE && FAKE_MADE < pan->start + 3600);
    assert_near(pan->station_pressure_hpa[0], 960, 1e-9);
    assert_false(pan->known[5]);
    assert_true(pan->known[239]);
    bulletin_free(bulletin);
}

static void test_first_that_holds_one_stays(void **state)
{
    struct bulletin *bulletin = with_pressure(100);
    struct series *other = series_new(FAKE_MADE, 10);
    struct series_source source = {.name = "nws"};

    (void)state;
    series_set(other, PRESSURE_HPA, 0, 900, ORIGIN_FORECAST,
               series_add_source(other, &source));
    bulletin_take_pressure(bulletin, other, 900);
    assert_near(bulletin->pan.elevation_m, 450, 0);
    assert_near(bulletin->pan.station_pressure_hpa[0], 960, 1e-9);
    series_free(other);
    bulletin_free(bulletin);
}

static void test_hours_of_a_boil(void **state)
{
    struct bulletin *bulletin = with_pressure(40);
    struct bulletin_pressure air;
    utc_s start = bulletin->pan.start;

    (void)state;
    assert_true(
        bulletin_pan_pressure(bulletin, start + 3600, start + 4 * 3600, &air));
    assert_near(air.max_hpa, 959.5, 1e-9);
    assert_near(air.min_hpa, 958.5, 1e-9);
    assert_near(air.mean_hpa, 959, 1e-9);
    /* The missing hour is passed over, not counted as nothing. */
    assert_true(bulletin_pan_pressure(bulletin, start + 4 * 3600,
                                      start + 7 * 3600, &air));
    assert_near(air.mean_hpa, 957.5, 1e-9);
    /* Beyond the end, and before the start. */
    assert_false(bulletin_pan_pressure(bulletin, start + 50 * 3600,
                                       start + 60 * 3600, &air));
    assert_false(
        bulletin_pan_pressure(bulletin, start - 9 * 3600, start, &air));
    bulletin_free(bulletin);
}

static void test_there_and_back(void **state)
{
    struct bulletin *bulletin = with_pressure(30), *back = NULL;
    char *json = bulletin_to_json(bulletin), *again;
    struct error err = {""};

    (void)state;
    if (bulletin_from_json(json, strlen(json), &back, &err) != 0)
        fail_msg("%s", err.text);
    assert_int_equal(back->pan.hours, bulletin->pan.hours);
    assert_int_equal(back->pan.start, bulletin->pan.start);
    assert_near(back->pan.elevation_m, 450, 0);
    assert_false(back->pan.known[5]);
    assert_near(back->pan.station_pressure_hpa[9], 955.5, 1e-9);
    again = bulletin_to_json(back);
    assert_string_equal(again, json);
    free(again);
    free(json);
    bulletin_free(back);
    bulletin_free(bulletin);
}

/* A bulletin of before has no pan; a broken one is told by its key. */
static void test_without_and_broken(void **state)
{
    struct bulletin *bulletin = fake_bulletin(), *back = NULL;
    char *json = bulletin_to_json(bulletin), *broken;
    struct error err = {""};
    struct bulletin_pressure air;

    (void)state;
    assert_null(strstr(json, "\"pan\""));
    assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err), 0);
    assert_int_equal(back->pan.hours, 0);
    assert_false(bulletin_pan_pressure(back, FAKE_MADE, FAKE_MADE + 1, &air));
    bulletin_free(back);
    broken = mem_format("%.*s,\"pan\":{\"elevation_m\":450,\"start\":\"2026-03-"
                        "06T18:00:00-05:00\",\"count\":3,"
                        "\"station_pressure_hpa\":[960,961]}}",
                        (int)(strrchr(json, '}') - json), json);
    assert_int_equal(bulletin_from_json(broken, strlen(broken), &back, &err),
                     -1);
    assert_non_null(strstr(err.text, "station_pressure_hpa"));
    free(broken);
    free(json);
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hours_from_made_on),
        cmocka_unit_test(test_first_that_holds_one_stays),
        cmocka_unit_test(test_hours_of_a_boil),
        cmocka_unit_test(test_there_and_back),
        cmocka_unit_test(test_without_and_broken),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
