#include "unit_test.h"

#include "weather/series.h"

static void times_and_rows_agree(void **state)
{
    /* 2026-03-08T06:30:00Z, in the middle of an hour. */
    struct series *series = series_new(1772951400, 5);

    (void)state;
    assert_int_equal(series_start(series), 1772949600);
    assert_int_equal(series_hours(series), 5);
    assert_int_equal(series_time(series, 2), 1772956800);
    assert_int_equal(series_row(series, 1772956800), 2);
    assert_int_equal(series_row(series, 1772956800 - 1), 1);
    assert_int_equal(series_row(series, 1772949599), -1);
    assert_int_equal(series_row(series, 1772949600 + 5 * 3600), -1);
    series_free(series);
    series = series_new(-1, 1);
    assert_int_equal(series_start(series), -3600);
    series_free(series);
}

static void hours_are_bounded(void **state)
{
    struct series *none = series_new(0, 0);
    struct series *many = series_new(0, SERIES_MAX_HOURS + 1);

    (void)state;
    assert_int_equal(series_hours(none), 1);
    assert_int_equal(series_hours(many), SERIES_MAX_HOURS);
    series_free(none);
    series_free(many);
}

static void missing_is_explicit(void **state)
{
    struct series *series = series_new(0, 3);
    double value = 7;

    (void)state;
    assert_false(series_get(series, AIR_TEMP_C, 0, &value));
    assert_near(value, 7, 0);
    assert_int_equal(series_value_source(series, AIR_TEMP_C, 0), -1);
    series_set(series, AIR_TEMP_C, 0, 0.0, ORIGIN_OBSERVED, 4);
    assert_true(series_get(series, AIR_TEMP_C, 0, &value));
    assert_near(value, 0, 0);
    assert_int_equal(series_origin(series, AIR_TEMP_C, 0), ORIGIN_OBSERVED);
    assert_int_equal(series_value_source(series, AIR_TEMP_C, 0), 4);
    assert_int_equal(series_origin(series, DEW_POINT_C, 0), ORIGIN_NONE);
    series_clear(series, AIR_TEMP_C, 0);
    assert_false(series_get(series, AIR_TEMP_C, 0, &value));
    assert_int_equal(series_count(series, AIR_TEMP_C), 0);
    series_free(series);
}

static void what_is_not_finite_or_outside_is_not_stored(void **state)
{
    struct series *series = series_new(0, 2);
    double value;

    (void)state;
    series_set(series, AIR_TEMP_C, 0, (double)NAN, ORIGIN_OBSERVED, 0);
    series_set(series, AIR_TEMP_C, 1, -(double)INFINITY, ORIGIN_OBSERVED, 0);
    series_set(series, AIR_TEMP_C, 2, 1, ORIGIN_OBSERVED, 0);
    series_set(series, AIR_TEMP_C, -1, 1, ORIGIN_OBSERVED, 0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 0);
    assert_int_equal(series_count(series, SHORTWAVE_W_M2), 0);
    assert_false(series_get(series, AIR_TEMP_C, 2, &value));
    assert_false(series_get(series, AIR_TEMP_C, -1, &value));
    series_free(series);
}

static void sources_are_copied_and_counted(void **state)
{
    struct series_source source = {.name = "nws", .issued = 5};
    struct series *series = series_new(0, 1);

    (void)state;
    assert_int_equal(series_add_source(series, &source), 0);
    source.issued = 6;
    assert_int_equal(series_source(series, 0)->issued, 5);
    series_set_source(series, 0, &source);
    assert_int_equal(series_source(series, 0)->issued, 6);
    series_set_source(series, 3, &source);
    assert_null(series_source(series, 1));
    assert_null(series_source(series, -1));
    for (int i = 1; i < SERIES_MAX_SOURCES; i++)
        assert_int_equal(series_add_source(series, &source), i);
    assert_int_equal(series_add_source(series, &source), -1);
    assert_int_equal(series_source_count(series), SERIES_MAX_SOURCES);
    series_free(series);
}

static void a_copy_stands_alone(void **state)
{
    struct series_source source = {.name = "nws"};
    struct series *series = series_new(3600, 2), *copy;
    double value = 0;

    (void)state;
    series_add_source(series, &source);
    series_set(series, WIND_M_S, 1, 3.5, ORIGIN_FORECAST, 0);
    copy = series_copy(series);
    series_clear(series, WIND_M_S, 1);
    series_free(series);
    assert_true(series_get(copy, WIND_M_S, 1, &value));
    assert_near(value, 3.5, 0);
    assert_int_equal(series_start(copy), 3600);
    assert_string_equal(series_source(copy, 0)->name, "nws");
    series_free(copy);
}

static struct series *with_gap(enum quantity quantity, int missing)
{
    struct series *series = series_new(0, missing + 2);

    series_set(series, quantity, 0, 1.0, ORIGIN_OBSERVED, 2);
    series_set(series, quantity, missing + 1, 5.0, ORIGIN_FORECAST, 3);
    return series;
}

static void gaps_of_three_hours_are_closed(void **state)
{
    struct series *series = with_gap(AIR_TEMP_C, 3);
    double value = 0;

    (void)state;
    series_interpolate(series, 3);
    for (int hour = 1; hour <= 3; hour++) {
        assert_true(series_get(series, AIR_TEMP_C, hour, &value));
        assert_near(value, 1.0 + hour, 1e-12);
        assert_int_equal(series_origin(series, AIR_TEMP_C, hour),
                         ORIGIN_INTERPOLATED);
        assert_int_equal(series_value_source(series, AIR_TEMP_C, hour), 2);
    }
    assert_int_equal(series_origin(series, AIR_TEMP_C, 4), ORIGIN_FORECAST);
    series_free(series);
}

static void longer_gaps_edges_and_sums_stay_open(void **state)
{
    struct series *longer = with_gap(AIR_TEMP_C, 4);
    struct series *sum = with_gap(PRECIP_MM, 1);
    struct series *edge = series_new(0, 3);

    (void)state;
    series_set(edge, AIR_TEMP_C, 1, 1.0, ORIGIN_OBSERVED, 0);
    series_interpolate(longer, 3);
    series_interpolate(sum, 3);
    series_interpolate(edge, 3);
    assert_int_equal(series_count(longer, AIR_TEMP_C), 2);
    assert_int_equal(series_count(sum, PRECIP_MM), 2);
    assert_int_equal(series_count(edge, AIR_TEMP_C), 1);
    series_free(longer);
    series_free(sum);
    series_free(edge);
}

static void rows_of_a_grid_begin_at_the_instant(void **state)
{
    (void)state;
    assert_int_equal(grid_row_from(7200, 10, 0), 0);
    assert_int_equal(grid_row_from(7200, 10, 7200), 0);
    assert_int_equal(grid_row_from(7200, 10, 7201), 1);
    assert_int_equal(grid_row_from(7200, 10, 10800), 1);
    assert_int_equal(grid_row_from(7200, 10, 7200 + 36000), 10);
    assert_int_equal(grid_row_from(7200, 10, INT64_C(4000000000)), 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_of_a_grid_begin_at_the_instant),
        cmocka_unit_test(times_and_rows_agree),
        cmocka_unit_test(hours_are_bounded),
        cmocka_unit_test(missing_is_explicit),
        cmocka_unit_test(what_is_not_finite_or_outside_is_not_stored),
        cmocka_unit_test(sources_are_copied_and_counted),
        cmocka_unit_test(a_copy_stands_alone),
        cmocka_unit_test(gaps_of_three_hours_are_closed),
        cmocka_unit_test(longer_gaps_edges_and_sums_stay_open),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
