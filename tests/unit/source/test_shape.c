#include "source/shape.h"
#include "source_test.h"

static struct shape_instant step(int hour, double value, double min, double max)
{
    return (struct shape_instant){.time = (utc_s)hour * SECONDS_PER_HOUR,
                                  .value = value,
                                  .shaped_after = true,
                                  .min = min,
                                  .max = max};
}

static struct shape_instant plain(int hour, double value)
{
    return (struct shape_instant){.time = (utc_s)hour * SECONDS_PER_HOUR,
                                  .value = value};
}

/* No extreme inside: every hour lies between the ends, and none turns. */
static void test_monotone(void **state)
{
    struct shape_instant in[] = {step(0, -5, -5, 3), plain(6, 3)};
    struct shape_hour *hours;
    double last = -5;

    (void)state;
    assert_int_equal(5, shape_hours(in, 2, 0, &hours));
    for (int i = 0; i < 5; i++) {
        assert_int_equal((i + 1) * SECONDS_PER_HOUR, hours[i].time);
        assert_true(hours[i].value > last && hours[i].value < 3);
        last = hours[i].value;
    }
    free(hours);
}

/* Highest at 15 h and lowest at 6 h of the sun; at 90 W noon is 18 UTC. */
static void test_extremes_by_the_sun(void **state)
{
    struct shape_instant day[] = {step(18, 2, 1, 9), plain(24, 1)};
    struct shape_instant night[] = {step(9, 2, -7, 3), plain(15, 3)};
    struct shape_hour *hours;

    (void)state;
    assert_int_equal(5, shape_hours(day, 2, -90, &hours));
    assert_near(hours[2].value, 9, 1e-12); /* 21 UTC */
    free(hours);
    assert_int_equal(5, shape_hours(night, 2, -90, &hours));
    assert_near(hours[2].value, -7, 1e-12); /* 12 UTC */
    free(hours);
}

/* Never outside of what the step says, whatever the hours drawn to; both
 * extremes are reached. */
static void test_held_to_extremes(void **state)
{
    (void)state;
    for (int longitude = -180; longitude <= 180; longitude += 15) {
        struct shape_instant in[] = {plain(-1, 4), step(0, 5, -4, 11),
                                     step(6, 2, -9, 2), plain(12, 1)};
        struct shape_hour *hours;
        double low = 99, high = -99, lowest = 99;

        assert_int_equal(10, shape_hours(in, 4, longitude, &hours));
        for (int i = 0; i < 5; i++) {
            low = fmin(low, hours[i].value);
            high = fmax(high, hours[i].value);
            lowest = fmin(lowest, hours[5 + i].value);
            assert_true(hours[5 + i].value <= 2);
        }
        assert_near(low, -4, 1e-12);
        assert_near(high, 11, 1e-12);
        assert_near(lowest, -9, 1e-12);
        free(hours);
    }
}

/* Fritsch and Carlson's own condition: slopes of the sign of the secants
 * and at most three times as steep. The data are the rising ones with sharp
 * bends that their paper tries (its RPN 14), written down from memory. */
static void test_slopes(void **state)
{
    static const double x[] = {7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20};
    static const double y[] = {0,        2.76429e-5, 4.37498e-2,
                               0.169183, 0.469428,   0.943740,
                               0.998636, 0.999919,   0.999994};
    enum { COUNT = 9 };
    double slopes[COUNT], last = 0;

    (void)state;
    shape_slopes(x, y, COUNT, slopes);
    for (int i = 0; i + 1 < COUNT; i++) {
        double secant = (y[i + 1] - y[i]) / (x[i + 1] - x[i]);

        assert_true(slopes[i] >= 0 && slopes[i] <= 3 * secant);
        assert_true(slopes[i + 1] <= 3 * secant);
        assert_near(shape_value(x, y, slopes, i, x[i + 1]), y[i + 1], 1e-12);
        for (int k = 0; k <= 100; k++) {
            double value = shape_value(x, y, slopes, i,
                                       x[i] + (x[i + 1] - x[i]) * k / 100);

            assert_true(value >= last - 1e-12);
            last = value;
        }
    }
}

static void test_nothing_to_shape(void **state)
{
    struct shape_instant in[] = {plain(0, 1), plain(6, 3)};
    struct shape_hour *hours;

    (void)state;
    assert_int_equal(0, shape_hours(in, 2, 0, &hours));
    free(hours);
    assert_int_equal(0, shape_hours(in, 1, 0, &hours));
    free(hours);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_monotone),
        cmocka_unit_test(test_extremes_by_the_sun),
        cmocka_unit_test(test_held_to_extremes),
        cmocka_unit_test(test_slopes),
        cmocka_unit_test(test_nothing_to_shape),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
