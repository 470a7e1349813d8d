/* The closed forms against the C library's functions. */
#include "weather/closed_forms.h"

#include "unit_test.h"

enum { LOOKS = 100000 };

static void log_is_that_of_the_library(void **state)
{
    (void)state;
    for (int i = 0; i < LOOKS; i++) {
        double even = (i + 0.5) / LOOKS, x = pow(2, -53 * even);

        assert_near(closed_log(even), log(even), 5e-16 * -log(even));
        assert_near(closed_log(x), log(x), 5e-16 * -log(x));
    }
    assert_near(closed_log(1), 0, 0);
    assert_near(closed_log(0x1.0p-53), -53 * log(2), 1e-14);
}

static void exp_is_that_of_the_library(void **state)
{
    (void)state;
    for (int i = -LOOKS; i <= LOOKS; i++) {
        double x = 700.0 * i / LOOKS;

        assert_near(closed_exp(x), exp(x), 1e-14 * exp(x));
    }
    assert_near(closed_exp(0), 1, 0);
    assert_near(closed_exp(-1e6), closed_exp(-700), 0);
    assert_near(closed_exp(1e6), closed_exp(700), 0);
}

static void turn_is_that_of_the_library(void **state)
{
    const long double circle = 2 * 3.14159265358979323846L;

    (void)state;
    for (int i = 0; i <= LOOKS; i++) {
        double share = -0.125 + 1.25 * i / LOOKS, cosine, sine;

        closed_turn(share, &cosine, &sine);
        assert_near(cosine, (double)cosl(circle * share), 3e-14);
        assert_near(sine, (double)sinl(circle * share), 3e-14);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(log_is_that_of_the_library),
        cmocka_unit_test(exp_is_that_of_the_library),
        cmocka_unit_test(turn_is_that_of_the_library),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
