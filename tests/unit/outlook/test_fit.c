/* Fitting a bush's own numbers: on logs made by the model itself, where the
 * right numbers are known. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "outlook/fit.h"
#include "test_seed.h"
#include "weather/random.h"

enum { START = 1771304400, HOURS = 24 * 80, TAPPED = 24 * 20 };

static const struct fit_bounds bounds[TREE_NUMBER_COUNT] = {
    {0.05, 5}, {1, 200}, {0, 20}};

struct bench {
    struct tree_model *model;
    struct series *series;
    struct fit_data data;
    struct fit_row rows[FIT_MAX_ROWS];
    struct tree_hour hours[HOURS];
};

/* Frost by night, thaw by day, weeks that wander. Invented. */
static struct series *invent(struct random *random)
{
    struct series *series = series_new(START, HOURS);
    struct series_source source = {.name = "invented"};
    int number = series_add_source(series, &source);
    double level_c = 0;

    for (int hour = 0; hour < HOURS; hour++) {
        if (hour % 24 == 0)
            level_c = 0.75 * level_c + 3 * random_normal(random);
        series_set(series, AIR_TEMP_C, hour,
                   level_c + hour / 300.0 - 2 +
                       6 * cos((hour % 24 - 15) * acos(-1) / 12),
                   ORIGIN_OBSERVED, number);
    }
    return series;
}

static void lay_out(struct bench *bench, uint64_t seed)
{
    struct error err = {""};
    struct random random;

    memset(bench, 0, sizeof *bench);
    random_seed(&random, seed);
    bench->series = invent(&random);
    if (tree_model_load(NULL, SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS,
                        &bench->model, &err) != 0)
        fail_msg("%s", err.text);
    bench->data = (struct fit_data){.series = bench->series,
                                    .site = {.latitude = 45, .longitude = -72},
                                    .taps = 100,
                                    .rows = bench->rows,
                                    .season_count = 1};
    bench->data.tapped_at[0] = START + TAPPED * SECONDS_PER_HOUR;
}

/* Collections each day, as a bush with these numbers beside the model's would
 * have given; `noise` is the deviation of the logarithm. */
static void collect(struct bench *bench, const double beside[TREE_NUMBER_COUNT],
                    double noise, uint64_t seed)
{
    struct tree_site site = bench->data.site;
    struct forcing *forcing = forcing_from_series(bench->series, 45, -72);
    double prior[TREE_NUMBER_COUNT];
    struct random random;

    random_seed(&random, seed + 1);
    for (int i = 0; i < TREE_NUMBER_COUNT; i++) {
        prior[i] = tree_model_number(bench->model, (enum tree_number)i);
        tree_model_set_number(bench->model, (enum tree_number)i,
                              prior[i] * beside[i]);
    }
    site.tapped = true;
    site.tapped_at = bench->data.tapped_at[0];
    tree_run(bench->model, &site, forcing, bench->hours);
    for (int day = TAPPED / 24; day + 1 < HOURS / 24; day++) {
        struct fit_row *row = &bench->rows[bench->data.row_count++];

        row->from = START + (utc_s)day * SECONDS_PER_DAY;
        row->to = row->from + SECONDS_PER_DAY;
        for (int hour = day * 24; hour < (day + 1) * 24; hour++)
            row->sap_l += bench->hours[hour].sap_l_per_tap * 100;
        row->sap_l *= exp(noise * random_normal(&random));
    }
    for (int i = 0; i < TREE_NUMBER_COUNT; i++)
        tree_model_set_number(bench->model, (enum tree_number)i, prior[i]);
    forcing_free(forcing);
}

/* Weather of a season, and a log of it. */
static void bench_open(struct bench *bench,
                       const double beside[TREE_NUMBER_COUNT], double noise,
                       uint64_t seed)
{
    lay_out(bench, seed);
    collect(bench, beside, noise, seed);
}

static void bench_close(struct bench *bench)
{
    tree_model_free(bench->model);
    series_free(bench->series);
}

static void known_numbers_are_found(void **state)
{
    static const double beside[TREE_NUMBER_COUNT] = {1.6, 0.75, 1.6};
    static struct bench bench;
    struct fit fit;

    (void)state;
    bench_open(&bench, beside, 0.1, test_seed());
    fit_make(bench.model, &bench.data, bounds, &fit);
    assert_true(fit.enough);
    assert_int_equal(fit.left_out, 0);
    for (int i = 0; i < TREE_NUMBER_COUNT; i++) {
        const struct fit_number *number = &fit.numbers[i];
        double off = log(number->value / number->prior / beside[i]);

        /* The priors pull a little; 3 deviations and a tenth. */
        if (fabs(off) > 0.1 + 3 * number->log_sd)
            fail_msg("number %d: %g beside, not %g", i,
                     number->value / number->prior, beside[i]);
        assert_true(fabs(off) < fabs(log(beside[i])));
        assert_true(number->log_sd < number->prior_log_sd);
        assert_true(number->own_weight > 0.3 && number->own_weight < 1);
    }
    /* One season says no more of the volume than seasons are alike. */
    assert_true(fit.numbers[TREE_VOLUME_SHARE].log_sd >
                0.9 * FIT_SEASON_LOG_SD);
    assert_true(fit.after.mae_l < 0.7 * fit.before.mae_l);
    assert_true(fit.has_cross);
    assert_true(fit.cross.mae_l < 0.8 * fit.before.mae_l);
    bench_close(&bench);
}

static void a_log_like_the_model_moves_nothing(void **state)
{
    static const double beside[TREE_NUMBER_COUNT] = {1, 1, 1};
    static struct bench bench;
    struct fit fit;

    (void)state;
    bench_open(&bench, beside, 0, test_seed());
    fit_make(bench.model, &bench.data, bounds, &fit);
    for (int i = 0; i < TREE_NUMBER_COUNT; i++)
        assert_near(fit.numbers[i].value / fit.numbers[i].prior, 1, 1e-3);
    bench_close(&bench);
}

static void without_a_log_all_is_the_prior(void **state)
{
    static const double beside[TREE_NUMBER_COUNT] = {3, 0.5, 2};
    static struct bench bench;
    struct fit fit;

    (void)state;
    bench_open(&bench, beside, 0, test_seed());
    for (int rows = 0; rows < FIT_LEAST_ROWS; rows += FIT_LEAST_ROWS - 1) {
        bench.data.row_count = rows;
        fit_make(bench.model, &bench.data, bounds, &fit);
        assert_false(fit.enough);
        assert_false(fit.has_cross);
        assert_int_equal(fit.rows, rows);
        for (int i = 0; i < TREE_NUMBER_COUNT; i++) {
            assert_near(fit.numbers[i].value, fit.numbers[i].prior, 0);
            assert_near(fit.numbers[i].log_sd, fit.numbers[i].prior_log_sd, 0);
            assert_near(fit.numbers[i].own_weight, 0, 0);
        }
    }
    bench_close(&bench);
}

/* The same twice, and the model as it was. */
static void it_is_deterministic(void **state)
{
    static const double beside[TREE_NUMBER_COUNT] = {0.6, 1.3, 0.7};
    double before[TREE_NUMBER_COUNT];
    static struct bench bench;
    struct fit one, two;

    (void)state;
    bench_open(&bench, beside, 0.3, test_seed());
    for (int i = 0; i < TREE_NUMBER_COUNT; i++)
        before[i] = tree_model_number(bench.model, (enum tree_number)i);
    fit_make(bench.model, &bench.data, bounds, &one);
    fit_make(bench.model, &bench.data, bounds, &two);
    for (int i = 0; i < TREE_NUMBER_COUNT; i++) {
        assert_near(one.numbers[i].value, two.numbers[i].value, 0);
        assert_near(one.numbers[i].log_sd, two.numbers[i].log_sd, 0);
        assert_near(tree_model_number(bench.model, (enum tree_number)i),
                    before[i], 0);
    }
    assert_near(one.cross.mae_l, two.cross.mae_l, 0);
    bench_close(&bench);
}

/* More rows, more trust; and never out of the bounds. */
static void trust_grows_with_the_log(void **state)
{
    static const double beside[TREE_NUMBER_COUNT] = {1, 0.7, 1};
    static const struct fit_bounds narrow[TREE_NUMBER_COUNT] = {
        {0.9, 1.1}, {20, 25}, {0.9, 1}};
    static struct bench bench;
    struct fit few, many, held;

    (void)state;
    bench_open(&bench, beside, 0.2, test_seed());
    fit_make(bench.model, &bench.data, bounds, &many);
    fit_make(bench.model, &bench.data, narrow, &held);
    bench.data.row_count = 12;
    fit_make(bench.model, &bench.data, bounds, &few);
    for (int i = 0; i < TREE_NUMBER_COUNT; i++) {
        assert_true(few.numbers[i].own_weight <= many.numbers[i].own_weight);
        assert_true(held.numbers[i].value >= narrow[i].min - 1e-9);
        assert_true(held.numbers[i].value <= narrow[i].max + 1e-9);
    }
    bench_close(&bench);
}

/* A collection in a gap of the weather is left out. */
static void rows_without_weather_are_left_out(void **state)
{
    static const double beside[TREE_NUMBER_COUNT] = {1, 1, 1};
    static struct bench bench;
    struct fit fit;

    (void)state;
    bench_open(&bench, beside, 0, 3);
    for (int hour = TAPPED + 48; hour < TAPPED + 60; hour++)
        series_clear(bench.series, AIR_TEMP_C, hour);
    bench.rows[5].to = bench.rows[5].from;
    fit_make(bench.model, &bench.data, bounds, &fit);
    assert_int_equal(fit.left_out, 2);
    assert_int_equal(fit.rows, bench.data.row_count - 2);
    bench_close(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_numbers_are_found),
        cmocka_unit_test(a_log_like_the_model_moves_nothing),
        cmocka_unit_test(without_a_log_all_is_the_prior),
        cmocka_unit_test(it_is_deterministic),
        cmocka_unit_test(trust_grows_with_the_log),
        cmocka_unit_test(rows_without_weather_are_left_out),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
