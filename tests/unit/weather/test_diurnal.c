#include "unit_test.h"

#include <stdlib.h>

#include "open_bytes.h"
#include "test_seed.h"
#include "weather/diurnal.h"
#include "weather/random.h"
#include "weather/sun.h"

enum { MARCH_8 = 20520 }; /* 2026-03-08 */
static const double NORTH = 45.06, EAST = -71.90;
enum { OFFSET_S = -5 * 3600 };

static double at(const struct series *series, int hour)
{
    double temp_c = (double)NAN;

    assert_true(series_get(series, AIR_TEMP_C, hour, &temp_c));
    return temp_c;
}

/* Parton and Logan (1981), Denver, air at 1.5 m: the maximum 1.86 h after
 * noon, the minimum 0.17 h before sunrise. */
static void extremes_fall_where_they_should(void **state)
{
    struct diurnal_day days[3] = {{true, -6, 6}, {true, -6, 6}, {true, -6, 6}};
    struct series *series =
        diurnal_series(MARCH_8, days, 3, NORTH, EAST, OFFSET_S);
    utc_s rise = 0, set = 0;
    int warmest = 24, coldest = 24;

    (void)state;
    assert_true(sun_rise_set(NORTH, EAST, MARCH_8 + 1, &rise, &set));
    for (int hour = 24; hour < 48; hour++) {
        warmest = at(series, hour) > at(series, warmest) ? hour : warmest;
        coldest = at(series, hour) < at(series, coldest) ? hour : coldest;
    }
    assert_near((double)series_time(series, warmest),
                (double)(rise + set) / 2 + 1.86 * 3600, 1800);
    assert_near((double)series_time(series, coldest),
                (double)rise - 0.17 * 3600, 1800);
    assert_near(at(series, warmest), 6, 0.1);
    assert_near(at(series, coldest), -6, 0.4);
    assert_string_equal(series_source(series, 0)->name, "daily");
    series_free(series);
}

static void the_night_leads_from_one_day_to_the_next(void **state)
{
    struct diurnal_day days[2] = {{true, 0, 10}, {true, -8, -2}};
    struct series *series =
        diurnal_series(MARCH_8, days, 2, NORTH, EAST, OFFSET_S);

    (void)state;
    for (int hour = 18; hour < 30; hour++)
        assert_true(at(series, hour + 1) < at(series, hour));
    for (int hour = 1; hour < 48; hour++) /* no step anywhere */
        assert_true(fabs(at(series, hour) - at(series, hour - 1)) < 3.5);
    assert_near(at(series, 30), -8, 0.7);
    series_free(series);
}

static void unknown_days_stay_unknown(void **state)
{
    struct diurnal_day days[4] = {
        {true, -6, 6}, {false, 0, 0}, {true, 5, 1}, {true, -6, 6}};
    struct series *series =
        diurnal_series(MARCH_8, days, 4, NORTH, EAST, OFFSET_S);

    (void)state;
    assert_int_equal(series_count(series, AIR_TEMP_C), 48);
    for (int hour = 24; hour < 72; hour++)
        assert_int_equal(series_origin(series, AIR_TEMP_C, hour), ORIGIN_NONE);
    assert_int_equal(series_start(series), MARCH_8 * 86400LL + 5 * 3600);
    series_free(series);
    assert_null(diurnal_series(MARCH_8, days, 0, NORTH, EAST, OFFSET_S));
    assert_null(diurnal_series(MARCH_8, days, 100000, NORTH, EAST, OFFSET_S));
}

static void no_hour_leaves_the_neighbours_extremes(void **state)
{
    struct random random;

    (void)state;
    random_seed(&random, test_seed());
    for (int round = 0; round < 100; round++) {
        struct diurnal_day days[5];
        double latitude = random_even(&random) * 170 - 85;
        double least = 99, most = -99;
        struct series *series;

        for (int i = 0; i < 5; i++) {
            days[i].known = true;
            days[i].min_c = random_normal(&random) * 8;
            days[i].max_c = days[i].min_c + random_even(&random) * 20;
            least = fmin(least, days[i].min_c);
            most = fmax(most, days[i].max_c);
        }
        series = diurnal_series(20000 + round * 7, days, 5, latitude, 0, 0);
        for (int hour = 0; hour < 120; hour++) {
            assert_true(at(series, hour) >= least - 1e-9);
            assert_true(at(series, hour) <= most + 1e-9);
        }
        series_free(series);
    }
}

/* Least and greatest of each day at a fixed offset. */
static int extremes_of(const struct series *series, int64_t first_day,
                       int offset_s, struct diurnal_day *days, int count)
{
    int known = 0;

    for (int i = 0; i < count; i++) {
        utc_s start = (first_day + i) * SECONDS_PER_DAY - offset_s;
        int hours = 0;
        double temp_c;

        days[i].min_c = 99;
        days[i].max_c = -99;
        for (int hour = 0; hour < 24; hour++)
            if (series_get(series, AIR_TEMP_C,
                           series_row(series, start + hour * 3600), &temp_c)) {
                days[i].min_c = fmin(days[i].min_c, temp_c);
                days[i].max_c = fmax(days[i].max_c, temp_c);
                hours++;
            }
        days[i].known = hours == 24;
        known += days[i].known;
    }
    return known;
}

/* MacLeish Field Station 2015 (CC0): the hours of February to April out of
 * the days' extremes, against those measured. Parton and Logan give a mean
 * absolute error of some 2.6 C for air at 1.5 m (from memory). */
static void measured_hours_are_met(void **state)
{
    struct series *measured = NULL, *made;
    struct diurnal_day days[89];
    char *bytes;
    size_t length;
    int64_t first = 16467; /* 2015-02-01 */
    double sum = 0, temp_c, made_c;
    int count = 0;

    (void)state;
    if (!open_bytes_read("data/whately-weather-2015.csv", &bytes, &length))
        return;
    assert_int_equal(series_from_csv(bytes, length, 0, &measured, NULL), 0);
    assert_true(extremes_of(measured, first, OFFSET_S, days, 89) > 80);
    made = diurnal_series(first, days, 89, 42.4485, -72.6806, OFFSET_S);
    for (int hour = 0; hour < series_hours(made); hour++) {
        int row = series_row(measured, series_time(made, hour));

        if (!series_get(made, AIR_TEMP_C, hour, &made_c) ||
            !series_get(measured, AIR_TEMP_C, row, &temp_c))
            continue;
        sum += fabs(made_c - temp_c);
        count++;
    }
    printf("mean absolute error %.2f K in %d hours\n", sum / count, count);
    assert_true(count > 1900);
    assert_true(sum / count < 2.6);
    free(bytes);
    series_free(made);
    series_free(measured);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(extremes_fall_where_they_should),
        cmocka_unit_test(the_night_leads_from_one_day_to_the_next),
        cmocka_unit_test(unknown_days_stay_unknown),
        cmocka_unit_test(no_hour_leaves_the_neighbours_extremes),
        cmocka_unit_test(measured_hours_are_met),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
