#include "unit_test.h"
#include <stdlib.h>
#include <string.h>

#include "open_bytes.h"
#include "test_seed.h"
#include "weather/random.h"
#include "weather/series.h"

static struct series *read_ok(const char *csv, int offset_s)
{
    struct series *series = NULL;
    struct error err = {""};

    if (series_from_csv(csv, strlen(csv), offset_s, &series, &err) < 0)
        fail_msg("%s", err.text);
    return series;
}

static void assert_refused(const char *csv, const char *words)
{
    struct series *series = NULL;
    struct error err = {""};

    assert_int_equal(series_from_csv(csv, strlen(csv), 0, &series, &err), -1);
    assert_null(series);
    if (!strstr(err.text, words))
        fail_msg("\"%s\" lacks \"%s\"", err.text, words);
}

static void assert_value(const struct series *series, enum quantity quantity,
                         int hour, double expected)
{
    double value = (double)NAN;

    assert_true(series_get(series, quantity, hour, &value));
    assert_near(value, expected, 1e-9);
}

static void hourly_rows_are_read_in_any_order(void **state)
{
    struct series *series = read_ok("time,precip_mm,air_temp_c\n"
                                    "2026-03-08T08:00:00Z,,2.5\n"
                                    "2026-03-08T06:00:00Z,0.4,-1\n",
                                    0);

    (void)state;
    assert_int_equal(series_start(series), 1772949600);
    assert_int_equal(series_hours(series), 3);
    assert_value(series, AIR_TEMP_C, 0, -1);
    assert_value(series, AIR_TEMP_C, 2, 2.5);
    assert_value(series, PRECIP_MM, 0, 0.4);
    assert_int_equal(series_count(series, AIR_TEMP_C), 2);
    assert_int_equal(series_count(series, PRECIP_MM), 1);
    assert_int_equal(series_origin(series, AIR_TEMP_C, 0), ORIGIN_OBSERVED);
    assert_string_equal(series_source(series, 0)->name, "csv");
    series_free(series);
}

static void a_time_without_offset_takes_the_default(void **state)
{
    struct series *series =
        read_ok("time,air_temp_c\n2026-03-08T01:00:00,3\n", -5 * 3600);

    (void)state;
    assert_int_equal(series_start(series), 1772949600);
    series_free(series);
    series = read_ok("time,air_temp_c\n2026-03-08T01:00:00-04:00,3\n", 0);
    assert_int_equal(series_start(series), 1772946000);
    series_free(series);
}

static void rows_within_an_hour_average(void **state)
{
    struct series *series = read_ok("time,air_temp_c,shortwave_w_m2,precip_mm\n"
                                    "2026-03-08T06:00:00Z,1,100,0.1\n"
                                    "2026-03-08T06:15:00Z,2,200,0.2\n"
                                    "2026-03-08T06:30:00Z,,,0.3\n"
                                    "2026-03-08T06:45:00Z,6,600,\n"
                                    "2026-03-08T07:00:00Z,9,0,0\n",
                                    0);

    (void)state;
    assert_int_equal(series_hours(series), 2);
    assert_value(series, AIR_TEMP_C, 0, 3);
    assert_value(series, SHORTWAVE_W_M2, 0, 300);
    assert_value(series, PRECIP_MM, 0, 0.6);
    assert_value(series, AIR_TEMP_C, 1, 9);
    series_free(series);
}

static void bad_files_are_refused_with_the_place(void **state)
{
    (void)state;
    assert_refused("", "");
    assert_refused("air_temp_c\n1\n", "no column called time");
    assert_refused("time,wind_m_s\n2026-03-08T06:00:00Z,1\n", "air_temp_c");
    assert_refused("time,temp\n2026-03-08T06:00:00Z,1\n", "\"temp\"");
    assert_refused("time,air_temp_c,air_temp_c\n2026-03-08T06:00:00Z,1,1\n",
                   "comes twice");
    assert_refused("time,air_temp_c\n", "no row");
    assert_refused("time,air_temp_c\n2026-03-08T06:00:00Z,1\nyesterday,1\n",
                   "line 3: ");
    assert_refused("time,air_temp_c\n2026-03-08T06:00:00Z,cold\n", "line 2");
    assert_refused("time,air_temp_c\n2026-03-08T06:00:00Z,148.89\n",
                   "line 2: air_temp_c 148.89 is outside -60..60");
    assert_refused("time,air_temp_c\n2020-01-01T00:00:00Z,1\n"
                   "2026-01-01T00:00:00Z,1\n",
                   "two years");
}

static void a_sensor_s_bad_cells_do_not_cost_the_rest(void **state)
{
    const char *csv = "time,air_temp_c,rel_humidity_pct\n"
                      "2026-03-08T06:00:00Z,85,40\n"
                      "2026-03-08T07:00:00Z,-2,err\n"
                      "2026-03-08T08:00:00Z,-1,41\n";
    struct series *series = NULL;
    struct error_list refused = {0};
    struct error err;

    (void)state;
    assert_int_equal(
        series_read_csv(csv, strlen(csv), 0, &series, &refused, &err), 0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 2);
    assert_int_equal(series_count(series, REL_HUMIDITY_PCT), 2);
    assert_int_equal(refused.count, 2);
    assert_string_equal(refused.items[0],
                        "line 2: air_temp_c 85 is outside -60..60");
    assert_non_null(strstr(refused.items[1], "line 3"));
    error_list_free(&refused);
    series_free(series);
}

static void many_bad_cells_are_told_in_few_words(void **state)
{
    char csv[2048] = "time,air_temp_c\n";
    struct series *series = NULL;
    struct error_list refused = {0};

    (void)state;
    for (int i = 0; i < 24; i++)
        snprintf(csv + strlen(csv), sizeof csv - strlen(csv),
                 "2026-03-08T%02d:00:00Z,99\n", i);
    assert_int_equal(
        series_read_csv(csv, strlen(csv), 0, &series, &refused, NULL), 0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 0);
    assert_int_equal(refused.count, 11);
    assert_string_equal(refused.items[10], "14 further values left out");
    error_list_free(&refused);
    series_free(series);
}

static void csv_is_written_in_utc_with_what_is_there(void **state)
{
    struct series *series = series_new(1772949600, 2);
    char *csv;

    (void)state;
    series_set(series, AIR_TEMP_C, 0, -0.0001, ORIGIN_FORECAST, 0);
    series_set(series, WIND_M_S, 1, 2.57222, ORIGIN_FORECAST, 0);
    csv = series_to_csv(series);
    assert_string_equal(csv, "time,air_temp_c,wind_m_s\n"
                             "2026-03-08T06:00:00Z,0,\n"
                             "2026-03-08T07:00:00Z,,2.572\n");
    free(csv);
    series_free(series);
}

static struct series *random_series(struct random *random)
{
    int hours = 1 + (int)(random_even(random) * 60);
    struct series *series =
        series_new(1700000000 + (utc_s)(random_even(random) * 9e7), hours);

    /* The first and the last row hold a value, so that the span is kept. */
    for (int i = 0; i < QUANTITY_COUNT; i++)
        for (int hour = 0; hour < hours; hour++) {
            double min, max;

            quantity_range((enum quantity)i, &min, &max);
            if (i == AIR_TEMP_C || random_even(random) < 0.5)
                series_set(series, (enum quantity)i, hour,
                           min + random_even(random) * (max - min),
                           ORIGIN_OBSERVED, 0);
        }
    return series;
}

static void what_is_written_is_read_back(void **state)
{
    struct random random;

    (void)state;
    random_seed(&random, test_seed());
    for (int i = 0; i < 50; i++) {
        struct series *series = random_series(&random), *back;
        char *csv = series_to_csv(series), *again;

        back = read_ok(csv, 12345);
        again = series_to_csv(back);
        assert_string_equal(csv, again);
        assert_int_equal(series_hours(back), series_hours(series));
        free(csv);
        free(again);
        series_free(series);
        series_free(back);
    }
}

/* Rows of the file itself, MacLeish Field Station (CC0). */
static void the_open_weather_of_2015_is_read(void **state)
{
    struct series *series = NULL;
    struct error err = {""};
    char *bytes;
    size_t length;

    (void)state;
    if (!open_bytes_read("data/whately-weather-2015.csv", &bytes, &length))
        return;
    if (series_from_csv(bytes, length, 0, &series, &err) < 0)
        fail_msg("%s", err.text);
    assert_int_equal(series_start(series), 1420088400); /* 05:00Z */
    assert_value(series, AIR_TEMP_C, 0, -9.36);
    assert_value(series, WIND_M_S, 1, 1.5);
    assert_value(series, REL_HUMIDITY_PCT, 2, 62.1);
    assert_value(series, PRESSURE_HPA, 0, 984.5);
    assert_true(series_count(series, AIR_TEMP_C) > 3500);
    free(bytes);
    series_free(series);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hourly_rows_are_read_in_any_order),
        cmocka_unit_test(a_time_without_offset_takes_the_default),
        cmocka_unit_test(rows_within_an_hour_average),
        cmocka_unit_test(bad_files_are_refused_with_the_place),
        cmocka_unit_test(a_sensor_s_bad_cells_do_not_cost_the_rest),
        cmocka_unit_test(many_bad_cells_are_told_in_few_words),
        cmocka_unit_test(csv_is_written_in_utc_with_what_is_there),
        cmocka_unit_test(what_is_written_is_read_back),
        cmocka_unit_test(the_open_weather_of_2015_is_read),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
