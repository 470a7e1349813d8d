#include "unit_test.h"

#include <stdlib.h>

#include "base/memory.h"
#include "fake_tree.h"
#include "outlook/flow.h"
#include "outlook/outlook.h"
#include "test_seed.h"
#include "weather/random.h"

/* From 2026-03-05T05:00Z, midnight in the zone of Tamarack Bend (the
 * project's invented operation), over the change of 8 March. */
enum { START = 1772686800, HOURS = 24 * 8 };
static const struct civil_date MARCH_6 = {2026, 3, 6};
static const struct civil_date MARCH_8 = {2026, 3, 8};

struct scene {
    struct zone *zone;
    struct tree_site site;
    struct tree_model model;
    struct series *series;
    struct members *members; /* NULL: the series alone */
    struct outlook *outlook; /* the last one made */
};

static int set_up(void **state)
{
    struct scene *scene = mem_alloc(1, sizeof *scene);
    struct error err = {""};

    scene->zone = zone_open("America/New_York", &err);
    if (!scene->zone)
        fail_msg("%s", err.text);
    scene->site.latitude = 45.06;
    scene->site.longitude = -71.90;
    scene->site.elevation_m = 450;
    scene->site.gathering = GATHERING_BUCKETS;
    scene->series = series_new(START, HOURS);
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;

    outlook_free(scene->outlook);
    members_free(scene->members);
    series_free(scene->series);
    zone_free(scene->zone);
    free(scene);
    return 0;
}

/* In the place of the eight days. */
static void use_series(struct scene *scene, struct series *series)
{
    series_free(scene->series);
    scene->series = series;
}

static void use_members(struct scene *scene, struct members *members)
{
    members_free(scene->members);
    scene->members = members;
}

static void set_hours(struct scene *scene, int from, int to, double temp_c)
{
    for (int hour = from; hour < to; hour++)
        series_set(scene->series, AIR_TEMP_C, hour, temp_c, ORIGIN_FORECAST, 0);
}

static void clear_hours(struct scene *scene, int from, int to)
{
    for (int hour = from; hour < to; hour++)
        series_clear(scene->series, AIR_TEMP_C, hour);
}

/* Of the scene, until the next. */
static const struct outlook *make(struct scene *scene, utc_s now,
                                  struct civil_date first, int days)
{
    outlook_free(scene->outlook);
    scene->outlook =
        outlook_make(&scene->model, &scene->site, scene->zone, scene->series,
                     scene->members, NULL, 0, now, first, days);
    return scene->outlook;
}

static void a_day_is_scored_by_hand(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;
    const struct outlook_day *day;

    set_hours(scene, 0, HOURS, -2);
    set_hours(scene, 34, 42, 4); /* 6 March, 10:00 to 18:00 */
    outlook = make(scene, START, MARCH_6, 1);
    day = &outlook->days[0];
    assert_true(day->known);
    assert_int_equal(day->day_hours, 24);
    assert_int_equal(day->known_hours, 24);
    assert_near(day->sap_l_per_tap_p50, 8 * 0.2, 1e-9);
    assert_near(day->sap_l_per_tap_p10, day->sap_l_per_tap_p90, 0);
    assert_near(day->chance, 1, 0);
    assert_int_equal(day->strength, STRENGTH_FAIR_RUN);
    assert_true(day->has_window);
    assert_int_equal(day->run_start, START + 34 * 3600);
    assert_int_equal(day->run_end, START + 42 * 3600);
    assert_int_equal(day->run_peak, START + 34 * 3600);
    assert_int_equal(outlook->member_count, 1);
    assert_int_equal(outlook->start, START);
    assert_int_equal(outlook->hours, HOURS);
    assert_near(outlook->sap_l_per_tap[34], 0.2, 1e-9);
    assert_string_equal(outlook->model_name, "fake");
    assert_string_equal(outlook->model_version, "1/2/3");
    assert_string_equal(outlook->model_digest, "abc");
}

static void the_drivers_are_told(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;
    const struct outlook_day *day;

    set_hours(scene, 0, HOURS, -2);
    set_hours(scene, 34, 42, 4);
    outlook = make(scene, START, MARCH_6, 1);
    day = &outlook->days[0];
    assert_near(day->min_c, -2, 0);
    assert_near(day->max_c, 4, 0);
    assert_near(day->mean_c, 0, 1e-9);
    /* Noon to noon: 24 h less 10:00 and 11:00. */
    assert_near(day->freeze_degree_hours, 22 * 2, 1e-9);
    assert_near(day->thaw_degree_hours, 8 * 4, 1e-9);
    /* The store is full after 20 h of frost; before noon it loses. */
    assert_near(day->charge, 1, 1e-6);
    assert_near(day->recharge, 1 - 0.65, 1e-6);
    assert_near(day->branch_ice_max, 1, 0);
    assert_near(day->trunk_ice_max, 0.25, 0);
    assert_near(day->wood_min_c, -1, 0);
    assert_near(day->wood_max_c, 2, 0);
    assert_near(day->taphole, 1 - 0.047, 1e-6);
    assert_near(day->rule_a_l_per_tap, 3, 0);
    assert_near(day->rule_b_l_per_tap, 6, 0);
    assert_false(day->has_spread);
    assert_false(day->past);
}

/* A thaw at every hour of the day gives the day its hours: 23 on 8 March. */
static void the_day_of_23_hours(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;
    const struct outlook_day *day;

    set_hours(scene, 0, HOURS, 2);
    outlook = make(scene, START, MARCH_6, 4);
    day = &outlook->days[2];
    assert_int_equal(civil_date_compare(day->date, MARCH_8), 0);
    assert_int_equal(day->day_hours, 23);
    assert_int_equal(day->known_hours, 23);
    assert_near(day->sap_l_per_tap_p50, 23 * 0.1, 1e-9);
    assert_near(day->thaw_degree_hours, 46, 1e-9);
    /* 2026-03-08T05:00Z to 2026-03-09T04:00Z */
    assert_int_equal(day->run_start, 1772946000);
    assert_int_equal(day->run_end, 1773028800);
    assert_near(outlook->days[1].sap_l_per_tap_p50, 2.4, 1e-9);
    assert_near(outlook->days[3].sap_l_per_tap_p50, 2.4, 1e-9);
}

static void the_day_of_25_hours(void **state)
{
    struct civil_date november_1 = {2026, 11, 1};
    struct scene *scene = *state;
    const struct outlook *outlook;

    use_series(scene, series_new(1793419200, 72)); /* 2026-10-31T04:00Z */
    set_hours(scene, 0, 72, 2);
    outlook = make(scene, 1793419200, november_1, 1);
    assert_int_equal(outlook->days[0].day_hours, 25);
    assert_int_equal(outlook->days[0].known_hours, 25);
    assert_near(outlook->days[0].sap_l_per_tap_p50, 2.5, 1e-9);
    /* 2026-11-01T04:00Z to 2026-11-02T05:00Z */
    assert_int_equal(outlook->days[0].run_start, 1793505600);
    assert_int_equal(outlook->days[0].run_end, 1793595600);
}

static void a_long_gap_is_not_guessed(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;
    const struct outlook_day *day;

    set_hours(scene, 0, HOURS, 2);
    clear_hours(scene, 30, 33); /* 3 h of 6 March */
    outlook = make(scene, START, MARCH_6, 3);
    day = &outlook->days[0];
    assert_false(day->known);
    assert_int_equal(day->known_hours, 21);
    assert_near(day->sap_l_per_tap_p50, 0, 0);
    assert_near(day->chance, 0, 0);
    assert_int_equal(day->strength, STRENGTH_NONE);
    assert_false(day->has_window);
    assert_near(day->max_c, 0, 0);
    assert_true(outlook->days[1].known);
    series_set(scene->series, AIR_TEMP_C, 30, 2, ORIGIN_FORECAST, 0);
    outlook = make(scene, START, MARCH_6, 1);
    assert_true(outlook->days[0].known); /* 22 of 24 */
}

static void a_day_after_an_unknown_night_is_not_guessed(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;

    set_hours(scene, 0, HOURS, 2);
    clear_hours(scene, 12, 24); /* from noon of 5 March */
    outlook = make(scene, START, MARCH_6, 1);
    assert_int_equal(outlook->days[0].known_hours, 24);
    assert_false(outlook->days[0].known);
    set_hours(scene, 18, 24, 2);
    outlook = make(scene, START, MARCH_6, 1);
    assert_true(outlook->days[0].known);
}

static void days_outside_the_series_are_not_known(void **state)
{
    struct civil_date march_3 = {2026, 3, 3};
    struct scene *scene = *state;
    const struct outlook *outlook;

    set_hours(scene, 0, HOURS, 2);
    outlook = make(scene, START, march_3, 14);
    assert_int_equal(outlook->count, 14);
    for (int i = 0; i < 14; i++) {
        assert_int_equal(outlook->days[i].known, i >= 2 && i <= 9);
        assert_int_equal(outlook->days[i].date.day, 3 + i);
    }
    assert_true(outlook->days[2].known); /* the record begins with it */
    outlook = make(scene, START, march_3, 0);
    assert_int_equal(outlook->count, 0);
}

static void a_day_is_past_when_it_is_over(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;

    set_hours(scene, 0, HOURS, 2);
    outlook = make(scene, START + 48 * 3600 - 1, MARCH_6, 2);
    assert_false(outlook->days[0].past);
    outlook = make(scene, START + 48 * 3600, MARCH_6, 2);
    assert_true(outlook->days[0].past);
    assert_false(outlook->days[1].past);
}

/* Eleven members at 0.0 to 1.0 K all day: 0 to 1.2 L by steps of 0.12. */
static struct members *ladder(const struct series *series)
{
    int hours = series_hours(series);
    struct members *members = members_new(series_start(series), hours, 11);

    for (int member = 0; member < 11; member++)
        for (int hour = 0; hour < hours; hour++)
            members->air_temp_c[member * hours + hour] = (10 - member) * 0.1;
    return members;
}

/* Eleven members whose thaw begins at 6:00, 7:00 … 16:00 and lasts to 18:00. */
static void the_hours_of_a_run_have_their_spread(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;
    const struct outlook_day *day;
    utc_s midnight;

    set_hours(scene, 0, HOURS, -5);
    use_members(scene, ladder(scene->series));
    midnight = zone_day_start(scene->zone, MARCH_6);
    for (int member = 0; member < 11; member++)
        for (int hour = 0; hour < HOURS; hour++) {
            utc_s past = START + (utc_s)hour * SECONDS_PER_HOUR - midnight;
            bool warm = past >= (6 + member) * SECONDS_PER_HOUR &&
                        past < 18 * SECONDS_PER_HOUR;

            scene->members->air_temp_c[member * HOURS + hour] = warm ? 6 : -5;
        }
    outlook = make(scene, START, MARCH_6, 1);
    day = &outlook->days[0];
    assert_true(day->has_window && day->has_window_span);
    /* 6:00 to 16:00 evenly: the 10th and 90th are 7:00 and 15:00. */
    assert_int_equal(day->run_start_p10 - midnight, 7 * SECONDS_PER_HOUR);
    assert_int_equal(day->run_start_p90 - midnight, 15 * SECONDS_PER_HOUR);
    assert_int_equal(day->run_end_p10 - midnight, 18 * SECONDS_PER_HOUR);
    assert_int_equal(day->run_end_p90 - midnight, 18 * SECONDS_PER_HOUR);
    /* Six of eleven that only trickle all day: no span is told. */
    for (int member = 0; member < 6; member++)
        for (int hour = 0; hour < HOURS; hour++)
            scene->members->air_temp_c[member * HOURS + hour] = 0.3;
    outlook = make(scene, START, MARCH_6, 1);
    assert_int_equal(outlook->days[0].strength, STRENGTH_WEEPING);
    assert_false(outlook->days[0].has_window_span);
}

static void members_share_their_past(void **state)
{
    struct scene *scene = *state;

    set_hours(scene, 0, HOURS, 0.5);
    use_members(scene, ladder(scene->series));
    fake_tree_hours = 0;
    make(scene, START + (utc_s)30 * SECONDS_PER_HOUR, MARCH_6, 1);
    /* From the row before now on. */
    assert_int_equal(fake_tree_hours, HOURS + 11 * (HOURS - 29));
    fake_tree_hours = 0;
    /* The first day is shared too, as far as it goes. */
    make(scene, START + (utc_s)20 * SECONDS_PER_HOUR, MARCH_6, 1);
    assert_int_equal(fake_tree_hours, HOURS + 11 * (HOURS - 19));
}

static void members_give_quantiles_and_chance(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;
    const struct outlook_day *day;

    set_hours(scene, 0, HOURS, 0.5);
    use_members(scene, ladder(scene->series));
    fake_tree_runs = 0;
    outlook = make(scene, START, MARCH_6, 1);
    /* And the merged series, and a copy of it where the members part. */
    assert_int_equal(fake_tree_runs, 13);
    assert_int_equal(outlook->member_count, 11);
    day = &outlook->days[0];
    assert_near(day->sap_l_per_tap_p10, 0.12, 1e-9);
    assert_near(day->sap_l_per_tap_p50, 0.60, 1e-9);
    assert_near(day->sap_l_per_tap_p90, 1.08, 1e-9);
    assert_near(day->chance, 7.0 / 11.0, 1e-9); /* from 0.48 L */
    assert_int_equal(day->strength, STRENGTH_FAIR_RUN);
    assert_near(outlook->sap_l_per_tap_p10[30], 0.005, 1e-9);
    assert_near(outlook->air_temp_c_p10[30], 0.1, 1e-9);
    assert_near(outlook->air_temp_c_p90[30], 0.9, 1e-9);
    assert_near(outlook->sap_l_per_tap[30], 0.025, 1e-9);
    assert_near(outlook->sap_l_per_tap_p90[30], 0.045, 1e-9);
}

/* Before now there is one weather: that of the series. */
static void the_past_has_no_spread(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;

    set_hours(scene, 0, HOURS, 0.5);
    use_members(scene, ladder(scene->series));
    outlook = make(scene, START + 49 * 3600, MARCH_6, 1);
    assert_near(outlook->days[0].sap_l_per_tap_p10, 0.6, 1e-9);
    assert_near(outlook->days[0].sap_l_per_tap_p90, 0.6, 1e-9);
    assert_near(outlook->sap_l_per_tap_p90[30], 0.025, 1e-9);
    assert_near(outlook->sap_l_per_tap_p90[60], 0.045, 1e-9);
    outlook = make(scene, START + 9999 * 3600, MARCH_6, 1);
    assert_near(outlook->days[0].sap_l_per_tap_p90, 0.6, 1e-9);
}

static void sources_that_differ_are_told(void **state)
{
    struct scene *scene = *state;
    struct series *others[2];
    const struct outlook *outlook;

    set_hours(scene, 0, HOURS, 1);
    others[0] = series_copy(scene->series);
    others[1] = series_copy(scene->series);
    series_set(others[1], AIR_TEMP_C, 30, 4.5, ORIGIN_FORECAST, 0);
    series_set(others[1], AIR_TEMP_C, 31, -1, ORIGIN_FORECAST, 0);
    scene->outlook = outlook_make(
        &scene->model, &scene->site, scene->zone, scene->series, NULL,
        (const struct series *const *)others, 2, START, MARCH_6, 2);
    outlook = scene->outlook;
    assert_true(outlook->days[0].has_spread);
    assert_near(outlook->days[0].source_spread_k, 3.5, 1e-9);
    assert_true(outlook->days[1].has_spread);
    assert_near(outlook->days[1].source_spread_k, 0, 1e-9);
    series_free(others[0]);
    series_free(others[1]);
}

static void strength_by_volume_and_gathering(void **state)
{
    (void)state;
    assert_int_equal(outlook_strength(0.09, GATHERING_BUCKETS), STRENGTH_NONE);
    assert_int_equal(outlook_strength(0.1, GATHERING_BUCKETS),
                     STRENGTH_WEEPING);
    assert_int_equal(outlook_strength(0.4, GATHERING_GRAVITY_TUBING),
                     STRENGTH_FAIR_RUN);
    assert_int_equal(outlook_strength(2, GATHERING_BUCKETS), STRENGTH_GOOD_RUN);
    assert_int_equal(outlook_strength(4.5, GATHERING_BUCKETS),
                     STRENGTH_BIG_RUN);
    assert_int_equal(outlook_strength(2, GATHERING_VACUUM), STRENGTH_FAIR_RUN);
    assert_int_equal(outlook_strength(9, GATHERING_VACUUM), STRENGTH_BIG_RUN);
}

/* A day of no strength has no hours, however the flow trickles. */
static void no_strength_no_window(void **state)
{
    struct scene *scene = *state;
    const struct outlook *outlook;

    set_hours(scene, 0, HOURS, -3);
    set_hours(scene, 36, 38, 0.8); /* 0.08 L in two hours */
    outlook = make(scene, START, MARCH_6, 1);
    assert_int_equal(outlook->days[0].strength, STRENGTH_NONE);
    assert_false(outlook->days[0].has_window);
    set_hours(scene, 36, 38, 1.6);
    outlook = make(scene, START, MARCH_6, 1);
    assert_int_equal(outlook->days[0].strength, STRENGTH_WEEPING);
    assert_true(outlook->days[0].has_window);
}

static void quantiles_lie_between_the_values(void **state)
{
    double values[] = {3, 1, 2, 4};

    (void)state;
    flow_sort(values, 4);
    assert_near(flow_quantile(values, 4, 0), 1, 0);
    assert_near(flow_quantile(values, 4, 0.5), 2.5, 1e-12);
    assert_near(flow_quantile(values, 4, 0.1), 1.3, 1e-12);
    assert_near(flow_quantile(values, 4, 1), 4, 0);
    assert_near(flow_quantile(values, 1, 0.9), 1, 0);
}

static void fill_at_random(struct scene *scene, struct random *random)
{
    for (int hour = 0; hour < series_hours(scene->series); hour++)
        if (random_even(random) < 0.97)
            series_set(scene->series, AIR_TEMP_C, hour,
                       random_normal(random) * 4, ORIGIN_FORECAST, 0);
}

static void assert_day_is_sane(const struct outlook_day *day)
{
    assert_true(day->sap_l_per_tap_p10 >= 0);
    assert_true(day->sap_l_per_tap_p10 <= day->sap_l_per_tap_p50);
    assert_true(day->sap_l_per_tap_p50 <= day->sap_l_per_tap_p90);
    assert_true(day->chance >= 0 && day->chance <= 1);
    assert_true(day->known_hours <= day->day_hours);
    assert_true(day->min_c <= day->max_c);
    if (!day->known)
        assert_near(day->sap_l_per_tap_p90, 0, 0);
    if (day->has_window) {
        assert_true(day->run_start <= day->run_peak);
        assert_true(day->run_peak < day->run_end);
        assert_true(day->run_end - day->run_start <= 25 * 3600);
    }
}

/* Random weather, random members, the change of the clock within. */
static void any_weather_gives_a_sane_outlook(void **state)
{
    struct scene *scene = *state;
    struct random random;

    random_seed(&random, test_seed());
    for (int round = 0; round < 60; round++) {
        const struct outlook *outlook;
        utc_s now = START + (utc_s)(random_even(&random) * HOURS * 3600);

        use_series(scene, series_new(START, HOURS));
        fill_at_random(scene, &random);
        use_members(scene, members_from_error_growth(scene->series, now, 9,
                                                     random_bits(&random)));
        outlook = make(scene, now, MARCH_6, 9);
        for (int i = 0; i < outlook->count; i++)
            assert_day_is_sane(&outlook->days[i]);
    }
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(a_day_is_scored_by_hand),
        ROW(the_drivers_are_told),
        ROW(the_day_of_23_hours),
        ROW(the_day_of_25_hours),
        ROW(a_long_gap_is_not_guessed),
        ROW(a_day_after_an_unknown_night_is_not_guessed),
        ROW(days_outside_the_series_are_not_known),
        ROW(a_day_is_past_when_it_is_over),
        ROW(the_hours_of_a_run_have_their_spread),
        ROW(members_share_their_past),
        ROW(members_give_quantiles_and_chance),
        ROW(the_past_has_no_spread),
        ROW(sources_that_differ_are_told),
        cmocka_unit_test(strength_by_volume_and_gathering),
        ROW(no_strength_no_window),
        cmocka_unit_test(quantiles_lie_between_the_values),
        ROW(any_weather_gives_a_sane_outlook),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
