#include "outlook/quantiles.h"

#include "outlook/flow.h"
#include "test_seed.h"
#include "unit_test.h"
#include "weather/random.h"

enum { MOST = 70, ROWS = 21, WIDTH = 30 };

/* Of each hour by itself, sorted one by one. */
static void many_hours_are_each_hour(void **state)
{
    static double values[MOST * WIDTH];
    double low[ROWS], middle[ROWS], high[ROWS], again[ROWS];
    struct random random;

    (void)state;
    random_seed(&random, test_seed());
    for (int count = 1; count <= MOST; count++) {
        int rows = 1 + (int)(ROWS * random_even(&random));

        for (int i = 0; i < count * WIDTH; i++)
            values[i] = (int)(9 * random_normal(&random)); /* with ties */
        quantiles_of_hours(values, WIDTH, count, rows, low, middle, high);
        quantiles_of_hours(values, WIDTH, count, rows, again, NULL, again);
        for (int row = 0; row < rows; row++) {
            double sorted[MOST];

            for (int i = 0; i < count; i++)
                sorted[i] = values[i * WIDTH + row];
            flow_sort(sorted, count);
            assert_near(low[row], flow_quantile(sorted, count, 0.1), 0);
            assert_near(middle[row], flow_quantile(sorted, count, 0.5), 0);
            assert_near(high[row], flow_quantile(sorted, count, 0.9), 0);
            assert_near(again[row], high[row], 0);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(many_hours_are_each_hour),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
