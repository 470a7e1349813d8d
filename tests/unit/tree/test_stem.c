/* What must hold of the model in use whatever the weather. */
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "test_seed.h"
#include "tree/form.h"
#include "tree_hours.h"
#include "unit_test.h"

enum { HOURS = 24 * 90, ROUNDS = 20 };

struct weather {
    double air[HOURS], sun[HOURS], wind[HOURS];
    bool known[HOURS];
    struct forcing forcing;
};

static struct weather weather; /* scratch of one test at a time */
static struct tree_hour hours[HOURS];

static double uniform(uint64_t *state)
{
    *state =
        *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*state >> 11) / 9007199254740992.0;
}

/* Invented weather: days whose mean and swing wander, with gaps. */
static void make_weather(uint64_t *seed, double mean_c)
{
    const double turn = 2 * 3.14159265358979323846;
    double drift_c = 0, swing_c = 5;
    memset(&weather, 0, sizeof weather);
    for (int hour = 0; hour < HOURS; hour++) {
        if (hour % 24 == 0) {
            drift_c = 0.8 * drift_c + 8 * (uniform(seed) - 0.5);
            swing_c = 1 + 9 * uniform(seed);
        }
        double wave = -cos(turn * (hour % 24 - 4) / 24);
        weather.air[hour] =
            mean_c + drift_c + swing_c * wave + uniform(seed) - 0.5;
        weather.sun[hour] = fmax(wave, 0) * 800 * uniform(seed);
        weather.wind[hour] = 8 * uniform(seed);
        weather.known[hour] = uniform(seed) > 0.01;
    }
    weather.forcing = (struct forcing){.start = 1772323200,
                                       .hours = HOURS,
                                       .air_temp_c = weather.air,
                                       .shortwave_w_m2 = weather.sun,
                                       .wind_m_s = weather.wind,
                                       .known = weather.known};
}

static struct tree_model *model_of(enum gathering gathering)
{
    struct tree_model *model = NULL;
    struct error err;
    if (tree_model_load(PROJECT_DIR "/models", SPECIES_SUGAR_MAPLE, gathering,
                        &model, &err) != 0)
        fail_msg("%s", err.text);
    assert_string_equal(tree_model_name(model), "stem");
    return model;
}

static double run(const struct tree_model *model, const struct tree_site *site)
{
    tree_run(model, site, &weather.forcing, hours);
    return sound_sap_l(hours, 0, HOURS);
}

/* 0.5 K is more than the sun can warm the bark by. */
static void no_run_before_any_thaw(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    struct tree_model *model = model_of(GATHERING_BUCKETS);
    struct tree_site site = {.gathering = GATHERING_BUCKETS};
    int checked = 0;
    for (int round = 0; round < ROUNDS; round++) {
        make_weather(&seed, -12 + 8 * uniform(&seed));
        for (int hour = 0; hour < 48; hour++)
            weather.air[hour] = fmin(weather.air[hour], -2);
        run(model, &site);
        for (int hour = 0; hour + 1 < HOURS && weather.air[hour + 1] < -0.5;
             hour++, checked++)
            assert_near(hours[hour].sap_l_per_tap, 0, 0);
    }
    assert_true(checked > 40 * ROUNDS);
    tree_model_free(model);
}

/* A thousandth of a litre: within the hour a little may have thawed. */
static void no_run_while_the_wood_is_frozen(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    struct tree_model *model = model_of(GATHERING_BUCKETS);
    struct tree_site site = {.gathering = GATHERING_BUCKETS};
    int frozen = 0, thawed = 0;
    for (int round = 0; round < ROUNDS; round++) {
        make_weather(&seed, 6 * uniform(&seed) - 4);
        run(model, &site);
        for (int hour = 1; hour < HOURS; hour++) {
            bool both =
                (hours[hour].branch_ice >= 1 &&
                 hours[hour - 1].branch_ice >= 1) ||
                (hours[hour].trunk_ice >= 1 && hours[hour - 1].trunk_ice >= 1);
            if (both)
                assert_near(hours[hour].sap_l_per_tap, 0, 1e-3);
            frozen += both;
            thawed += hours[hour].sap_l_per_tap > 0.01;
        }
    }
    assert_true(frozen > 100 && thawed > 100);
    tree_model_free(model);
}

/* At most what was in the store at first and what frost has drawn in. */
static void no_more_runs_than_was_drawn_in(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    struct tree_model *model = model_of(GATHERING_BUCKETS);
    struct tree_site site = {.gathering = GATHERING_BUCKETS};
    /* A full store: all the sap of a tree that thaws for good. */
    double full_l = 11.5;
    for (int round = 0; round < ROUNDS; round++) {
        make_weather(&seed, 6 * uniform(&seed) - 3);
        tree_run(model, &site, &weather.forcing, hours);
        double ran_l = 0, drawn = 0.5 + 0.02;
        for (int hour = 0; hour < HOURS; hour++) {
            const struct tree_hour *before = &hours[hour ? hour - 1 : 0];
            double branch = hours[hour].branch_ice - before->branch_ice;
            double stem = hours[hour].trunk_ice - before->trunk_ice;
            ran_l += hours[hour].sap_l_per_tap;
            drawn += fmax(branch, 0) * 0.92 + fmax(stem, 0) * 0.08;
            assert_true(ran_l <= full_l * drawn * 1.01);
        }
    }
    tree_model_free(model);
}

static void more_vacuum_is_never_less_sap(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    struct tree_model *model = model_of(GATHERING_VACUUM);
    for (int round = 0; round < ROUNDS; round++) {
        double before_l = -1;
        make_weather(&seed, 8 * uniform(&seed) - 3);
        for (double kpa = 0; kpa <= 80; kpa += 10) {
            struct tree_site site = {.gathering = GATHERING_VACUUM,
                                     .vacuum_kpa = kpa};
            double sum_l = run(model, &site);
            assert_true(sum_l >= before_l);
            before_l = sum_l;
        }
    }
    tree_model_free(model);
}

/* A week of thaw, a night at one temperature, thaw. */
static double most_charge(const struct tree_model *model, double night_c,
                          int night_hours, double day_c)
{
    struct tree_site site = {.gathering = GATHERING_BUCKETS};
    double most = 0;
    for (int hour = 0; hour < HOURS; hour++) {
        bool night = hour >= 168 && hour < 168 + night_hours;
        weather.air[hour] = night ? night_c : day_c;
    }
    run(model, &site);
    for (int hour = 168; hour < HOURS; hour++)
        most = fmax(most, hours[hour].charge);
    return most;
}

/* Within a thousandth: the full store leaks, and is seen by the hour. */
static void colder_is_never_less_recharge(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    struct tree_model *model = model_of(GATHERING_BUCKETS);
    make_weather(&seed, 0);
    for (int round = 0; round < ROUNDS; round++) {
        int night_hours = 2 + (int)(20 * uniform(&seed));
        double day_c = 0.5 + 5 * uniform(&seed), before = 0;
        for (double night_c = 0; night_c >= -24; night_c -= 1.5) {
            double charge = most_charge(model, night_c, night_hours, day_c);
            assert_true(charge >= before - 1e-3);
            before = charge;
        }
        assert_true(before > 0.3);
    }
    tree_model_free(model);
}

static void other_days_are_the_same_weather(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    static struct tree_hour shifted[HOURS];
    struct tree_model *model = model_of(GATHERING_BUCKETS);
    for (int round = 0; round < ROUNDS; round++) {
        utc_s days = (utc_s)(4000 * uniform(&seed)) * SECONDS_PER_DAY;
        make_weather(&seed, 6 * uniform(&seed) - 3);
        struct tree_site site = {.gathering = GATHERING_BUCKETS,
                                 .tapped = true,
                                 .tapped_at =
                                     weather.forcing.start + 30 * 86400};
        run(model, &site);
        memcpy(shifted, hours, sizeof hours);
        weather.forcing.start += days;
        site.tapped_at += days;
        run(model, &site);
        for (int hour = 0; hour < HOURS; hour++) {
            assert_near(hours[hour].sap_l_per_tap, shifted[hour].sap_l_per_tap,
                        0);
            assert_near(hours[hour].taphole, shifted[hour].taphole, 0);
        }
        for (int hour = 0; hour < 30 * 24; hour++)
            assert_near(hours[hour].sap_l_per_tap, 0, 0); /* not tapped yet */
    }
    tree_model_free(model);
}

/* A season and its 50 members within 2 s of one core (sanitizers: more). */
static void members_are_quick(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    struct tree_model *model = model_of(GATHERING_BUCKETS);
    struct tree_site site = {.gathering = GATHERING_BUCKETS};
    make_weather(&seed, 0);
    clock_t start = clock();
    for (int member = 0; member < 50; member++)
        run(model, &site);
    double took_s = (double)(clock() - start) / CLOCKS_PER_SEC;
    tree_model_free(model);
    printf("50 members of 90 days: %.2f s\n", took_s);
#if !defined(__SANITIZE_ADDRESS__) && defined(__OPTIMIZE__)
    /* Set by contrib/valgrind.sh, under which all is slow. */
    if (getenv("THAWBELL_SLOW") == NULL)
        assert_true(took_s < 2);
#endif
}

static void buckets_run_over(void **state)
{
    (void)state;
    struct tree_model *model = model_of(GATHERING_BUCKETS);
    double before_l = 0;
    assert_near(tree_kept_l_per_tap(model, 7, 0), 7, 0);
    assert_near(tree_kept_l_per_tap(model, 0, 12), 0, 0);
    assert_near(tree_kept_l_per_tap(model, 0.5, 12), 0.5, 1e-3);
    for (double ran_l = 0.25; ran_l < 100; ran_l += 0.25) {
        double kept_l = tree_kept_l_per_tap(model, ran_l, 12);
        assert_true(kept_l > before_l && kept_l <= fmin(ran_l, 12));
        before_l = kept_l;
    }
    /* The mean of min(x, 12), x lognormal of mean 12 and spread 0.6: 24 times
     * the normal distribution below -0.3, 0.38209 (Abramowitz and Stegun,
     * table 26.1). */
    assert_near(tree_kept_l_per_tap(model, 12, 12), 24 * 0.38209, 1e-3);
    model->gathering.tap_spread = 0;
    assert_near(tree_kept_l_per_tap(model, 20, 12), 12, 0);
    tree_model_free(model);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_run_before_any_thaw),
        cmocka_unit_test(no_run_while_the_wood_is_frozen),
        cmocka_unit_test(no_more_runs_than_was_drawn_in),
        cmocka_unit_test(more_vacuum_is_never_less_sap),
        cmocka_unit_test(colder_is_never_less_recharge),
        cmocka_unit_test(other_days_are_the_same_weather),
        cmocka_unit_test(members_are_quick),
        cmocka_unit_test(buckets_run_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
