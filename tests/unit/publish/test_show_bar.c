/* Words for a status bar. */
#include <string.h>

#include "fake_bulletin.h"
#include "publish/show.h"
#include "unit_test.h"

enum { HOUR = SECONDS_PER_HOUR, DAY = 24 * HOUR };

static void a_new_forecast(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct show_bar bar;

    (void)state;
    bulletin->weather_from = FAKE_MADE;
    show_bar(bulletin, FAKE_MADE + 5 * HOUR, UNITS_US, &bar);
    assert_string_equal(bar.words, "No run. 19 F tonight. Tomorrow good run.");
    assert_string_equal(bar.fewer, "No run");
    assert_string_equal(bar.state, "none");
    assert_false(bar.old);
    /* Saturday 7 March, 08:10: the good run is to come. */
    bulletin->weather_from = FAKE_MADE + 14 * HOUR;
    show_bar(bulletin, FAKE_MADE + 14 * HOUR, UNITS_US, &bar);
    assert_string_equal(bar.state, "good-run");
    assert_string_equal(bar.fewer, "Good run, 120 gal");
    assert_string_equal(bar.words, "Good run 10:00-17:00. 23 F tonight.");
    assert_int_equal(bar.chance_percent, 87);
    assert_non_null(strstr(bar.more, "\nSun 8 Mar: big run, 240 gal, 95%"
                                     "\nMon 9 Mar: fair run, 45 gal, 65%"));
    bulletin_free(bulletin);
}

/* What is to be done today goes before the run's hours and amount; what is for
 * another day does not. */
static void what_is_due_today_is_told(void **state)
{
    static const struct {
        int hour;
        const char *words;
    } rows[] = {
        {8, "Collect 120 gal 17:00-19:00. Good run."},
        {11, "Collect 120 gal 17:00-19:00. Good run."},
        {18, "Collect 120 gal until 19:00. Run over."},
        {20, "Boil Sun 8 Mar 14:00-22:00. Run over."},
    };
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_action *action;
    struct show_bar bar;
    utc_s now;

    (void)state;
    bulletin->action_count = 0;
    action = fake_action(bulletin, ACTION_COLLECT, 7, 17, 2);
    action->sap_l = 470;
    fake_action(bulletin, ACTION_BOIL, 8, 14, 8)->sap_l = 900;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        now = fake_time(bulletin, 7, rows[i].hour, 30);
        bulletin->weather_from = now - 1500;
        show_bar(bulletin, now, UNITS_US, &bar);
        assert_string_equal(bar.words, rows[i].words);
    }
    now = fake_time(bulletin, 7, 11, 30);
    bulletin->weather_from = now - 2 * DAY;
    show_bar(bulletin, now, UNITS_US, &bar);
    assert_string_equal(bar.words, "Forecast 48 h old. Good run until 17:00.");
    bulletin->weather_from = now - 1500;
    bulletin->actions[0] = bulletin->actions[1];
    bulletin->action_count = 1;
    show_bar(bulletin, now, UNITS_US, &bar);
    assert_string_equal(bar.words, "Good run until 17:00, 120 gal, 85%.");
    bulletin_free(bulletin);
}

static void an_old_one_says_so(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct show_bar bar;

    (void)state;
    bulletin->weather_from = FAKE_MADE;
    show_bar(bulletin, FAKE_MADE + 14 * HOUR, UNITS_US, &bar);
    assert_true(bar.old);
    assert_string_equal(bar.fewer, "Good run (14 h old)");
    assert_non_null(strstr(bar.words, "Forecast 14 h old."));
    show_bar(bulletin, FAKE_MADE + 30 * DAY, UNITS_US, &bar);
    assert_true(bar.old);
    assert_string_equal(bar.words, "No current sap forecast");
    assert_string_equal(bar.state, "unknown");
    assert_non_null(strstr(bar.more, "has run out"));
    bulletin_free(bulletin);
}

/* At each hour of two weeks, in both units, with weather known or not. */
static void it_is_never_empty_nor_too_wide(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct show_bar bar;

    (void)state;
    for (int hour = -48; hour < 14 * 24; hour++) {
        for (int units = 0; units < 2; units++) {
            show_bar(bulletin, FAKE_MADE + (utc_s)hour * HOUR,
                     units ? UNITS_US : UNITS_METRIC, &bar);
            assert_in_range(utf8_columns(bar.words), 6, 40);
            assert_in_range(utf8_columns(bar.fewer), 6, 24);
            assert_in_range(strlen(bar.more), 10, SHOW_BAR_SIZE - 1);
            assert_in_range(bar.chance_percent, 0, 100);
        }
        bulletin->days[4].known = hour % 2;
        bulletin->weather_from = hour % 3 ? FAKE_MADE : 0;
    }
    show_bar_nothing("", &bar);
    assert_string_equal(bar.words, "No current sap forecast");
    assert_string_equal(bar.fewer, "No sap forecast");
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_new_forecast),
        cmocka_unit_test(what_is_due_today_is_told),
        cmocka_unit_test(an_old_one_says_so),
        cmocka_unit_test(it_is_never_empty_nor_too_wide),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
