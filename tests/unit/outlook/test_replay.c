/* Replay: figures by hand, what was collected, amounts by collection. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "outlook/replay.h"

/* By hand: deviations (-1.5 -0.5 0.5 1.5) and (-0.5 -1.5 1.5 0.5): products
 * sum to 3, squares to 5 each: r = 0.6, and the same for the ranks. */
static void correlations_by_hand(void **state)
{
    const double x[] = {1, 2, 3, 4}, y[] = {2, 1, 4, 3};
    struct replay_skill skill;

    (void)state;
    replay_score(x, y, 4, 2.5, &skill);
    assert_near(skill.pearson.value, 0.6, 1e-12);
    assert_near(skill.spearman.value, 0.6, 1e-12);
    assert_near(skill.mae_l.value, 1.0, 1e-12);
    assert_near(skill.bias_l.value, 0.0, 1e-12);
    assert_near(skill.hit_rate.value, 1.0, 1e-12);
    assert_near(skill.false_alarm_rate.value, 0.0, 1e-12);
    assert_near(skill.roc_area.value, 1.0, 1e-12);
}

/* Ranks with ties (1, 2.5, 2.5, 4) against (1, 2, 3, 4): r = 4.5 /
 * sqrt(4.5 * 5). Spearman does not mind a stretched scale, Pearson does. */
static void ties_and_scale(void **state)
{
    const double x[] = {1, 2, 2, 100}, y[] = {1, 2, 3, 4};
    struct replay_skill skill;

    (void)state;
    replay_score(x, y, 4, 2.0, &skill);
    assert_near(skill.spearman.value, 4.5 / sqrt(22.5), 1e-12);
    assert_true(skill.pearson.value < 0.85);
    assert_near(skill.bias_l.value, 95.0 / 4.0, 1e-12);
}

/* One of two runs told, one of two quiet ones told: rates of a half. Pairs:
 * 5>4, 5>1, 0<4, 0<1: area a half. */
static void rates_by_hand(void **state)
{
    const double forecast[] = {5, 0, 4, 1}, collected[] = {9, 8, 0, 1};
    struct replay_skill skill;

    (void)state;
    replay_score(forecast, collected, 4, 3.0, &skill);
    assert_near(skill.hit_rate.value, 0.5, 1e-12);
    assert_near(skill.false_alarm_rate.value, 0.5, 1e-12);
    assert_near(skill.roc_area.value, 0.5, 1e-12);
}

static void what_is_not_defined_is_not_told(void **state)
{
    const double same[] = {2, 2, 2}, y[] = {1, 2, 3};
    struct replay_skill skill;

    (void)state;
    replay_score(same, y, 3, 0.5, &skill);
    assert_false(skill.pearson.known);
    assert_false(skill.spearman.known);
    assert_false(skill.false_alarm_rate.known);
    assert_false(skill.roc_area.known);
    assert_true(skill.mae_l.known);
    replay_score(same, y, 0, 0.5, &skill);
    assert_false(skill.mae_l.known);
}

static void refuse(const char *csv, const char *words)
{
    struct replay_collection *rows = NULL;
    struct error err = {""};
    int count;

    assert_int_equal(
        replay_collections_read(csv, strlen(csv), &rows, &count, &err), -1);
    assert_null(rows);
    if (!strstr(err.text, words)) {
        fail_msg("\"%s\" lacks \"%s\"", err.text, words);
    }
}

static void collections_are_read_or_refused_by_line(void **state)
{
    const char good[] = "date,sap_l,brix\n2013-02-24,56.8,2.1\n"
                        "2013-02-26,0,\n";
    struct replay_collection *rows;
    struct error err;
    int count;

    (void)state;
    assert_int_equal(
        replay_collections_read(good, strlen(good), &rows, &count, &err), 0);
    assert_int_equal(count, 2);
    assert_true(rows[0].has_brix && rows[0].brix == 2.1);
    assert_false(rows[1].has_brix);
    assert_true(rows[1].sap_l == 0.0 && rows[1].date.day == 26);
    free(rows);
    refuse("date,sap_l\n2013-02-24,much\n", "line 2");
    refuse("date,sap_l\n2013-02-24,-1\n", "line 2");
    refuse("date,sap_l\n2013-02-24,1\n2013-02-24,1\n", "line 3");
    refuse("date,sap_gal\n2013-02-24,1\n", "sap_l");
    refuse("date,sap_l,foam\n2013-02-24,1,2\n", "foam");
    refuse("date,sap_l\n", "0 rows");
}

/* --- Amounts by collection --- */

enum { HOURS = 24 * 40 };

/* From 1 March 2025 00:00 at five hours west: -6 to 8 C each day. */
static struct series *even_days(void)
{
    utc_s start = civil_day_number((struct civil_date){2025, 3, 1}) *
                      (utc_s)SECONDS_PER_DAY +
                  5 * SECONDS_PER_HOUR;
    struct series *series = series_new(start, HOURS);
    struct series_source source = {.name = "test"};

    series_add_source(series, &source);
    for (int hour = 0; hour < HOURS; hour++) {
        series_set(series, AIR_TEMP_C, hour,
                   1.0 + 7.0 * sin((hour % 24 - 9) * acos(-1.0) / 12.0),
                   ORIGIN_OBSERVED, 0);
    }
    return series;
}

static const struct tree_site SITE = {
    .latitude = 44.0, .longitude = -72.0, .elevation_m = 300.0};
static const struct replay_setting SETTING = {.taps = 10,
                                              .offset_s = -5 * SECONDS_PER_HOUR,
                                              .collected_at_s =
                                                  17 * SECONDS_PER_HOUR};

static struct replay *replay_of(const struct replay_collection *rows, int count,
                                double bucket_l)
{
    struct tree_site site = SITE;
    struct series *series = even_days();
    struct tree_model *model;
    struct replay *replay = NULL;
    struct error err;

    site.bucket_l = bucket_l;
    if (tree_model_load(PROJECT_DIR "/models", SPECIES_SUGAR_MAPLE,
                        GATHERING_BUCKETS, &model, &err) ||
        replay_make(model, &site, series, rows, count, &SETTING, &replay,
                    &err)) {
        fail_msg("%s", err.text);
    }
    tree_model_free(model);
    series_free(series);
    return replay;
}

static struct replay *run_even_days(double bucket_l, int first_day)
{
    const struct replay_collection rows[] = {
        {.date = {2025, 3, first_day}, .sap_l = 20.0},
        {.date = {2025, 3, 21}, .sap_l = 30.0},
        {.date = {2025, 3, 23}, .sap_l = 40.0},
        {.date = {2025, 5, 1}, .sap_l = 40.0}, /* past the weather */
    };

    return replay_of(rows, 4, bucket_l);
}

/* An amount that nobody measured is read, not scored, and ends the interval
 * of the next one. */
static void an_unmeasured_amount_is_left_out(void **state)
{
    static const char csv[] = "date,sap_l\n2025-03-18,20\n2025-03-19,NA\n"
                              "2025-03-20,\n2025-03-21,40\n";
    struct replay_collection *rows;
    struct replay *replay = NULL;
    struct error err = {""};
    int count;

    (void)state;
    if (replay_collections_read(csv, strlen(csv), &rows, &count, &err) != 0)
        fail_msg("%s", err.text);
    assert_int_equal(count, 4);
    assert_true(!rows[0].unmeasured && rows[1].unmeasured &&
                rows[2].unmeasured && !rows[3].unmeasured);
    replay = replay_of(rows, count, 0.0);
    assert_int_equal(replay->count, 2);
    assert_int_equal(replay->left_out, 2);
    assert_int_equal(replay->rows[1].to - replay->rows[1].from, 86400);
    replay_free(replay);
    free(rows);
}

/* Collected on the 20th, 21st, 23rd at 17:00: 29 h from the tapping at noon
 * the day before, then 24 h, then 48 h. Each day is a run day by both rules,
 * each of an ordinary 1.76 L a tap. Climatology: of the others' 70 L in 72 h,
 * 29 h. */
static void amounts_belong_to_their_hours(void **state)
{
    struct replay *replay = run_even_days(0.0, 20);
    const struct replay_row *rows = replay->rows;

    (void)state;
    assert_int_equal(replay->count, 3);
    assert_int_equal(replay->left_out, 1);
    assert_int_equal(rows[0].to - rows[0].from, 29 * SECONDS_PER_HOUR);
    assert_int_equal(rows[1].to - rows[1].from, 24 * SECONDS_PER_HOUR);
    assert_int_equal(rows[2].to - rows[2].from, 48 * SECONDS_PER_HOUR);
    assert_near(rows[1].forecast_l[REPLAY_RULE_A],
                10 * day_rule_a_l_per_tap(-6, 8), 1e-9);
    assert_near(rows[2].forecast_l[REPLAY_RULE_B],
                20 * day_rule_b_l_per_tap(-6, 8), 1e-9);
    assert_near(rows[0].forecast_l[REPLAY_CLIMATOLOGY], 70.0 / 72.0 * 29.0,
                1e-9);
    assert_true(rows[2].forecast_l[REPLAY_MODEL] >
                rows[1].forecast_l[REPLAY_MODEL]);
    assert_true(rows[1].forecast_l[REPLAY_MODEL] > 0.0);
    assert_true(replay->overflow_l == 0.0);
    replay_free(replay);
}

static void a_bucket_holds_what_it_holds(void **state)
{
    struct replay *free_run = run_even_days(0.0, 20);
    struct replay *held = run_even_days(0.5, 20);
    double lost = 0.0;

    (void)state;
    for (int i = 0; i < held->count; i++) {
        assert_true(held->rows[i].forecast_l[REPLAY_MODEL] <= 5.0 + 1e-9);
        lost += free_run->rows[i].forecast_l[REPLAY_MODEL] -
                held->rows[i].forecast_l[REPLAY_MODEL];
    }
    assert_true(lost > 0.0);
    assert_near(held->overflow_l, lost, 1e-9);
    replay_free(free_run);
    replay_free(held);
}

static void weather_that_covers_nothing_is_refused(void **state)
{
    const struct replay_collection row = {.date = {2019, 3, 20}, .sap_l = 1.0};
    struct series *series = even_days();
    struct tree_model *model;
    struct replay *replay = NULL;
    struct error err = {""};

    (void)state;
    assert_int_equal(tree_model_load(PROJECT_DIR "/models", SPECIES_SUGAR_MAPLE,
                                     GATHERING_BUCKETS, &model, &err),
                     0);
    assert_int_equal(
        replay_make(model, &SITE, series, &row, 1, &SETTING, &replay, &err),
        -1);
    assert_non_null(strstr(err.text, "none"));
    tree_model_free(model);
    series_free(series);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(correlations_by_hand),
        cmocka_unit_test(ties_and_scale),
        cmocka_unit_test(rates_by_hand),
        cmocka_unit_test(what_is_not_defined_is_not_told),
        cmocka_unit_test(collections_are_read_or_refused_by_line),
        cmocka_unit_test(an_unmeasured_amount_is_left_out),
        cmocka_unit_test(amounts_belong_to_their_hours),
        cmocka_unit_test(a_bucket_holds_what_it_holds),
        cmocka_unit_test(weather_that_covers_nothing_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
