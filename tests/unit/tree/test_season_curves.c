#include "tree/season_curves.h"

#include "unit_test.h"

enum { MOST = 37 };

/* Against the C library's, at any number of values. */
static void curves_are_those_of_the_library(void **state)
{
    double values[MOST];

    (void)state;
    for (int count = 1; count <= MOST; count++)
        for (double scale = 1e-6; scale < 300; scale *= 7) {
            for (int i = 0; i < count; i++)
                values[i] = (i - count / 2) * scale / 10;
            curve_logistic(values, count);
            for (int i = 0; i < count; i++) {
                double told = 1 / (1 + exp(-(i - count / 2) * scale / 10));

                assert_near(values[i], told, 1e-13 * told);
                values[i] = (i - count / 2) * scale / 10;
            }
            curve_normal_below(values, count);
            for (int i = 0; i < count; i++) {
                double x = (i - count / 2) * scale / 10;

                assert_near(values[i], 0.5 * erfc(-x / sqrt(2.0)), 1e-7);
            }
        }
}

static void far_ends_are_held(void **state)
{
    double values[4] = {-1e6, -750, 750, 1e6};

    (void)state;
    curve_logistic(values, 4);
    assert_true(values[0] > 0 && values[1] < 1e-300);
    assert_near(values[2], 1, 0);
    assert_near(values[3], 1, 0);
    values[0] = -1e6;
    values[1] = 1e6;
    curve_normal_below(values, 2);
    assert_near(values[0], 0, 1e-7);
    assert_near(values[1], 1, 1e-7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(curves_are_those_of_the_library),
        cmocka_unit_test(far_ends_are_held),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
