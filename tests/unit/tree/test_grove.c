/* Trees side by side in single precision against what they stand for: the stem
 * in double precision with the faces of each step, and branch_step. */
#include <stdlib.h>

#include "base/memory.h"
#include "test_seed.h"
#include "tree/grove.h"
#include "unit_test.h"
#include "weather/random.h"

enum { HOURS = 24 * 60, STEPS = 6 };

static const struct stem_numbers NUMBERS = {
    .wood = {0.4, 0.5, 2.34e6, 1.85e6, 7.84e7},
    .stem_radius_m = 0.15,
    .tap_depth_m = 0.05,
    .branch_radius_m = 0.032,
    .stem_recharge_share = 0.08,
    .uptake_time_h = 4.2,
    .suction_fade_h = 3,
    .store_time_h = 22,
    .leak_per_h = 0.0049,
    .full_store_l = 11.5};
static const struct tree_gathering GATHERING = {.warm_from_c = 4,
                                                .ageing_per_kkh = 0.95};

struct pair {
    struct random random;
    struct stem_numbers numbers;
    struct grove *grove;
    struct stem *stem;
    struct branch branch;
    double mean_c, now_c;
    double temp_off_k, ice_off; /* in the mean */
    double most_temp_off_k, most_ice_off;
};

static struct pair *begin(uint64_t seed, double frozen_w_m_k)
{
    struct pair *pair = mem_alloc(1, sizeof *pair);

    random_seed(&pair->random, seed);
    pair->numbers = NUMBERS;
    pair->numbers.wood.conductivity_frozen_w_m_k = frozen_w_m_k;
    pair->grove = grove_new(&pair->numbers, &GATHERING, 0, -3);
    pair->stem = stem_new(&pair->numbers.wood, NUMBERS.stem_radius_m,
                          NUMBERS.stem_radius_m, 15);
    stem_settle(pair->stem, -3);
    pair->branch = (struct branch){&pair->numbers.wood, NUMBERS.branch_radius_m,
                                   wood_enthalpy_j_m3(&NUMBERS.wood, -3)};
    return pair;
}

static void end(struct pair *pair)
{
    grove_free(pair->grove);
    stem_free(pair->stem);
    free(pair);
}

static void pass_hour(struct pair *pair, int hour)
{
    struct grove_hour weather = {8 + 30 * random_even(&pair->random),
                                 20 + 60 * random_even(&pair->random),
                                 20 * random_even(&pair->random), true, true};
    double next_c;

    pair->mean_c = 0.98 * pair->mean_c + 0.8 * random_normal(&pair->random);
    next_c = pair->mean_c + 6 * sin(hour * acos(-1) / 12);
    grove_set_air(pair->grove, 0, pair->now_c, next_c);
    grove_pass_hour(pair->grove, &weather);
    for (int step = 0; step < STEPS; step++) {
        double air_c =
            pair->now_c + (next_c - pair->now_c) * (step + 0.5) / STEPS;

        stem_step(pair->stem, air_c, weather.stem_film_w_m2_k,
                  weather.absorbed_w_m2, 600);
        branch_step(&pair->branch, air_c, weather.branch_film_w_m2_k,
                    weather.absorbed_w_m2, 600);
    }
    pair->now_c = next_c;
}

static void compare(struct pair *pair)
{
    struct grove_tree tree = grove_tell(pair->grove, 0);
    double temp_off_k = fabs(tree.wood_temp_c -
                             stem_temp_c(pair->stem, NUMBERS.tap_depth_m / 2));
    double ice_off =
        fabs(tree.stem_ice - stem_ice(pair->stem, NUMBERS.tap_depth_m));

    assert_near(tree.branch_ice,
                wood_ice(&pair->numbers.wood, pair->branch.enthalpy_j_m3),
                1e-5);
    pair->temp_off_k += temp_off_k / HOURS;
    pair->ice_off += ice_off / HOURS;
    pair->most_temp_off_k = fmax(pair->most_temp_off_k, temp_off_k);
    pair->most_ice_off = fmax(pair->most_ice_off, ice_off);
}

static struct pair *run_pair(uint64_t seed, double frozen_w_m_k)
{
    struct pair *pair = begin(seed, frozen_w_m_k);

    for (int hour = 0; hour < HOURS; hour++) {
        pass_hour(pair, hour);
        compare(pair);
    }
    print_message("off by %.2g K and %.2g of the ice in the mean, at most "
                  "%.2g K and %.2g\n",
                  pair->temp_off_k, pair->ice_off, pair->most_temp_off_k,
                  pair->most_ice_off);
    return pair;
}

/* Where ice carries heat as the water did, faces stay as they are: what is
 * left is rounding. At the end of thawing it moves a shell's time by a little,
 * so that the most is more than the mean. */
static void rounding_is_small(void **state)
{
    struct pair *pair = run_pair(test_seed(), 0.4);

    (void)state;
    assert_true(pair->temp_off_k < 1e-4 && pair->ice_off < 1e-5);
    assert_true(pair->most_temp_off_k < 0.02 && pair->most_ice_off < 1e-3);
    end(pair);
}

/* With faces that keep their ice for the hour. */
static void faces_of_the_hour_are_near(void **state)
{
    struct pair *pair = run_pair(test_seed(), 0.5);

    (void)state;
    assert_true(pair->temp_off_k < 0.04 && pair->ice_off < 0.01);
    assert_true(pair->most_temp_off_k < 2 && pair->most_ice_off < 0.06);
    end(pair);
}

/* The hole ages as exp(-rate x warm degree-hours), far beyond any season. */
static void holes_age_as_told(void **state)
{
    struct grove *grove = grove_new(&NUMBERS, &GATHERING, 0, 10);
    struct grove_hour weather = {12, 30, 0, true, true};
    double warm_kh = 0;

    (void)state;
    for (int hour = 0; hour < 24 * 365; hour++) {
        double air_c = 4 + hour % 24;

        grove_set_air(grove, 0, air_c, air_c);
        grove_pass_hour(grove, &weather);
        warm_kh += (air_c - 4) / 1000;
        assert_near(grove_tell(grove, 0).taphole, exp(-0.95 * warm_kh), 1e-5);
    }
    grove_free(grove);
}

/* A thawed tree with nothing drawn in gives its store by hole and leak: what
 * is left after a time falls as exp(-rate t), whatever the rate. */
static void stores_run_out_as_told(void **state)
{
    static const double times_h[] = {0.02, 0.3, 4, 22, 400};

    (void)state;
    for (size_t i = 0; i < sizeof times_h / sizeof *times_h; i++) {
        struct stem_numbers numbers = NUMBERS;
        struct grove_hour weather = {12, 30, 0, true, false};
        double ran = 0, per_h = 1 / times_h[i], all_per_h;
        struct grove *grove;

        numbers.store_time_h = times_h[i];
        grove = grove_new(&numbers, &GATHERING, 0, 10);
        all_per_h = per_h + numbers.leak_per_h;
        for (int hour = 1; hour <= 48; hour++) {
            double left = exp(-all_per_h * hour);

            grove_set_air(grove, 0, 10, 10);
            grove_pass_hour(grove, &weather);
            ran += grove_ran(grove, 0);
            assert_near(grove_tell(grove, 0).store, 0.5 * left, 1e-5);
            assert_near(ran, 0.5 * (1 - left) * per_h / all_per_h, 1e-5);
        }
        grove_free(grove);
    }
}

static bool same_bits(struct grove_tree a, struct grove_tree b)
{
    return a.store == b.store && a.branch_ice == b.branch_ice &&
           a.stem_ice == b.stem_ice && a.wood_temp_c == b.wood_temp_c &&
           a.taphole == b.taphole;
}

/* Groves of `trees` in the air of so many, each beside its tree alone. */
static void expect_same_alone(enum grove_vectors vectors, int trees,
                              uint64_t seed)
{
    struct random random;
    struct grove *first = grove_new(&NUMBERS, &GATHERING, 0, -3);
    struct grove *beside = grove_multiply(first, vectors, trees);
    struct grove *alone[GROVE_MOST_LANES];
    double now_c[GROVE_MOST_LANES] = {0}, mean_c[GROVE_MOST_LANES] = {0};
    int lanes = grove_lanes(beside);

    assert_true(lanes <= GROVE_MOST_LANES);
    random_seed(&random, seed);
    for (int k = 0; k < lanes; k++)
        alone[k] = grove_copy(first);
    for (int hour = 0; hour < HOURS / 2; hour++) {
        struct grove_hour weather = {
            8 + 30 * random_even(&random), 20 + 60 * random_even(&random),
            20 * random_even(&random), hour % 5 > 0, hour > 48};

        for (int k = 0; k < lanes; k++) {
            double next_c;

            mean_c[k] = 0.98 * mean_c[k] + 0.8 * random_normal(&random);
            next_c = mean_c[k] + 6 * sin(hour * acos(-1) / 12);
            grove_set_air(beside, k, now_c[k], next_c);
            grove_set_air(alone[k], 0, now_c[k], next_c);
            grove_pass_hour(alone[k], &weather);
            now_c[k] = next_c;
        }
        grove_pass_hour(beside, &weather);
        for (int k = 0; k < lanes; k++) {
            assert_true(grove_ran(beside, k) == grove_ran(alone[k], 0));
            assert_true(
                same_bits(grove_tell(beside, k), grove_tell(alone[k], 0)));
        }
    }
    for (int k = 0; k < lanes; k++)
        grove_free(alone[k]);
    grove_free(beside);
    grove_free(first);
}

/* To the last bit, in each kind of vectors that this machine has, in one and
 * in two of them. */
static void beside_others_as_alone(void **state)
{
    uint64_t seed = test_seed();

    (void)state;
    for (int vectors = GROVE_PLAIN; vectors <= (int)grove_widest(); vectors++) {
        expect_same_alone((enum grove_vectors)vectors, 2, seed);
        expect_same_alone((enum grove_vectors)vectors, GROVE_MOST_LANES, seed);
    }
}

/* One vector where it holds them all, two where it does not. */
static void lanes_are_as_few_as_hold(void **state)
{
    struct grove *first = grove_new(&NUMBERS, &GATHERING, 0, -3);

    (void)state;
    for (int vectors = GROVE_PLAIN; vectors <= (int)grove_widest(); vectors++) {
        int one = 4 << vectors;

        for (int trees = 1; trees <= 3 * one; trees++) {
            struct grove *many =
                grove_multiply(first, (enum grove_vectors)vectors, trees);

            assert_int_equal(grove_lanes(many), trees > one ? 2 * one : one);
            grove_free(many);
        }
    }
    assert_int_equal(grove_lanes(first), 1);
    grove_free(first);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rounding_is_small),
        cmocka_unit_test(faces_of_the_hour_are_near),
        cmocka_unit_test(holes_age_as_told),
        cmocka_unit_test(stores_run_out_as_told),
        cmocka_unit_test(beside_others_as_alone),
        cmocka_unit_test(lanes_are_as_few_as_hold),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
