/* The season in JSON, line, week, why and calendar. All figures invented. */
#include <string.h>

#include "publish/calendar.h"
#include "publish/season_words.h"
#include "shown.h"
#include "texts.h"
#include "unit_test.h"

static struct civil_date march(int day)
{
    return (struct civil_date){2026, 3, day};
}

static struct bulletin *in_season(void)
{
    struct bulletin *bulletin = fake_bulletin();

    fake_season(&bulletin->bushes[0]);
    return bulletin;
}

static void expect_line(const struct bulletin *bulletin, utc_s now,
                        const char *words)
{
    char *line = shown_line(bulletin, now, 80);

    assert_string_equal(line, words);
    free(line);
}

static void expect_words(const char *words, const char *part)
{
    char *plain = mem_copy_text(words);

    /* Lines are wrapped. */
    for (char *c = plain; *c != '\0'; c++) {
        if (*c != '\n')
            continue;
        *c = ' ';
        while (c[1] == ' ')
            memmove(c + 1, c + 2, strlen(c + 2) + 1);
    }
    if (strstr(plain, part) == NULL)
        fail_msg("not \"%s\" in\n%s", part, plain);
    free(plain);
}

static void the_season_is_read_back(void **state)
{
    struct bulletin *bulletin = in_season(), *back;
    char *first = bulletin_to_json(bulletin), *second;
    const struct bulletin_season *season;
    struct error err = {""};

    (void)state;
    if (bulletin_from_json(first, strlen(first), &back, &err) != 0)
        fail_msg("%s", err.text);
    second = bulletin_to_json(back);
    assert_string_equal(first, second);
    season = back->bushes[0].season;
    assert_non_null(season);
    assert_null(back->bushes[1].season);
    assert_int_equal(season->year, 2026);
    assert_int_equal(season->swell.p50.day, 17);
    assert_int_equal(season->bud_break.p90.month, 4);
    assert_int_equal(season->tapped.day, 20);
    assert_int_equal(season->pulled.year, 0);
    assert_int_equal(season->pull_by.day, 19);
    assert_int_equal(season->last_run_first.day, 13);
    assert_int_equal(season->taphole_spent.year, 0);
    assert_near(season->taphole, 0.61, 1e-9);
    assert_int_equal(season->days_filled, 2);
    assert_int_equal(season->day_count, FAKE_DAYS);
    assert_int_equal(season->days[9].stage, SEASON_BUDDING);
    assert_near(season->days[9].off_flavour, 0.36, 1e-9);
    assert_string_equal(season->model_version, "1/1");
    free(first);
    free(second);
    bulletin_free(back);
    bulletin_free(bulletin);
}

static void a_season_at_fault_is_named(void **state)
{
    static const char *const faults[][3] = {
        {"\"stage\":\"budding\",\"off", "\"stage\":\"ripe\",\"off", "stage"},
        {"\"bud_swell\":{\"p10\"", "\"bud_swell\":{\"p1\"", "bud_swell"},
        {"\"pull_by\":\"2026-03-19\"", "\"pull_by\":\"19 March\"", "pull_by"},
        {"\"chance_of_more\":0.25", "\"chance_of_more\":\"some\"",
         "chance_of_more"},
        {"\"days_filled\":2", "\"days_filled\":-2", "days_filled"},
    };
    struct bulletin *bulletin = in_season(), *back;
    char *json = bulletin_to_json(bulletin);

    (void)state;
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++) {
        char *broken = text_with(json, faults[i][0], faults[i][1]);
        struct error err = {""};

        assert_int_equal(
            bulletin_from_json(broken, strlen(broken), &back, &err), -1);
        if (strstr(err.text, faults[i][2]) == NULL)
            fail_msg("not \"%s\" in: %s", faults[i][2], err.text);
        free(broken);
    }
    free(json);
    bulletin_free(bulletin);
}

static void the_line_tells_what_matters(void **state)
{
    struct bulletin *bulletin = in_season();
    struct bulletin_season *season = bulletin->bushes[0].season;
    utc_s morning = fake_time(bulletin, 7, 6, 30);

    (void)state;
    bulletin->weather_from = morning;
    expect_line(bulletin, morning,
                "Good run today 10:00-17:00, 120 gal, 85%. Likely the last "
                "run. 23 F tonight.");
    season->last_run_last.year = 0;
    expect_line(bulletin, morning,
                "Good run today 10:00-17:00, 120 gal, 85% chance. 23 F "
                "tonight. Tomorrow big run.");
    season->days[2].off_flavour = 0.3;
    expect_line(bulletin, morning,
                "Good run today 10:00-17:00, 120 gal, 85% chance. Buds are "
                "near. 23 F tonight.");
    bulletin->days[2].known = false;
    expect_line(bulletin, morning,
                "No weather data for today. Off-flavour risk 30%. 23 F "
                "tonight. Tomorrow big run.");
    bulletin->days[2].known = true;
    season->days[2].stage = SEASON_OVER;
    expect_line(bulletin, morning,
                "Good run today 10:00-17:00, 120 gal, 85%. The season is over. "
                "23 F tonight.");
    /* Pulled or never tapped: nothing to say. */
    season->pulled = march(6);
    expect_line(bulletin, morning,
                "Good run today 10:00-17:00, 120 gal, 85% chance. 23 F "
                "tonight. Tomorrow big run.");
    bulletin_free(bulletin);
}

/* Of several bushes that have something to say, the one with most taps. */
static void the_largest_bush_speaks(void **state)
{
    struct bulletin *bulletin = in_season();
    const struct bulletin_bush *bush;

    (void)state;
    fake_season(&bulletin->bushes[1]);
    bulletin->bushes[1].season->days[2].off_flavour = 0.9;
    assert_int_equal(season_matter(bulletin, march(7), &bush),
                     SEASON_MATTERS_LAST_RUN);
    assert_ptr_equal(bush, &bulletin->bushes[0]);
    bulletin->bushes[0].season->tapped.year = 0;
    assert_int_equal(season_matter(bulletin, march(7), &bush),
                     SEASON_MATTERS_BUDS);
    assert_ptr_equal(bush, &bulletin->bushes[1]);
    assert_int_equal(season_matter(bulletin, march(30), &bush),
                     SEASON_MATTERS_NOT);
    bulletin_free(bulletin);
}

static void the_week_tells_the_season(void **state)
{
    struct bulletin *bulletin = in_season();
    char *words = shown_week(bulletin, FAKE_MADE, 80);

    (void)state;
    expect_words(
        words,
        "north: Late in the season. The run of Fri 13 Mar to Sat 14 Mar is "
        "likely the last good one. Buds swell about Tue 17 Mar (8 "
        "times in 10 from Thu 12 Mar to Wed 25 Mar). Pull the taps "
        "between Sun 15 Mar and Thu 19 Mar.");
    assert_null(strstr(words, "\nbrook: "));
    free(words);
    bulletin_free(bulletin);
}

static void words_follow_what_is_known(void **state)
{
    struct bulletin *bulletin = in_season();
    struct bulletin_bush *bush = &bulletin->bushes[0];
    struct text out;

    (void)state;
    text_init(&out, SEASON_WORDS_MAX);
    /* Not tapped yet. */
    bush->season->tapped.year = 0;
    bush->season->last_run_last.year = 0;
    bush->season->tap_from = march(8);
    season_words(bush, march(6), &out);
    expect_words(out.bytes, "Tapping pays from about Sun 8 Mar on.");
    text_clear(&out);
    season_words(bush, march(9), &out);
    expect_words(out.bytes, "no tapping is noted: tap now.");
    text_clear(&out);
    /* Of another day, or with no run ahead. */
    season_words_of_day(bush, march(9), &out);
    expect_words(out.bytes, "Tapping pays since Sun 8 Mar.");
    text_clear(&out);
    season_words(bush, march(15), &out);
    expect_words(out.bytes, "Tapping pays since Sun 8 Mar.");
    text_clear(&out);
    /* Swollen: the break is ahead. */
    season_words(bush, march(26), &out);
    expect_words(out.bytes, "Buds break about Mon 6 Apr");
    assert_null(strstr(out.bytes, "swell"));
    assert_null(strstr(out.bytes, " season.")); /* past the days told */
    expect_words(out.bytes, "their time was from Sun 15 Mar to Thu 19 Mar.");
    text_clear(&out);
    bush->season->pulled = march(10);
    season_words(bush, march(11), &out);
    expect_words(out.bytes, "The taps were pulled Tue 10 Mar.");
    assert_null(strstr(out.bytes, "Tapping"));
    text_free(&out);
    bulletin_free(bulletin);
}

static void why_has_a_paragraph(void **state)
{
    struct bulletin *bulletin = in_season();
    char *words;

    (void)state;
    bulletin->bushes[0].season->taphole_spent = march(28);
    words = shown_why(bulletin, 14);
    expect_words(words, "The buds are turning the sap. Risk of an "
                        "off-flavour that day: 35%.");
    expect_words(words, "Buds break about Mon 6 Apr");
    expect_words(words, "The tapholes are worn out by about Sat 28 Mar.");
    free(words);
    bulletin_free(bulletin);
}

/* A whole-day event of its own for each bush. */
static void pulling_is_in_the_calendar(void **state)
{
    struct bulletin *bulletin = in_season();
    struct calendar_memory memory = {0};
    struct bulletin_action pull = {
        .kind = ACTION_PULL, .date = march(15), .all_day = true};
    char *ics;

    (void)state;
    snprintf(pull.bush, sizeof pull.bush, "north");
    bulletin_add_action(bulletin, &pull);
    snprintf(pull.bush, sizeof pull.bush, "brook");
    bulletin_add_action(bulletin, &pull);
    calendar_update(&memory, bulletin);
    ics = calendar_to_ics(&memory, bulletin, NULL);
    expect_words(ics, "UID:tamarack-bend-pull-20260315@thawbell");
    expect_words(ics, "SUMMARY:Pull the taps of north");
    expect_words(ics, "UID:tamarack-bend-pull-20260315-2@thawbell");
    expect_words(ics, "SUMMARY:Pull the taps of brook");
    expect_words(ics, "DTSTART;VALUE=DATE:20260315");
    free(ics);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void actions_come_by_start_then_kind(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_action boil = {.kind = ACTION_BOIL,
                                   .date = march(8),
                                   .start = fake_time(bulletin, 8, 18, 0),
                                   .end = fake_time(bulletin, 8, 22, 0)};
    struct bulletin_action whole = {
        .kind = ACTION_PULL, .date = march(8), .all_day = true};

    (void)state;
    bulletin_add_action(bulletin, &boil);
    boil.start -= 86400;
    bulletin_add_action(bulletin, &boil);
    bulletin_add_action(bulletin, &whole);
    whole.kind = ACTION_TAP;
    bulletin_add_action(bulletin, &whole);
    assert_int_equal(bulletin->action_count, 4);
    assert_int_equal(bulletin->actions[0].start, boil.start);
    assert_int_equal(bulletin->actions[1].kind, ACTION_TAP);
    assert_int_equal(bulletin->actions[2].kind, ACTION_PULL);
    assert_int_equal(bulletin->actions[3].kind, ACTION_BOIL);
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_season_is_read_back),
        cmocka_unit_test(a_season_at_fault_is_named),
        cmocka_unit_test(the_line_tells_what_matters),
        cmocka_unit_test(the_largest_bush_speaks),
        cmocka_unit_test(the_week_tells_the_season),
        cmocka_unit_test(words_follow_what_is_known),
        cmocka_unit_test(why_has_a_paragraph),
        cmocka_unit_test(pulling_is_in_the_calendar),
        cmocka_unit_test(actions_come_by_start_then_kind),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
