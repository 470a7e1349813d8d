#include "unit_test.h"

#include "weather/random.h"

/* First outputs of the authors' reference program for the state 1, 2, 3, 4
 * (Blackman and Vigna). */
static void generator_gives_the_reference_outputs(void **state)
{
    struct random random = {.state = {1, 2, 3, 4}};

    (void)state;
    assert_true(random_bits(&random) == UINT64_C(11520));
    assert_true(random_bits(&random) == UINT64_C(0));
    assert_true(random_bits(&random) == UINT64_C(1509978240));
    assert_true(random_bits(&random) == UINT64_C(1215971899390074240));
    assert_true(random_bits(&random) == UINT64_C(1216172134540287360));
}

/* First outputs of SplitMix64 from 0, as its authors publish them. */
static void seeding_gives_the_reference_state(void **state)
{
    struct random random;

    (void)state;
    random_seed(&random, 0);
    assert_true(random.state[0] == UINT64_C(0xe220a8397b1dcdaf));
    assert_true(random.state[1] == UINT64_C(0x6e789e6aa1b965f4));
    assert_true(random.state[2] == UINT64_C(0x06c45d188009454f));
    assert_true(random.state[3] == UINT64_C(0xf88bb8a8724c81ec));
}

static void normal_deviates_are_normal(void **state)
{
    enum { COUNT = 100000 };
    struct random random;
    double sum = 0, squares = 0;
    int beyond = 0;

    (void)state;
    random_seed(&random, 42);
    for (int i = 0; i < COUNT; i++) {
        double value = random_normal(&random);

        sum += value;
        squares += value * value;
        beyond += fabs(value) > 1.959964; /* 5 % of the normal curve */
    }
    assert_near(sum / COUNT, 0, 0.015);
    assert_near(squares / COUNT, 1, 0.02);
    assert_near((double)beyond / COUNT, 0.05, 0.004);
}

/* As Box and Muller say it, with the C library's functions; many at once are
 * those one by one, and those of keys the first of their generators. */
static void deviates_are_as_told(void **state)
{
    enum { COUNT = 1001 };
    const double turn = 2.0 * 3.14159265358979323846;
    struct random random, again, even;
    double many[COUNT], of_keys[COUNT];
    uint64_t keys[COUNT];

    (void)state;
    random_seed(&random, 9);
    random_seed(&even, 9);
    random_seed(&again, 9);
    random_normals(&again, many, 0);
    random_normals(&again, many, 7);
    random_normals(&again, many + 7, 301);
    random_normals(&again, many + 308, COUNT - 308);
    for (int i = 0; i < COUNT; i++) {
        double one = random_normal(&random);

        assert_true(one == many[i]);
        if (i % 2 == 0) {
            double length = sqrt(-2.0 * log(1.0 - random_even(&even)));
            double angle = turn * random_even(&even);

            assert_near(one, length * cos(angle), 1e-13);
            if (i + 1 < COUNT)
                assert_near(many[i + 1], length * sin(angle), 1e-13);
        }
        keys[i] = (uint64_t)i * 77;
    }
    random_normals_of(keys, of_keys, COUNT);
    for (int i = 0; i < COUNT; i++) {
        random_seed(&random, keys[i]);
        assert_true(of_keys[i] == random_normal(&random));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(generator_gives_the_reference_outputs),
        cmocka_unit_test(seeding_gives_the_reference_state),
        cmocka_unit_test(normal_deviates_are_normal),
        cmocka_unit_test(deviates_are_as_told),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
