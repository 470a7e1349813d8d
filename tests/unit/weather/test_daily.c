/* Daily weather: its CSV and the extremes of an hourly series. */
#include "unit_test.h"

#include <string.h>

#include "weather/daily.h"

static struct daily *read_good(const char *csv)
{
    struct daily *daily = NULL;
    struct error err;

    assert_int_equal(daily_from_csv(csv, strlen(csv), &daily, &err), 0);
    return daily;
}

static void refuse(const char *csv, const char *words)
{
    struct daily *daily = NULL;
    struct error err = {""};

    assert_int_equal(daily_from_csv(csv, strlen(csv), &daily, &err), -1);
    if (!strstr(err.text, words)) {
        fail_msg("\"%s\" lacks \"%s\"", err.text, words);
    }
}

static void rows_in_any_order_and_gaps_are_days_without_values(void **state)
{
    struct daily *daily = read_good("date,tmax_c,tmin_c\n"
                                    "2026-03-04,5,-3\n"
                                    "2026-03-01,2.5,\n");
    int64_t first = civil_day_number((struct civil_date){2026, 3, 1});

    (void)state;
    assert_true(daily->first_day == first);
    assert_int_equal(daily->count, 4);
    assert_false(daily->rows[0].has_min);
    assert_true(daily->rows[0].has_max);
    assert_true(daily->rows[0].max_c == 2.5);
    assert_false(daily->rows[1].has_max);
    assert_true(daily->rows[3].min_c == -3.0);
    assert_null(daily_row(daily, first - 1));
    assert_null(daily_row(daily, first + 4));
    assert_ptr_equal(daily_row(daily, first + 3), &daily->rows[3]);
    daily_free(daily);
}

static void a_day_upside_down_is_missing(void **state)
{
    struct daily *daily =
        read_good("date,tmin_c,tmax_c\n2026-03-01,4,3\n2026-03-02,1,1\n");

    (void)state;
    assert_int_equal(daily->upside_down, 1);
    assert_false(daily->rows[0].has_min || daily->rows[0].has_max);
    assert_true(daily->rows[1].has_min && daily->rows[1].has_max);
    daily_free(daily);
}

static void bad_records_are_refused_by_line_and_name(void **state)
{
    (void)state;
    refuse("date,tmin_c\n2026-03-01,4\n", "tmax_c");
    refuse("date,tmin_c,tmax_c,snow\n2026-03-01,1,4,0\n", "snow");
    refuse("date,tmin_c,tmax_c\n2026-02-29,1,4\n", "line 2");
    refuse("date,tmin_c,tmax_c\n2026-03-01,1,4\n2026-03-01,1,4\n", "line 3");
    refuse("date,tmin_c,tmax_c\n2026-03-01,1,148.9\n", "148.9");
    refuse("date,tmin_c,tmax_c\n2026-03-01,mild,4\n", "mild");
    refuse("date,tmin_c,tmax_c\n", "no day");
    refuse("date,tmin_c,tmax_c\n1601-01-01,1,4\n2026-03-01,1,4\n", "200");
}

static void extremes_of_a_series_by_the_local_day(void **state)
{
    /* Two days from 05:00Z: midnight at five hours west of Greenwich. */
    utc_s start = civil_day_number((struct civil_date){2026, 3, 1}) *
                      (utc_s)SECONDS_PER_DAY +
                  5 * SECONDS_PER_HOUR;
    struct series *series = series_new(start, 48);
    struct series_source source = {.name = "test"};
    struct daily *daily;

    (void)state;
    series_add_source(series, &source);
    for (int hour = 0; hour < 40; hour++) {
        series_set(series, AIR_TEMP_C, hour, hour, ORIGIN_OBSERVED, 0);
    }
    daily = daily_from_series(series, -5 * SECONDS_PER_HOUR);
    assert_int_equal(daily->count, 2);
    assert_true(daily->rows[0].min_c == 0.0 && daily->rows[0].max_c == 23.0);
    assert_false(daily->rows[1].has_min); /* 16 hours only */
    daily_free(daily);
    series_free(series);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_in_any_order_and_gaps_are_days_without_values),
        cmocka_unit_test(a_day_upside_down_is_missing),
        cmocka_unit_test(bad_records_are_refused_by_line_and_name),
        cmocka_unit_test(extremes_of_a_series_by_the_local_day),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
