#include "unit_test.h"

#include "outlook/window.h"

static void a_run_has_start_peak_and_end(void **state)
{
    const double flow[] = {0, 0.01, 0.03, 0.3, 0.2, 0.04, 0.01, 0};
    struct window window;

    (void)state;
    assert_true(window_find(flow, 0, 8, 0.02, &window));
    assert_int_equal(window.first, 2); /* 0.03 = a tenth of the peak */
    assert_int_equal(window.peak, 3);
    assert_int_equal(window.end, 6);
}

static void weak_edges_of_a_strong_run_are_left_out(void **state)
{
    const double flow[] = {0.05, 0.09, 0.1, 1.0, 0.1, 0.09, 0.05};
    struct window window;

    (void)state;
    assert_true(window_find(flow, 0, 7, 0.02, &window));
    assert_int_equal(window.first, 2);
    assert_int_equal(window.end, 5);
}

static void a_short_lull_does_not_end_it(void **state)
{
    const double flow[] = {0.1, 0, 0, 0.1, 0, 0, 0, 0.1, 0};
    struct window window;

    (void)state;
    assert_true(window_find(flow, 0, 9, 0.02, &window));
    assert_int_equal(window.first, 0);
    assert_int_equal(window.end, 4);
}

static void of_two_the_fuller_is_taken(void **state)
{
    const double flow[] = {0.5, 0, 0, 0, 0.3, 0.3, 0.3, 0, 0, 0, 0.4};
    struct window window;

    (void)state;
    assert_true(window_find(flow, 0, 11, 0.02, &window));
    assert_int_equal(window.first, 4);
    assert_int_equal(window.end, 7);
    assert_true(window_find(flow, 0, 4, 0.02, &window)); /* its own day */
    assert_int_equal(window.end, 1);
}

static void below_the_floor_there_is_none(void **state)
{
    const double flow[] = {0, 0.019, 0.015};
    struct window window;

    (void)state;
    assert_false(window_find(flow, 0, 3, 0.02, &window));
    assert_false(window_find(flow, 2, 2, 0.02, &window));
    assert_true(window_find(flow, 0, 3, 0.01, &window));
}

static void vacuum_has_the_higher_floor(void **state)
{
    (void)state;
    assert_near(window_floor_l_h(GATHERING_BUCKETS), 0.02, 0);
    assert_near(window_floor_l_h(GATHERING_GRAVITY_TUBING), 0.02, 0);
    assert_near(window_floor_l_h(GATHERING_VACUUM), 0.04, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_run_has_start_peak_and_end),
        cmocka_unit_test(weak_edges_of_a_strong_run_are_left_out),
        cmocka_unit_test(a_short_lull_does_not_end_it),
        cmocka_unit_test(of_two_the_fuller_is_taken),
        cmocka_unit_test(below_the_floor_there_is_none),
        cmocka_unit_test(vacuum_has_the_higher_floor),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
