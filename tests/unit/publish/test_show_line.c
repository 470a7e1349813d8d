#include <string.h>

#include "base/text.h"
#include "fake_bulletin.h"
#include "publish/show.h"
#include "unit_test.h"

static const struct show_style us = {UNITS_US, 80, false};

static void expect(const struct bulletin *bulletin, utc_s now,
                   const struct show_style *style, const char *words)
{
    struct text out;

    text_init(&out, 1000);
    show_line(bulletin, now, style, &out);
    assert_string_equal(out.bytes, words);
    text_free(&out);
}

/* The forecast as fresh at each moment as the services keep it. */
static void each_hour_has_its_line(void **state)
{
    static const struct {
        int day, hour;
        const char *words;
    } rows[] = {
        {6, 6,
         "No run today. 19 F tonight. Tomorrow good run 10:00-17:00, 120 gal, "
         "85% chance."},
        {7, 6,
         "Good run today 10:00-17:00, 120 gal, 85% chance. 23 F tonight. "
         "Tomorrow big run."},
        {7, 12,
         "Good run until 17:00, 120 gal, 85% chance. 23 F tonight. Tomorrow "
         "big run."},
        {7, 18,
         "Run over. Freezes tonight, to 23 F. Tomorrow big run 09:00-19:00, "
         "240 gal, 95%."},
        {10, 7,
         "Weeping today, 10 gal, 35% chance of a run. 41 F tonight. Next run "
         "Fri 13 Mar."},
        {11, 7,
         "No run today. 39 F tonight. Next: fair run Fri 13 Mar, about 30 gal,"
         " 55% chance."},
        {14, 20,
         "Today's run is over. Freezes tonight, to 25 F. No other run through "
         "Sun 15 Mar."},
        {15, 6, "No run likely today, 30% chance."},
        {15, 18, "No run today."},
    };
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        utc_s now = fake_time(bulletin, rows[i].day, rows[i].hour, 30);

        bulletin->weather_from = now - 1500;
        expect(bulletin, now, &us, rows[i].words);
    }
    bulletin_free(bulletin);
}

static void metric_is_litres_and_celsius(void **state)
{
    static const struct show_style metric = {UNITS_METRIC, 80, false};
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    bulletin->weather_from = fake_time(bulletin, 7, 6, 0);
    expect(bulletin, fake_time(bulletin, 7, 6, 30), &metric,
           "Good run today 10:00-17:00, 470 L, 85% chance. -5 C tonight. "
           "Tomorrow big run.");
    bulletin_free(bulletin);
}

static void an_old_forecast_tells_its_age(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    utc_s now = fake_time(bulletin, 7, 6, 30);

    (void)state;
    bulletin->weather_from = now - 9 * SECONDS_PER_HOUR;
    expect(bulletin, now, &us,
           "Good run today 10:00-17:00, 120 gal, 85% chance. 23 F tonight. "
           "Forecast 9 h old.");
    bulletin->weather_from = now - 50 * SECONDS_PER_HOUR;
    expect(bulletin, now, &us,
           "Forecast 50 h old. Good run today 10:00-17:00, 120 gal, 85%. 23 F "
           "tonight.");
    bulletin_free(bulletin);
}

static void a_bulletin_that_has_run_out_says_so(void **state)
{
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    expect(bulletin, fake_time(bulletin, 16, 6, 0), &us,
           "The forecast of Fri 6 Mar 18:10 has run out. Is thawbelld "
           "running?");
    expect(bulletin, fake_time(bulletin, 2, 6, 0), &us,
           "The forecast was made later, Fri 6 Mar 18:10. Is the clock right?");
    bulletin_free(bulletin);
}

static void missing_weather_is_said(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    utc_s now = fake_time(bulletin, 7, 6, 30);

    (void)state;
    bulletin->weather_from = now;
    bulletin->bushes[0].outlook->days[2].known = false;
    bulletin_sum_days(bulletin);
    expect(bulletin, now, &us,
           "No weather data for today. Freezes tonight, to 23 F. Tomorrow big "
           "run, 240 gal.");
    bulletin->weather_from = 0;
    expect(bulletin, now, &us,
           "No service has answered yet. No weather data for today. 23 F "
           "tonight.");
    bulletin_free(bulletin);
}

/* After midnight "tonight" is the night under way: its low, not that of the
 * night to come. Without hourly air the low is of the day it ends in. */
static void tonight_is_the_night_under_way(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    utc_s now = fake_time(bulletin, 7, 2, 0);

    (void)state;
    bulletin->weather_from = now;
    expect(bulletin, now, &us,
           "Good run today 10:00-17:00, 120 gal, 85% chance. 19 F tonight. "
           "Tomorrow big run.");
    free(bulletin->bushes[0].air_temp_c);
    bulletin->bushes[0].air_temp_c = NULL;
    bulletin->bushes[0].outlook->days[2].min_c = -20;
    bulletin_sum_days(bulletin);
    expect(bulletin, now, &us,
           "Good run today 10:00-17:00, 120 gal, 85% chance. -4 F tonight. "
           "Tomorrow big run.");
    bulletin_free(bulletin);
}

static void a_run_to_midnight_ends_at_24(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_day *day;
    utc_s now = fake_time(bulletin, 7, 6, 30);

    (void)state;
    day = &bulletin->days[2];
    day->run_end = fake_time(bulletin, 8, 0, 0);
    bulletin->weather_from = now;
    expect(bulletin, now, &us,
           "Good run today 10:00-24:00, 120 gal, 85% chance. 23 F tonight. "
           "Tomorrow big run.");
    day->run_start = fake_time(bulletin, 7, 0, 0);
    expect(bulletin, now, &us,
           "Good run until 24:00, 120 gal, 85% chance. 23 F tonight. Tomorrow "
           "big run.");
    bulletin_free(bulletin);
}

/* Collect on Saturday evening, boil on Sunday, pull the taps on the 14th. */
static void plan(struct bulletin *bulletin)
{
    free(bulletin->actions);
    bulletin->actions = mem_alloc(3, sizeof *bulletin->actions);
    bulletin->action_count = 3;
    bulletin->actions[0] =
        (struct bulletin_action){.kind = ACTION_COLLECT,
                                 .date = {2026, 3, 7},
                                 .start = fake_time(bulletin, 7, 17, 0),
                                 .end = fake_time(bulletin, 7, 19, 0),
                                 .sap_l = 470};
    bulletin->actions[1] =
        (struct bulletin_action){.kind = ACTION_BOIL,
                                 .date = {2026, 3, 8},
                                 .start = fake_time(bulletin, 8, 14, 0),
                                 .end = fake_time(bulletin, 8, 22, 0),
                                 .sap_l = 900};
    bulletin->actions[2] = (struct bulletin_action){
        .kind = ACTION_PULL, .date = {2026, 3, 14}, .all_day = true};
}

static void what_is_to_be_done_is_in_the_line(void **state)
{
    static const struct {
        int day, hour;
        const char *words;
    } rows[] = {
        {7, 6,
         "Collect 17:00-19:00. Good run today 10:00-17:00, 120 gal, 85%. 23 F "
         "tonight."},
        {7, 18,
         "Collect 120 gal until 19:00. Run over. 23 F tonight. Tomorrow big "
         "run, 240 gal."},
        {7, 20,
         "Boil Sun 8 Mar 14:00-22:00. Run over. 23 F tonight. Tomorrow big "
         "run, 240 gal."},
        /* Told from a day and a half before; a whole day by its noon. */
        {12, 23,
         "No run today. 27 F tonight. Tomorrow fair run 10:00-15:00, 30 gal, "
         "55% chance."},
        {13, 1,
         "Pull the taps Sat 14 Mar. Fair run today 10:00-15:00, 30 gal, 55%. "
         "27 F tonight."},
        {14, 20,
         "Pull the taps today. Run over. 25 F tonight. No other run through "
         "Sun 15 Mar."},
        {15, 6, "No run likely today, 30% chance."},
    };
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    plan(bulletin);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        utc_s now = fake_time(bulletin, rows[i].day, rows[i].hour, 30);

        bulletin->weather_from = now - 1500;
        expect(bulletin, now, &us, rows[i].words);
    }
    bulletin_free(bulletin);
}

/* "Nothing to do until Saturday" is an answer, and comes first: of a plan
 * alone, and not of an old one. */
static void that_nothing_is_to_be_done_is_told_first(void **state)
{
    static const struct {
        int day, hour, columns;
        const char *words;
    } rows[] = {
        {9, 7, 80,
         "Nothing to do until Sat. Fair run today 11:00-16:00, 45 gal, 65%. 37 "
         "F "
         "tonight."},
        {11, 7, 80,
         "Nothing to do until Sat 14 Mar. No run today. 39 F tonight. Next run "
         "Fri 13 Mar."},
        {11, 7, 60,
         "Nothing to do until Sat. No run today. Next run Fri 13 Mar."},
        {15, 6, 80,
         "Nothing to do in the days ahead. No run likely today, 30% chance."},
    };
    struct bulletin *bulletin = fake_bulletin();
    struct show_style style = us;

    (void)state;
    plan(bulletin);
    bulletin->plan.hours = 1;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        utc_s now = fake_time(bulletin, rows[i].day, rows[i].hour, 30);

        bulletin->made = now - 600;
        bulletin->weather_from = now - 1500;
        style.columns = rows[i].columns;
        expect(bulletin, now, &style, rows[i].words);
    }
    bulletin->made -= SHOW_VERY_OLD_S;
    expect(bulletin, fake_time(bulletin, 15, 6, 30), &us,
           "No run likely today, 30% chance.");
    bulletin->plan.hours = 0;
    bulletin_free(bulletin);
}

/* A weekday a week ahead or more is told with its date. */
static void a_wait_of_a_week_has_its_date(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    utc_s now = fake_time(bulletin, 7, 6, 30);

    (void)state;
    plan(bulletin);
    bulletin->actions[0] = bulletin->actions[2];
    bulletin->action_count = 1;
    bulletin->plan.hours = 1;
    bulletin->made = now;
    bulletin->weather_from = now;
    expect(bulletin, now, &us,
           "Nothing to do until Sat 14 Mar. Good run today 10:00-17:00, 120 "
           "gal, 85% chance.");
    bulletin->plan.hours = 0;
    bulletin_free(bulletin);
}

static void check_width(const struct bulletin *bulletin, utc_s now,
                        const struct show_style *style)
{
    struct text out;

    text_init(&out, 1000);
    show_line(bulletin, now, style, &out);
    if (utf8_columns(out.bytes) > style->columns || out.length == 0)
        fail_msg("%d columns: %s", utf8_columns(out.bytes), out.bytes);
    assert_null(strchr(out.bytes, '\n'));
    assert_true(utf8_valid(out.bytes, out.length));
    text_free(&out);
}

/* Every half hour of ten days, in both units, at every age and width, with
 * large figures: never wider, never empty. */
static void the_line_always_fits(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    static const long ages_s[] = {600, 9 * 3600, 30 * 3600, 100 * 86400};
    static const int widths[] = {80, 40, 20};

    (void)state;
    bulletin->bushes[0].taps = 9999999;
    bulletin_sum_days(bulletin);
    plan(bulletin);
    for (utc_s now = fake_time(bulletin, 4, 0, 0);
         now < fake_time(bulletin, 17, 0, 0); now += 1800)
        for (size_t i = 0; i < 4 * 2 * 3; i++) {
            struct show_style style = {i % 2 ? UNITS_US : UNITS_METRIC,
                                       widths[i / 2 % 3], false};

            bulletin->weather_from = now - ages_s[i / 6];
            check_width(bulletin, now, &style);
        }
    bulletin_free(bulletin);
}

static void a_wide_terminal_does_not_widen_the_line(void **state)
{
    static const struct show_style wide = {UNITS_US, 200, true};
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    bulletin->weather_from = fake_time(bulletin, 7, 6, 0);
    expect(bulletin, fake_time(bulletin, 7, 6, 30), &wide,
           "Good run today 10:00-17:00, 120 gal, 85% chance. 23 F tonight. "
           "Tomorrow big run.");
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_hour_has_its_line),
        cmocka_unit_test(metric_is_litres_and_celsius),
        cmocka_unit_test(an_old_forecast_tells_its_age),
        cmocka_unit_test(a_bulletin_that_has_run_out_says_so),
        cmocka_unit_test(missing_weather_is_said),
        cmocka_unit_test(tonight_is_the_night_under_way),
        cmocka_unit_test(a_run_to_midnight_ends_at_24),
        cmocka_unit_test(what_is_to_be_done_is_in_the_line),
        cmocka_unit_test(that_nothing_is_to_be_done_is_told_first),
        cmocka_unit_test(a_wait_of_a_week_has_its_date),
        cmocka_unit_test(the_line_always_fits),
        cmocka_unit_test(a_wide_terminal_does_not_widen_the_line),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
