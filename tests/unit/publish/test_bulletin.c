#include <string.h>

#include "base/json.h"
#include "base/text.h"
#include "fake_bulletin.h"
#include "read_back.h"
#include "texts.h"
#include "unit_test.h"

static struct civil_date march(int day)
{
    return (struct civil_date){2026, 3, day};
}

static void add_actions(struct bulletin *bulletin)
{
    bulletin->actions = mem_alloc(2, sizeof *bulletin->actions);
    bulletin->action_count = 2;
    bulletin->actions[0] =
        (struct bulletin_action){.kind = ACTION_BOIL,
                                 .date = march(7),
                                 .start = fake_time(bulletin, 7, 18, 0),
                                 .end = fake_time(bulletin, 7, 22, 0),
                                 .sap_l = 700,
                                 .reason = "The tank is full.",
                                 .unless = "Unless it freezes earlier."};
    bulletin->actions[1] = (struct bulletin_action){
        .kind = ACTION_PULL, .date = march(14), .all_day = true};
}

static void all_is_read_back(void **state)
{
    struct bulletin *bulletin = fake_bulletin(), *back;
    char *first, *second;

    (void)state;
    add_actions(bulletin);
    error_list_add(&bulletin->notes, "%s", "A note — with an accent: é");
    bulletin->bushes[0].air_known[100] = false;
    bulletin->bushes[1].outlook->days[4].known = false;
    bulletin->bushes[1].outlook->days[5].has_spread = false;
    bulletin_sum_days(bulletin);
    back = read_back(bulletin);
    first = bulletin_to_json(bulletin);
    second = bulletin_to_json(back);
    assert_string_equal(first, second);

    assert_string_equal(back->operation, "Tamarack Bend");
    assert_int_equal(back->made, FAKE_MADE);
    assert_int_equal(back->weather_from, FAKE_MADE - 1500);
    assert_int_equal(back->units, UNITS_US);
    assert_int_equal(back->bush_count, 2);
    assert_int_equal(back->bushes[1].species, SPECIES_RED_MAPLE);
    assert_int_equal(back->bushes[1].gathering, GATHERING_GRAVITY_TUBING);
    assert_int_equal(back->day_count, FAKE_DAYS);
    assert_false(back->days[4].known);
    assert_int_equal(back->days[2].run_start, fake_time(bulletin, 7, 10, 0));
    assert_int_equal(back->actions[0].kind, ACTION_BOIL);
    assert_int_equal(back->actions[0].end, fake_time(bulletin, 7, 22, 0));
    assert_string_equal(back->actions[0].unless, "Unless it freezes earlier.");
    assert_true(back->actions[1].all_day);
    assert_string_equal(back->notes.items[0], "A note — with an accent: é");
    assert_string_equal(back->sources[0].credit, "Data from MET Norway");
    free(first);
    free(second);
    bulletin_free(back);
    bulletin_free(bulletin);
}

static void equal_bulletins_give_equal_bytes(void **state)
{
    struct bulletin *a = fake_bulletin(), *b = fake_bulletin();
    char *json_a, *json_b;

    (void)state;
    /* A difference below what is told, and a minus before a zero. */
    a->bushes[0].outlook->days[2].sap_l_per_tap_p50 += 1e-9;
    a->bushes[0].outlook->sap_l_per_tap[200] = -1e-12;
    b->bushes[0].outlook->sap_l_per_tap[200] = 0;
    json_a = bulletin_to_json(a);
    json_b = bulletin_to_json(b);
    assert_string_equal(json_a, json_b);
    free(json_b);
    b->bushes[0].outlook->days[2].sap_l_per_tap_p50 += 0.01;
    json_b = bulletin_to_json(b);
    assert_string_not_equal(json_a, json_b);
    free(json_a);
    free(json_b);
    bulletin_free(a);
    bulletin_free(b);
}

static void hours_before_yesterday_noon_are_left_out(void **state)
{
    struct bulletin *bulletin = fake_bulletin(), *back;

    (void)state;
    bulletin->made = fake_time(bulletin, 9, 6, 0);
    back = read_back(bulletin);
    assert_int_equal(back->bushes[0].outlook->start,
                     fake_time(bulletin, 8, 12, 0));
    assert_int_equal(back->bushes[0].outlook->start +
                         back->bushes[0].outlook->hours * SECONDS_PER_HOUR,
                     fake_time(bulletin, 16, 0, 0));
    bulletin_free(back);
    bulletin_free(bulletin);
}

/* New York goes to summer time on 8 March 2026 at 02:00 (IANA time zone
 * database, America/New_York: second Sunday of March). */
static void local_hours_need_no_zone_data(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin *back = read_back(bulletin);

    (void)state;
    assert_null(back->zone);
    for (utc_s at = FAKE_MADE - 2 * SECONDS_PER_DAY;
         at < FAKE_MADE + 12 * SECONDS_PER_DAY; at += 1800) {
        struct civil_time civil = bulletin_civil(back, at);
        struct civil_time right = zone_civil(bulletin->zone, at);

        assert_int_equal(civil.offset_s, right.offset_s);
        assert_int_equal(civil.hour, right.hour);
        assert_int_equal(civil.date.day, right.date.day);
    }
    assert_int_equal(
        bulletin_civil(back, fake_time(bulletin, 8, 1, 59)).offset_s,
        -5 * 3600);
    assert_int_equal(
        bulletin_civil(back, fake_time(bulletin, 8, 3, 0)).offset_s, -4 * 3600);
    assert_int_equal(bulletin_noon(back, march(8)),
                     fake_time(bulletin, 8, 12, 0));
    bulletin_free(back);
    bulletin_free(bulletin);
}

static void the_bushes_are_summed(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    const struct bulletin_day *day;
    struct outlook_day *north = &bulletin->bushes[0].outlook->days[2];
    struct outlook_day *brook = &bulletin->bushes[1].outlook->days[2];

    (void)state;
    north->run_start = fake_time(bulletin, 7, 11, 0);
    brook->run_end = fake_time(bulletin, 7, 20, 0);
    north->chance = 0.9;
    bulletin_sum_days(bulletin);
    day = bulletin_day(bulletin, march(7));
    assert_near(day->sap_l_p50, 140 * 2.5 + 60 * 2.0, 1e-9);
    assert_near(day->sap_l_p10, 140 * 0.4 + 60 * 0.32, 1e-9);
    assert_near(day->sap_l_p90, 140 * 3.6 + 60 * 2.88, 1e-9);
    assert_near(day->chance, 0.9, 1e-12);
    assert_int_equal(day->run_start, fake_time(bulletin, 7, 10, 0));
    assert_int_equal(day->run_end, fake_time(bulletin, 7, 20, 0));
    assert_near(day->min_c, -7, 1e-12);
    bulletin->bushes[1].outlook->days[3].run_start += SECONDS_PER_HOUR;
    bulletin->bushes[1].outlook->days[3].run_end -= SECONDS_PER_HOUR;
    bulletin->bushes[1].outlook->days[3].chance = 0.98;
    bulletin_sum_days(bulletin);
    day = bulletin_day(bulletin, march(8));
    assert_int_equal(day->run_start, fake_time(bulletin, 8, 9, 0));
    assert_int_equal(day->run_end, fake_time(bulletin, 8, 19, 0));
    assert_near(day->chance, 0.98, 1e-12);
    assert_null(bulletin_day(bulletin, march(16)));
    bulletin_free(bulletin);
}

/* Bounds of outlook.h: fair run from 0.4 L a tap, good run from 2 L. */
static void the_strength_is_of_all_taps_together(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct outlook_day *north = &bulletin->bushes[0].outlook->days[2];
    struct outlook_day *brook = &bulletin->bushes[1].outlook->days[2];

    (void)state;
    north->sap_l_per_tap_p50 = 0.5;
    north->strength = STRENGTH_FAIR_RUN;
    brook->sap_l_per_tap_p50 = 5;
    brook->strength = STRENGTH_BIG_RUN;
    bulletin_sum_days(bulletin); /* 370 L of 200 taps: 1.85 L */
    assert_int_equal(bulletin_day(bulletin, march(7))->strength,
                     STRENGTH_FAIR_RUN);
    brook->sap_l_per_tap_p50 = 5.6; /* 406 L: 2.03 L */
    bulletin_sum_days(bulletin);
    assert_int_equal(bulletin_day(bulletin, march(7))->strength,
                     STRENGTH_GOOD_RUN);
    bulletin->bushes[1].gathering = GATHERING_VACUUM; /* 406 L of 260 */
    bulletin_sum_days(bulletin);
    assert_int_equal(bulletin_day(bulletin, march(7))->strength,
                     STRENGTH_FAIR_RUN);
    /* A median that outlook calls none, for its chance is too small. */
    north->strength = brook->strength = STRENGTH_NONE;
    bulletin_sum_days(bulletin);
    assert_int_equal(bulletin_day(bulletin, march(7))->strength, STRENGTH_NONE);
    bulletin_free(bulletin);
}

static void the_bush_that_gives_most_leads(void **state)
{
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    assert_ptr_equal(bulletin_leading_bush(bulletin, march(7)),
                     &bulletin->bushes[0]);
    bulletin->bushes[1].taps = 400;
    assert_ptr_equal(bulletin_leading_bush(bulletin, march(7)),
                     &bulletin->bushes[1]);
    assert_null(bulletin_leading_bush(bulletin, march(20)));
    bulletin_free(bulletin);
}

static void a_day_is_known_when_all_bushes_know_it(void **state)
{
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    bulletin->bushes[1].outlook->days[2].known = false;
    bulletin_sum_days(bulletin);
    assert_false(bulletin_day(bulletin, march(7))->known);
    assert_near(bulletin_day(bulletin, march(7))->sap_l_p50, 0, 0);
    assert_true(bulletin_day(bulletin, march(8))->known);
    bulletin_free(bulletin);
}

static void a_night_goes_from_noon_to_noon(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_bush *bush = &bulletin->bushes[0];
    struct bulletin_night night;

    (void)state;
    for (int hour = 0; hour < bush->outlook->hours; hour++)
        bush->air_temp_c[hour] = 5;
    /* Freezing from 22:00 to 02:00 on the short night: three hours, since
     * there is no 02:00 that morning. */
    for (utc_s at = fake_time(bulletin, 7, 22, 0);
         at <= fake_time(bulletin, 8, 0, 0); at += SECONDS_PER_HOUR)
        bush->air_temp_c[(at - bush->outlook->start) / SECONDS_PER_HOUR] = -1;
    bush->air_temp_c[(fake_time(bulletin, 7, 23, 0) - bush->outlook->start) /
                     SECONDS_PER_HOUR] = -3;
    assert_true(bulletin_night(bulletin, march(7), &night));
    assert_int_equal(night.freezing_hours, 3);
    assert_near(night.min_c, -3, 0);
    assert_int_equal(night.min_at, fake_time(bulletin, 7, 23, 0));
    assert_int_equal(night.freeze_from, fake_time(bulletin, 7, 22, 0));
    assert_int_equal(night.freeze_until, fake_time(bulletin, 8, 1, 0));
    assert_true(bulletin_night(bulletin, march(8), &night));
    assert_int_equal(night.freezing_hours, 0);
    bulletin_free(bulletin);
}

static void a_night_with_a_gap_is_not_known(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_bush *bush = &bulletin->bushes[0];
    struct bulletin_night night;
    int midnight = (int)((fake_time(bulletin, 8, 0, 0) - bush->outlook->start) /
                         SECONDS_PER_HOUR);

    (void)state;
    bush->air_known[midnight] = false;
    assert_true(bulletin_night(bulletin, march(7), &night));
    bush->air_known[midnight + 1] = false;
    assert_false(bulletin_night(bulletin, march(7), &night));
    assert_false(bulletin_night(bulletin, march(15), &night));
    assert_false(bulletin_night(bulletin, march(1), &night));
    bulletin_free(bulletin);
}

static void weather_is_taken_on_the_hours_of_the_outlook(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_bush *bush = &bulletin->bushes[0];
    struct series *series =
        series_new(bush->outlook->start + SECONDS_PER_HOUR, 2);

    (void)state;
    series_set(series, AIR_TEMP_C, 1, -4.5, ORIGIN_FORECAST, 0);
    bulletin_take_weather(bush, series);
    assert_false(bush->air_known[0]);
    assert_false(bush->air_known[1]);
    assert_true(bush->air_known[2]);
    assert_near(bush->air_temp_c[2], -4.5, 0);
    assert_false(bush->air_known[3]);
    series_free(series);
    bulletin_free(bulletin);
}

static void the_week_begins_today(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *json = bulletin_week_json(bulletin, fake_time(bulletin, 9, 7, 0));
    cJSON *root = json_parse(json, strlen(json), NULL);
    const cJSON *days = json_array(root, "days");

    (void)state;
    assert_int_equal(cJSON_GetArraySize(days), 7);
    assert_string_equal(json_string(days->child, "date"), "2026-03-09");
    assert_string_equal(json_string(days->child, "run_start"),
                        "2026-03-09T11:00:00-04:00");
    assert_null(json_array(root, "bushes"));
    cJSON_Delete(root);
    free(json);
    bulletin_free(bulletin);
}

static void one_day_is_told_with_its_bushes(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *json = bulletin_day_json(bulletin, march(7));
    cJSON *root = json_parse(json, strlen(json), NULL);

    (void)state;
    assert_string_equal(json_string(json_object(root, "day"), "strength"),
                        "good run");
    assert_int_equal(cJSON_GetArraySize(json_array(root, "bushes")), 2);
    assert_null(bulletin_day_json(bulletin, march(20)));
    cJSON_Delete(root);
    free(json);
    bulletin_free(bulletin);
}

static void refuse(const char *json, const char *expected)
{
    struct bulletin *back;
    struct error err = {""};

    assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err), -1);
    assert_null(back);
    if (strstr(err.text, expected) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", err.text, expected);
}

/* The JSON of the bulletin with one text put for another. */
static char *altered(const char *from, const char *to)
{
    struct bulletin *bulletin = fake_bulletin();
    char *json = bulletin_to_json(bulletin);
    char *made = text_with(json, from, to);

    free(json);
    bulletin_free(bulletin);
    return made;
}

static void what_is_wrong_is_named(void **state)
{
    static const struct {
        const char *from, *to, *expected;
    } rows[] = {
        {"\"version\":1", "\"version\":2", "newer thawbell"},
        {"\"version\":1", "\"version\":\"1\"", "\"version\""},
        {"\"slug\"", "\"slag\"", "\"slug\""},
        {"\"made\":\"2026", "\"made\":\"soon", "\"made\""},
        {"\"made\"", "\"mode\"", "\"made\""},
        {"\"strength\":\"none\"", "\"strength\":\"gusher\"", "\"strength\""},
        {"\"air_min_c\":", "\"air_min_c\":\"\",\"x\":", "\"air_min_c\""},
        {"\"species\":\"sugar maple\"", "\"species\":\"birch\"", "\"species\""},
        {"\"taps\":140", "\"taps\":-1", "\"taps\""},
        {"\"count\":251", "\"count\":250", "does not hold"},
        {"\"count\":251", "\"count\":99999999", "\"count\""},
        {"\"utc_offsets\":[", "\"utc_offsets\":[7,", "\"offset_s\""},
        {"\"date\":\"2026-03-05\"", "\"date\":\"2026-02-30\"", "2026-02-30"},
        {"\"bushes\":[", "\"bushes\":[null,", "\"name\""},
        {"\"actions\":[]", "\"actions\":[{\"kind\":\"dance\"}]", "\"kind\""},
        {"\"actions\":[]", "\"actions\":{}", "\"actions\""},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *json = altered(rows[i].from, rows[i].to);

        refuse(json, rows[i].expected);
        free(json);
    }
    refuse("", "");
    refuse("<html>", "");
    refuse("{}", "\"version\"");
}

static void keys_not_known_are_passed_over(void **state)
{
    char *json =
        altered("\"notes\":[]", "\"notes\":[],\"season\":{\"stage\":\"buds\"}");
    struct bulletin *back;
    struct error err = {""};

    (void)state;
    assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err), 0);
    bulletin_free(back);
    free(json);
}

/* Its age has no room in a status bar. */
static void weather_of_another_age_is_refused(void **state)
{
    static const struct {
        const char *fetched;
        int result;
    } rows[] = {{"1599-03-06", -1}, {"2025-03-05", -1}, {"2025-03-07", 0}};
    struct bulletin *back;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct error err = {""};
        char *to = mem_format("\"weather_fetched\":\"%sT", rows[i].fetched);
        char *json = altered("\"weather_fetched\":\"2026-03-06T", to);

        assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err),
                         rows[i].result);
        if (rows[i].result == 0)
            bulletin_free(back);
        else
            assert_string_equal(err.text, "\"weather_fetched\" is more than a "
                                          "year before \"made\"");
        free(json);
        free(to);
    }
}

/* Every cut of the text is refused, and nothing is lost on the way (the leak
 * check of the sanitizer). */
static void a_cut_bulletin_is_refused(void **state)
{
    struct bulletin *bulletin = fake_bulletin(), *back;
    char *json = bulletin_to_json(bulletin);
    size_t length = strlen(json) - 1;

    (void)state;
    for (size_t cut = 0; cut < length; cut += 97)
        assert_int_equal(bulletin_from_json(json, cut, &back, NULL), -1);
    free(json);
    bulletin_free(bulletin);
}

static void long_texts_are_cut_between_characters(void **state)
{
    char *json = altered("\"name\":\"Tamarack Bend\"",
                         "\"name\":\"éééééééééééééééééééééééééééééééééééééééé"
                         "éééééééééééééééééééééééééééééééééééééééé\"");
    struct bulletin *back;
    struct error err = {""};

    (void)state;
    assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err), 0);
    assert_int_equal(strlen(back->operation), 126);
    assert_true(utf8_valid(back->operation, strlen(back->operation)));
    bulletin_free(back);
    free(json);
}

static void age_is_told_in_words(void **state)
{
    static const struct {
        long age_s;
        const char *words;
    } rows[] = {{-3600, "under 1 min old"}, {59, "under 1 min old"},
                {3599, "59 min old"},       {3600, "1 h old"},
                {71 * 3600, "71 h old"},    {72 * 3600, "3 days old"},
                {8 * 86400, "8 days old"}};
    char words[64];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        bulletin_age_words(FAKE_MADE, FAKE_MADE + rows[i].age_s, words,
                           sizeof words);
        assert_string_equal(words, rows[i].words);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_is_read_back),
        cmocka_unit_test(equal_bulletins_give_equal_bytes),
        cmocka_unit_test(hours_before_yesterday_noon_are_left_out),
        cmocka_unit_test(local_hours_need_no_zone_data),
        cmocka_unit_test(the_bushes_are_summed),
        cmocka_unit_test(the_strength_is_of_all_taps_together),
        cmocka_unit_test(the_bush_that_gives_most_leads),
        cmocka_unit_test(a_day_is_known_when_all_bushes_know_it),
        cmocka_unit_test(a_night_goes_from_noon_to_noon),
        cmocka_unit_test(a_night_with_a_gap_is_not_known),
        cmocka_unit_test(weather_is_taken_on_the_hours_of_the_outlook),
        cmocka_unit_test(the_week_begins_today),
        cmocka_unit_test(one_day_is_told_with_its_bushes),
        cmocka_unit_test(what_is_wrong_is_named),
        cmocka_unit_test(keys_not_known_are_passed_over),
        cmocka_unit_test(weather_of_another_age_is_refused),
        cmocka_unit_test(a_cut_bulletin_is_refused),
        cmocka_unit_test(long_texts_are_cut_between_characters),
        cmocka_unit_test(age_is_told_in_words),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
