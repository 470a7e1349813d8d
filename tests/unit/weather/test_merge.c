#include "unit_test.h"

#include <string.h>

#include "test_seed.h"
#include "weather/merge.h"
#include "weather/pressure.h"
#include "weather/random.h"
#include "weather/sun.h"

enum { START = 1772949600, HOURS = 12 }; /* 2026-03-08T06:00Z */

/* Tamarack Bend, the project's invented operation. */
static const struct merge_place BUSH = {45.06, -71.90, 450};

/* A series of one source whose hours [from, to) hold one air temperature. */
static struct series *of(const char *name, utc_s issued, enum origin origin,
                         double temp_c, int from, int to)
{
    struct series_source source = {.issued = issued};
    struct series *series = series_new(START, HOURS);

    memcpy(source.name, name, strlen(name));
    series_add_source(series, &source);
    for (int hour = from; hour < to; hour++)
        series_set(series, AIR_TEMP_C, hour, temp_c, origin, 0);
    return series;
}

static struct series *merged(struct series **inputs, int count)
{
    return merge_series((const struct series *const *)inputs, count, &BUSH,
                        START, HOURS, 12);
}

static void free_all(struct series **inputs, int count)
{
    for (int i = 0; i < count; i++)
        series_free(inputs[i]);
}

static void assert_from(const struct series *series, int hour, double temp_c,
                        const char *source, utc_s issued)
{
    double value = -999;
    int number = series_value_source(series, AIR_TEMP_C, hour);

    assert_true(series_get(series, AIR_TEMP_C, hour, &value));
    assert_near(value, temp_c, 1e-9);
    assert_string_equal(series_source(series, number)->name, source);
    assert_int_equal(series_source(series, number)->issued, issued);
}

static void observation_comes_before_forecast(void **state)
{
    struct series *in[] = {of("nws", START, ORIGIN_FORECAST, 1, 0, HOURS),
                           of("metno", START, ORIGIN_ANALYSED, 2, 0, 6),
                           of("station", 0, ORIGIN_OBSERVED, 3, 0, 3)};
    struct series *out = merged(in, 3);

    (void)state;
    assert_from(out, 2, 3, "station", 0);
    assert_int_equal(series_origin(out, AIR_TEMP_C, 2), ORIGIN_OBSERVED);
    assert_from(out, 3, 2, "metno", START);
    assert_from(out, 6, 1, "nws", START);
    series_free(out);
    free_all(in, 3);
}

static void forecasts_come_in_the_configured_order(void **state)
{
    struct series *in[] = {of("nws", START, ORIGIN_FORECAST, 1, 2, 4),
                           of("metno", START + 60, ORIGIN_SHAPED, 2, 0, 6)};
    struct series *out = merged(in, 2);

    (void)state;
    assert_from(out, 1, 2, "metno", START + 60);
    assert_from(out, 2, 1, "nws", START);
    assert_from(out, 4, 2, "metno", START + 60);
    assert_int_equal(series_origin(out, AIR_TEMP_C, 4), ORIGIN_SHAPED);
    series_free(out);
    free_all(in, 2);
}

static void a_stale_source_loses(void **state)
{
    utc_s old = START - 12 * 3600;
    struct series *in[] = {of("nws", old - 1, ORIGIN_FORECAST, 1, 0, HOURS),
                           of("metno", START, ORIGIN_FORECAST, 2, 0, 6)};
    struct series *out = merged(in, 2);

    (void)state;
    assert_from(out, 0, 2, "metno", START);
    assert_from(out, 8, 1, "nws", old - 1); /* better than nothing */
    series_free(out);
    series_free(in[0]);
    in[0] = of("nws", old, ORIGIN_FORECAST, 1, 0, HOURS); /* just not stale */
    out = merged(in, 2);
    assert_from(out, 0, 1, "nws", old);
    series_free(out);
    free_all(in, 2);
}

static void what_was_measured_does_not_go_stale(void **state)
{
    struct series *in[] = {
        of("metno", START, ORIGIN_FORECAST, 2, 0, HOURS),
        of("station", START - 999999, ORIGIN_OBSERVED, 3, 0, 4)};
    struct series *out = merged(in, 2);

    (void)state;
    assert_from(out, 0, 3, "station", START - 999999);
    series_free(out);
    free_all(in, 2);
}

static void an_untold_issue_is_judged_by_the_fetch(void **state)
{
    struct series_source source = {.name = "open-meteo"};
    struct series *in[] = {of("open-meteo", 0, ORIGIN_FORECAST, 1, 0, HOURS),
                           of("metno", START, ORIGIN_FORECAST, 2, 0, HOURS)};
    struct series *out;

    (void)state;
    source.fetched = START - 13 * 3600;
    series_set_source(in[0], 0, &source);
    out = merged(in, 2);
    assert_from(out, 0, 2, "metno", START);
    series_free(out);
    source.fetched = START - 11 * 3600;
    series_set_source(in[0], 0, &source);
    out = merged(in, 2);
    assert_from(out, 0, 1, "open-meteo", 0);
    series_free(out);
    free_all(in, 2);
}

static void temperature_is_lapsed_to_the_bush(void **state)
{
    struct series_source source = {
        .name = "nws", .elevation_m = 250, .has_elevation = true};
    struct series *in[] = {of("nws", START, ORIGIN_FORECAST, 4, 0, HOURS)};
    struct series *out;
    double dew_c = 0;

    (void)state;
    series_set_source(in[0], 0, &source);
    series_set(in[0], DEW_POINT_C, 0, -3, ORIGIN_FORECAST, 0);
    out = merged(in, 1);
    /* 200 m higher at 6.5 K/km (ISO 2533) */
    assert_from(out, 0, 4 - 1.3, "nws", 0);
    assert_true(series_get(out, DEW_POINT_C, 0, &dew_c));
    assert_near(dew_c, -4.3, 1e-9);
    series_free(out);
    free_all(in, 1);
}

static void pressure_is_brought_to_the_bush(void **state)
{
    struct series_source source = {
        .name = "cell", .elevation_m = 250, .has_elevation = true};
    struct series *in[] = {of("cell", START, ORIGIN_FORECAST, 1.3, 0, HOURS)};
    struct series *out;
    double at_cell = 0, at_sea = 0;

    (void)state;
    series_set_source(in[0], 0, &source);
    series_set(in[0], PRESSURE_HPA, 0, 985, ORIGIN_FORECAST, 0);
    series_set(in[0], SEA_LEVEL_PRESSURE_HPA, 1, 1020, ORIGIN_FORECAST, 0);
    out = merged(in, 1);
    assert_true(series_get(out, PRESSURE_HPA, 0, &at_cell));
    assert_true(series_get(out, PRESSURE_HPA, 1, &at_sea));
    /* 0 C at the bush after the lapse. */
    assert_near(at_cell, pressure_move_hpa(985, 250, 450, 0), 1e-9);
    assert_near(at_sea, pressure_move_hpa(1020, 0, 450, 0), 1e-9);
    /* About 12 hPa in 100 m. */
    assert_near(at_cell, 985 - 24.4, 0.5);
    assert_int_equal(series_value_source(out, PRESSURE_HPA, 1), 0);
    assert_int_equal(series_origin(out, PRESSURE_HPA, 1), ORIGIN_FORECAST);
    assert_int_equal(series_origin(out, PRESSURE_HPA, 2), ORIGIN_NONE);
    series_free(out);
    free_all(in, 1);
}

static void sun_is_estimated_only_where_no_source_has_it(void **state)
{
    struct series *in[] = {of("metno", START, ORIGIN_FORECAST, 1, 0, HOURS),
                           of("open-meteo", START, ORIGIN_FORECAST, 1, 0, 1)};
    struct series *out;
    double sun = -1;

    (void)state;
    for (int hour = 0; hour < HOURS; hour++)
        series_set(in[0], CLOUD_PCT, hour, 40, ORIGIN_FORECAST, 0);
    series_set(in[1], SHORTWAVE_W_M2, 11, 321, ORIGIN_FORECAST, 0);
    out = merged(in, 2);
    assert_true(series_get(out, SHORTWAVE_W_M2, 11, &sun));
    assert_near(sun, 321, 0);
    assert_true(series_get(out, SHORTWAVE_W_M2, 10, &sun));
    assert_near(sun, sun_shortwave_w_m2(45.06, -71.90, START + 10 * 3600, 0.4),
                1e-9);
    assert_true(sun > 300);
    assert_int_equal(series_origin(out, SHORTWAVE_W_M2, 10), ORIGIN_FORECAST);
    series_free(out);
    free_all(in, 2);
}

static void short_gaps_close_and_long_ones_stay(void **state)
{
    struct series *in[] = {of("nws", START, ORIGIN_FORECAST, 1, 0, 1),
                           of("metno", START, ORIGIN_FORECAST, 5, 4, 5),
                           of("late", START, ORIGIN_FORECAST, 5, 9, 10)};
    struct series *out = merged(in, 3);

    (void)state;
    assert_from(out, 2, 3, "nws", START);
    assert_int_equal(series_origin(out, AIR_TEMP_C, 2), ORIGIN_INTERPOLATED);
    for (int hour = 5; hour < 9; hour++)
        assert_int_equal(series_origin(out, AIR_TEMP_C, hour), ORIGIN_NONE);
    series_free(out);
    free_all(in, 3);
}

static void series_on_other_hours_are_laid_right(void **state)
{
    struct series *in[] = {series_new(START - 5 * 3600, 7),
                           series_new(START + 10 * 3600, 40)};
    struct series *out;
    double value = 0;

    (void)state;
    series_set(in[0], AIR_TEMP_C, 6, 1.5, ORIGIN_OBSERVED, -1);
    series_set(in[1], AIR_TEMP_C, 1, 2.5, ORIGIN_FORECAST, -1);
    out = merged(in, 2);
    assert_true(series_get(out, AIR_TEMP_C, 1, &value));
    assert_near(value, 1.5, 0);
    assert_true(series_get(out, AIR_TEMP_C, 11, &value));
    assert_near(value, 2.5, 0);
    assert_int_equal(series_count(out, AIR_TEMP_C), 2);
    assert_int_equal(series_value_source(out, AIR_TEMP_C, 1), -1);
    series_free(out);
    out = merge_series(NULL, 0, &BUSH, START, HOURS, 12);
    assert_int_equal(series_count(out, AIR_TEMP_C), 0);
    series_free(out);
    free_all(in, 2);
}

static void spread_is_the_difference_after_lapse(void **state)
{
    struct series_source low = {
        .name = "nws", .elevation_m = 250, .has_elevation = true};
    struct series *in[] = {of("nws", START, ORIGIN_FORECAST, 4, 0, 2),
                           of("metno", START, ORIGIN_FORECAST, 1, 0, HOURS)};
    const struct series *const *inputs = (const struct series *const *)in;
    double spread_k = -1;

    (void)state;
    series_set_source(in[0], 0, &low);
    assert_true(merge_spread_k(inputs, 2, &BUSH, START, &spread_k));
    assert_near(spread_k, 4 - 1.3 - 1, 1e-9);
    assert_false(merge_spread_k(inputs, 2, &BUSH, START + 7200, &spread_k));
    assert_false(merge_spread_k(inputs, 2, &BUSH, START - 3600, &spread_k));
    assert_false(merge_spread_k(NULL, 0, &BUSH, START, &spread_k));
    free_all(in, 2);
}

/* Over random inputs: every value of the merged series that is not
 * interpolated is one of the inputs' at that hour, and an hour that any input
 * knows is known. */
static void merging_invents_nothing(void **state)
{
    struct random random;

    (void)state;
    random_seed(&random, test_seed());
    for (int round = 0; round < 200; round++) {
        struct series *in[3];
        struct series *out;

        for (int i = 0; i < 3; i++) {
            in[i] = of("any", (utc_s)(random_even(&random) * 1e6),
                       ORIGIN_FORECAST, 0, 0, 0);
            for (int hour = 0; hour < HOURS; hour++)
                if (random_even(&random) < 0.3)
                    series_set(in[i], AIR_TEMP_C, hour,
                               random_normal(&random) * 8,
                               random_even(&random) < 0.5 ? ORIGIN_OBSERVED
                                                          : ORIGIN_FORECAST,
                               0);
        }
        out = merged(in, 3);
        for (int hour = 0; hour < HOURS; hour++) {
            double value = 0, other = 0;
            bool known = series_get(out, AIR_TEMP_C, hour, &value);
            bool given = false, any = false;

            for (int i = 0; i < 3; i++)
                if (series_get(in[i], AIR_TEMP_C, hour, &other)) {
                    any = true;
                    given = given || fabs(other - value) < 1e-12;
                }
            if (any)
                assert_true(known && given);
            else if (known)
                assert_int_equal(series_origin(out, AIR_TEMP_C, hour),
                                 ORIGIN_INTERPOLATED);
        }
        series_free(out);
        free_all(in, 3);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(observation_comes_before_forecast),
        cmocka_unit_test(forecasts_come_in_the_configured_order),
        cmocka_unit_test(a_stale_source_loses),
        cmocka_unit_test(what_was_measured_does_not_go_stale),
        cmocka_unit_test(an_untold_issue_is_judged_by_the_fetch),
        cmocka_unit_test(temperature_is_lapsed_to_the_bush),
        cmocka_unit_test(pressure_is_brought_to_the_bush),
        cmocka_unit_test(sun_is_estimated_only_where_no_source_has_it),
        cmocka_unit_test(short_gaps_close_and_long_ones_stay),
        cmocka_unit_test(series_on_other_hours_are_laid_right),
        cmocka_unit_test(spread_is_the_difference_after_lapse),
        cmocka_unit_test(merging_invents_nothing),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
