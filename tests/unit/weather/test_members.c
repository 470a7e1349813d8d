#include "unit_test.h"

#include <string.h>

#include "test_seed.h"
#include "weather/members.h"
#include "weather/random.h"

enum { START = 1772949600, HOURS = 300, NOW_H = 48 };
static const utc_s NOW = START + (utc_s)NOW_H * SECONDS_PER_HOUR;

static struct series *flat(double temp_c)
{
    struct series *series = series_new(START, HOURS);

    for (int hour = 0; hour < HOURS; hour++)
        series_set(series, AIR_TEMP_C, hour, temp_c, ORIGIN_FORECAST, 0);
    return series;
}

static double at(const struct members *members, int member, int hour)
{
    return members->air_temp_c[member * members->hours + hour];
}

/* Brooks and Doswell (1996): 3.80 F at 12-24 h; Myrick and Horel (2006):
 * about 3 K up to 48 h, above 4 K past 96 h; a whole degree F rounds with
 * 0.5556 / sqrt(12) K. */
static void spread_by_lead_as_published(void **state)
{
    (void)state;
    assert_near(members_error_sd_k(0), 0.5556 / sqrt(12.0), 0.001);
    assert_near(members_error_sd_k(-5), members_error_sd_k(0), 0);
    assert_near(members_error_sd_k(18), 3.80 / 1.8, 0.02);
    assert_near(members_error_sd_k(48), 3.0, 1e-9);
    assert_true(members_error_sd_k(97) > 4.0);
    assert_near(members_error_sd_k(1000), 5.0, 1e-9);
    for (int lead = 0; lead < 400; lead++)
        assert_true(members_error_sd_k(lead + 1) >= members_error_sd_k(lead));
}

static void before_now_all_are_the_series(void **state)
{
    struct series *series = flat(1.5);
    struct members *members = members_from_error_growth(series, NOW, 20, 7);

    (void)state;
    assert_int_equal(members->count, 20);
    assert_int_equal(members->hours, HOURS);
    for (int member = 0; member < 20; member++)
        for (int hour = 0; hour < NOW_H; hour++)
            assert_near(at(members, member, hour), 1.5, 0);
    for (int hour = 0; hour < HOURS; hour++)
        assert_near(at(members, 0, hour), 1.5, 0); /* the control */
    assert_true(fabs(at(members, 1, NOW_H) - 1.5) > 0);
    members_free(members);
    series_free(series);
}

static void members_come_in_opposite_pairs(void **state)
{
    struct series *series = flat(1.5);
    struct members *members = members_from_error_growth(series, NOW, 6, 7);

    (void)state;
    for (int hour = NOW_H; hour < HOURS; hour++) {
        assert_near(at(members, 1, hour) + at(members, 2, hour), 3, 1e-9);
        assert_near(at(members, 3, hour) + at(members, 4, hour), 3, 1e-9);
    }
    assert_true(fabs(at(members, 1, 100) - at(members, 3, 100)) > 1e-6);
    assert_true(fabs(at(members, 5, 100) - 1.5) > 1e-6);
    members_free(members);
    series_free(series);
}

/* Standard deviation over many members at a lead. */
static double sd_over(const struct members *members, int hour)
{
    double sum = 0, squares = 0;

    for (int member = 1; member < members->count; member++) {
        sum += at(members, member, hour);
        squares += at(members, member, hour) * at(members, member, hour);
    }
    sum /= members->count - 1;
    return sqrt(squares / (members->count - 1) - sum * sum);
}

static void spread_grows_as_told(void **state)
{
    struct series *series = flat(0);
    struct members *members = members_from_error_growth(series, NOW, 4001, 3);
    const int leads_h[] = {0, 6, 18, 48, 96, 240};

    (void)state;
    for (size_t i = 0; i < sizeof leads_h / sizeof *leads_h; i++) {
        double told = members_error_sd_k(leads_h[i]);

        assert_near(sd_over(members, NOW_H + leads_h[i]), told, 0.05 * told);
    }
    members_free(members);
    series_free(series);
}

/* A day apart the errors keep 1/e of each other, an hour apart nearly all. */
static void errors_last_for_a_day(void **state)
{
    struct series *series = flat(0);
    struct members *members = members_from_error_growth(series, NOW, 4001, 9);
    double with_day = 0, with_hour = 0, own = 0;

    (void)state;
    for (int member = 1; member < members->count; member++) {
        double error = at(members, member, 200) / members_error_sd_k(152);

        own += error * error;
        with_hour += error * at(members, member, 201) / members_error_sd_k(153);
        with_day += error * at(members, member, 224) / members_error_sd_k(176);
    }
    assert_near(with_hour / own, exp(-1.0 / 24.0), 0.02);
    assert_near(with_day / own, exp(-1.0), 0.05);
    members_free(members);
    series_free(series);
}

/* Six hours on, with the forecast unchanged, a member has kept its course: the
 * error of an hour is smaller with the shorter lead, and no other. */
static void a_member_keeps_its_course_as_time_goes_on(void **state)
{
    struct series *series = flat(0);
    utc_s later = NOW + 6 * SECONDS_PER_HOUR;
    struct members *one = members_from_error_growth(series, NOW, 3, 11);
    struct members *two = members_from_error_growth(series, later, 3, 11);

    (void)state;
    for (int hour = NOW_H + 6; hour < HOURS; hour++)
        assert_near(at(one, 1, hour) / members_error_sd_k(hour - NOW_H),
                    at(two, 1, hour) / members_error_sd_k(hour - NOW_H - 6),
                    0.05);
    members_free(one);
    members_free(two);
    series_free(series);
}

static void same_seed_same_bytes(void **state)
{
    struct series *series = flat(-2);
    struct members *one = members_from_error_growth(series, NOW, 51, 11);
    struct members *same = members_from_error_growth(series, NOW, 51, 11);
    struct members *other = members_from_error_growth(series, NOW, 51, 12);
    size_t size = (size_t)(51 * HOURS) * sizeof(double);

    (void)state;
    assert_memory_equal(one->air_temp_c, same->air_temp_c, size);
    assert_true(memcmp(one->air_temp_c, other->air_temp_c, size) != 0);
    members_free(one);
    members_free(same);
    members_free(other);
    series_free(series);
}

static void a_gap_is_held_and_few_are_enough(void **state)
{
    struct series *series = flat(-2);
    struct members *members;

    (void)state;
    for (int hour = 0; hour < 10; hour++)
        series_clear(series, AIR_TEMP_C, hour);
    series_set(series, AIR_TEMP_C, 19, 4, ORIGIN_FORECAST, 0);
    series_clear(series, AIR_TEMP_C, 20);
    members = members_from_error_growth(series, NOW, 0, 1);
    assert_int_equal(members->count, 1);
    assert_near(at(members, 0, 0), -2, 0);
    assert_near(at(members, 0, 20), 4, 0);
    assert_near(at(members, 0, 21), -2, 0);
    members_free(members);
    series_free(series);
}

/* An ensemble from START + 24 h on, 100 h long, member i at 10 + i K. */
static struct members *ensemble_of(int count)
{
    struct members *ensemble =
        members_new(START + 24 * SECONDS_PER_HOUR, 100, count);

    for (int member = 0; member < count; member++)
        for (int hour = 0; hour < 100; hour++)
            ensemble->air_temp_c[member * 100 + hour] = 10 + member;
    return ensemble;
}

static void an_ensemble_keeps_the_merged_level(void **state)
{
    struct series *series = flat(-3);
    struct members *ensemble = ensemble_of(5); /* mean 12, -2 to 2 about it */
    struct members *members = members_around(ensemble, series, NOW, 1);

    (void)state;
    assert_non_null(members);
    assert_int_equal(members->count, 5);
    assert_int_equal(members->start, START);
    for (int member = 0; member < 5; member++) {
        assert_near(at(members, member, NOW_H - 1), -3, 0);
        assert_near(at(members, member, NOW_H), -5 + member, 1e-9);
        assert_near(at(members, member, 123), -5 + member, 1e-9);
    }
    members_free(members);
    members_free(ensemble);
    series_free(series);
}

static void past_its_reach_the_spread_goes_on_growing(void **state)
{
    struct series *series = flat(0);
    struct members *ensemble = ensemble_of(51);
    struct members *members;
    double last_sd, grown;

    (void)state;
    for (int i = 0; i < 51 * 100; i++)
        ensemble->air_temp_c[i] = (i / 100 - 25) * 0.1; /* sd 1.49 K */
    members = members_around(ensemble, series, NOW, 1);
    last_sd = sd_over(members, 123);
    grown = members_error_sd_k(250) - members_error_sd_k(75);
    assert_near(last_sd, 1.47, 0.05);
    /* No jump at the seam, then toward the larger spread. */
    for (int member = 0; member < 51; member++)
        assert_near(at(members, member, 124), at(members, member, 123), 1.6);
    assert_near(sd_over(members, 298), last_sd + grown,
                0.4 * (last_sd + grown));
    assert_true(sd_over(members, 298) > 1.3 * last_sd);
    members_free(members);
    members_free(ensemble);
    series_free(series);
}

static void members_with_gaps_are_dropped(void **state)
{
    struct series *series = flat(0);
    struct members *ensemble = ensemble_of(6);
    struct members *members;

    (void)state;
    ensemble->air_temp_c[2 * 100 + 10] = (double)NAN; /* before now: no use */
    ensemble->air_temp_c[3 * 100 + 50] = (double)NAN;
    members = members_around(ensemble, series, NOW, 1);
    assert_int_equal(members->count, 5);
    /* Members 0, 1, 2, 4, 5: mean 12.4. */
    assert_near(at(members, 3, NOW_H), 14 - 12.4, 1e-9);
    members_free(members);
    ensemble->air_temp_c[1 * 100 + 99] = (double)NAN;
    assert_null(members_around(ensemble, series, NOW, 1));
    members_free(ensemble);
    series_free(series);
}

static void an_ensemble_of_the_past_is_of_no_use(void **state)
{
    struct series *series = flat(0);
    struct members *ensemble = ensemble_of(30);

    (void)state;
    assert_null(
        members_around(ensemble, series, START + 124 * SECONDS_PER_HOUR, 1));
    ensemble->start = START + 1000 * SECONDS_PER_HOUR;
    assert_null(members_around(ensemble, series, NOW, 1));
    ensemble->start = START - 1000 * SECONDS_PER_HOUR;
    assert_null(members_around(ensemble, series, NOW, 1));
    members_free(ensemble);
    series_free(series);
}

/* An ensemble laid anywhere about the series: nothing is read or written
 * outside (sanitizers look), all stays finite, the past stays the series. */
static void any_overlap_is_safe(void **state)
{
    struct series *series = flat(1);
    struct random random;

    (void)state;
    random_seed(&random, test_seed());
    for (int round = 0; round < 300; round++) {
        struct members *ensemble = ensemble_of(5);
        utc_s now = START + (utc_s)(random_even(&random) * 4e6) - 1500000;
        struct members *members;

        ensemble->start = START + (utc_s)(random_even(&random) * 900 - 450) *
                                      SECONDS_PER_HOUR;
        members = members_around(ensemble, series, now, 5);
        for (int i = 0; members && i < 5 * HOURS; i++) {
            assert_true(isfinite(members->air_temp_c[i]));
            if (START + (utc_s)(i % HOURS) * SECONDS_PER_HOUR < now)
                assert_near(members->air_temp_c[i], 1, 0);
        }
        members_free(members);
        members_free(ensemble);
    }
    series_free(series);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spread_by_lead_as_published),
        cmocka_unit_test(before_now_all_are_the_series),
        cmocka_unit_test(members_come_in_opposite_pairs),
        cmocka_unit_test(spread_grows_as_told),
        cmocka_unit_test(errors_last_for_a_day),
        cmocka_unit_test(a_member_keeps_its_course_as_time_goes_on),
        cmocka_unit_test(same_seed_same_bytes),
        cmocka_unit_test(a_gap_is_held_and_few_are_enough),
        cmocka_unit_test(an_ensemble_keeps_the_merged_level),
        cmocka_unit_test(past_its_reach_the_spread_goes_on_growing),
        cmocka_unit_test(members_with_gaps_are_dropped),
        cmocka_unit_test(an_ensemble_of_the_past_is_of_no_use),
        cmocka_unit_test(any_overlap_is_safe),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
