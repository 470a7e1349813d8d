#include <string.h>

#include "base/text.h"
#include "fake_bulletin.h"
#include "publish/calendar.h"
#include "unit_test.h"

static const char run_7[] = "tamarack-bend-run-20260307@thawbell";

static const struct calendar_event *find(const struct calendar_memory *memory,
                                         const char *uid)
{
    for (int i = 0; i < memory->count; i++)
        if (strcmp(memory->events[i].uid, uid) == 0)
            return &memory->events[i];
    fail_msg("no event %s", uid);
    return NULL;
}

/* The bytes, checked. */
static char *feed(const struct calendar_memory *memory,
                  const struct bulletin *bulletin, const char *url)
{
    char *bytes = calendar_to_ics(memory, bulletin, url);
    struct error err = {""};

    if (calendar_check(bytes, strlen(bytes), &err) != 0)
        fail_msg("%s\n%s", err.text, bytes);
    return bytes;
}

/* The bytes without their folds; the caller frees. */
static char *unfolded(const char *bytes)
{
    struct text out;

    text_init(&out, 1 << 20);
    for (const char *at = bytes; *at != '\0'; at++) {
        if (strncmp(at, "\r\n ", 3) == 0)
            at += 2;
        else
            text_add_bytes(&out, at, 1);
    }
    return text_steal(&out);
}

static void expect_in(const char *bytes, const char *words)
{
    char *whole = unfolded(bytes);

    if (strstr(whole, words) == NULL)
        fail_msg("not \"%s\" in\n%s", words, whole);
    free(whole);
}

static void each_run_day_is_an_event(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    const struct calendar_event *event;

    (void)state;
    /* 7, 8, 9, 13, 14 March: the days from a fair run on. */
    assert_int_equal(calendar_update(&memory, bulletin), 5);
    assert_int_equal(memory.count, 5);
    event = find(&memory, run_7);
    assert_true(event->all_day);
    assert_int_equal(event->date.day, 7);
    assert_int_equal(event->sequence, 0);
    assert_int_equal(event->created, FAKE_MADE);
    assert_string_equal(event->summary, "Good run, 120 gal, 85%");
    assert_string_equal(event->description,
                        "Freezes to 19 F, then thaws to 46 F.\n"
                        "Runs 10:00-17:00, local time.\n"
                        "Sap: about 120 gal, 8 times in 10 within 20-180.\n"
                        "Chance of a run (0.1 gal a tap or more): 85%.\n"
                        "north: good run, about 90 gal.\n"
                        "brook: good run, about 30 gal.\n"
                        "Source: Data from MET Norway https://api.met.no/\n");
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

/* A small bush that runs beside a large one that does not is a day to tell. */
static void an_even_chance_in_one_bush_is_an_event(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};

    (void)state;
    bulletin->bushes[1].outlook->days[5].chance = 0.5;
    bulletin_sum_days(bulletin);
    assert_int_equal(bulletin->days[5].strength, STRENGTH_WEEPING);
    assert_int_equal(calendar_update(&memory, bulletin), 6);
    assert_string_equal(
        find(&memory, "tamarack-bend-run-20260310@thawbell")->summary,
        "Weeping, 10 gal, 50%");
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void nothing_changed_gives_the_same_bytes(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    char *first, *second;

    (void)state;
    calendar_update(&memory, bulletin);
    first = feed(&memory, bulletin, "https://example.org/");
    bulletin->made += SECONDS_PER_HOUR;
    bulletin->weather_from += SECONDS_PER_HOUR;
    /* Less than is told: a millilitre a tap. */
    bulletin->bushes[0].outlook->days[2].sap_l_per_tap_p50 += 0.001;
    bulletin_sum_days(bulletin);
    assert_int_equal(calendar_update(&memory, bulletin), 0);
    second = feed(&memory, bulletin, "https://example.org/");
    assert_string_equal(first, second);
    free(first);
    free(second);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void a_change_moves_sequence_and_time(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    const struct calendar_event *event;

    (void)state;
    calendar_update(&memory, bulletin);
    bulletin->made += SECONDS_PER_HOUR;
    bulletin->bushes[0].outlook->days[2].sap_l_per_tap_p50 = 3.4;
    bulletin_sum_days(bulletin);
    assert_int_equal(calendar_update(&memory, bulletin), 1);
    assert_int_equal(memory.count, 5);
    event = find(&memory, run_7);
    assert_int_equal(event->sequence, 1);
    assert_int_equal(event->created, FAKE_MADE);
    assert_int_equal(event->modified, FAKE_MADE + SECONDS_PER_HOUR);
    assert_string_equal(event->summary, "Good run, 160 gal, 85%");
    /* The clock set back: the time of change still goes forward. */
    bulletin->made -= 2 * SECONDS_PER_HOUR;
    bulletin->bushes[0].outlook->days[2].sap_l_per_tap_p50 = 2.5;
    bulletin_sum_days(bulletin);
    assert_int_equal(calendar_update(&memory, bulletin), 1);
    event = find(&memory, run_7);
    assert_int_equal(event->sequence, 2);
    assert_int_equal(event->modified, FAKE_MADE + SECONDS_PER_HOUR + 1);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void a_run_that_falls_away_says_so(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    const struct calendar_event *event;
    char *bytes;

    (void)state;
    calendar_update(&memory, bulletin);
    for (int i = 0; i < 2; i++) {
        struct outlook_day *day = &bulletin->bushes[i].outlook->days[2];

        day->strength = STRENGTH_NONE;
        day->chance = 0.1;
        day->sap_l_per_tap_p50 = 0;
        day->has_window = false;
    }
    bulletin_sum_days(bulletin);
    assert_int_equal(calendar_update(&memory, bulletin), 1);
    event = find(&memory, run_7);
    assert_string_equal(event->summary, "No run now expected");
    assert_false(event->cancelled);
    bytes = feed(&memory, bulletin, NULL);
    assert_null(strstr(bytes, "STATUS:CANCELLED"));
    free(bytes);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void past_and_unknown_days_stay_as_told(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};

    (void)state;
    calendar_update(&memory, bulletin);
    bulletin->made = fake_time(bulletin, 8, 0, 30);
    bulletin->bushes[0].outlook->days[2].sap_l_per_tap_p50 = 9;
    bulletin->bushes[0].outlook->days[4].known = false;
    bulletin_sum_days(bulletin);
    assert_int_equal(calendar_update(&memory, bulletin), 0);
    assert_int_equal(memory.count, 5);
    assert_string_equal(find(&memory, run_7)->summary,
                        "Good run, 120 gal, 85%");
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void a_season_is_dropped_after_the_next(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};

    (void)state;
    calendar_update(&memory, bulletin);
    bulletin->made += (utc_s)395 * SECONDS_PER_DAY;
    calendar_update(&memory, bulletin);
    assert_int_equal(memory.count, 5);
    bulletin->made += (utc_s)20 * SECONDS_PER_DAY;
    calendar_update(&memory, bulletin);
    /* Nothing is left and nothing is wanted: the season begins anew. */
    assert_int_equal(memory.count, 1);
    assert_string_equal(memory.events[0].summary, "Sap forecast begins");
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void before_the_first_run_the_feed_is_not_empty(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    char *bytes;

    (void)state;
    for (int i = 0; i < bulletin->day_count; i++) {
        bulletin->days[i].strength = STRENGTH_NONE;
        bulletin->days[i].chance = 0.49;
    }
    assert_int_equal(calendar_update(&memory, bulletin), 1);
    assert_string_equal(memory.events[0].uid,
                        "tamarack-bend-begin-20260306@thawbell");
    bytes = feed(&memory, bulletin, NULL);
    free(bytes);
    bulletin->made += SECONDS_PER_DAY;
    assert_int_equal(calendar_update(&memory, bulletin), 0);
    assert_int_equal(memory.count, 1);
    bulletin_sum_days(bulletin);
    assert_int_equal(calendar_update(&memory, bulletin), 5);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void plan(struct bulletin *bulletin, int count,
                 const struct bulletin_action *actions)
{
    free(bulletin->actions);
    bulletin->actions = mem_alloc((size_t)count + 1, sizeof *bulletin->actions);
    memcpy(bulletin->actions, actions, (size_t)count * sizeof *actions);
    bulletin->action_count = count;
}

static struct bulletin_action boil(const struct bulletin *bulletin, int day,
                                   int from, int to)
{
    return (struct bulletin_action){.kind = ACTION_BOIL,
                                    .date = {2026, 3, day},
                                    .start = fake_time(bulletin, day, from, 0),
                                    .end = fake_time(bulletin, day, to, 0),
                                    .sap_l = 700,
                                    .reason = "The tank would overflow."};
}

static void actions_are_timed_in_utc(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    struct bulletin_action actions[] = {
        boil(bulletin, 7, 18, 22),
        boil(bulletin, 8, 18, 22),
        {.kind = ACTION_PULL, .date = {2026, 3, 15}, .all_day = true},
        boil(bulletin, 7, 23, 24)};
    char *bytes;

    (void)state;
    actions[3].end = fake_time(bulletin, 8, 0, 30);
    plan(bulletin, 4, actions);
    assert_int_equal(calendar_update(&memory, bulletin), 9);
    bytes = feed(&memory, bulletin, NULL);
    /* 18:00 in New York is 23:00Z in winter and 22:00Z in summer time. */
    expect_in(bytes, "UID:tamarack-bend-boil-20260307@thawbell\r\n");
    expect_in(bytes, "DTSTART:20260307T230000Z\r\nDTEND:20260308T030000Z\r\n"
                     "SUMMARY:Boil 180 gal\r\n"
                     "DESCRIPTION:The tank would overflow.\\nLast changed");
    expect_in(bytes, "DTSTART:20260308T220000Z\r\nDTEND:20260309T020000Z\r\n");
    expect_in(bytes, "UID:tamarack-bend-boil-20260307-2@thawbell\r\n");
    expect_in(bytes, "DTSTART;VALUE=DATE:20260315\r\n"
                     "DTEND;VALUE=DATE:20260316\r\nSUMMARY:Pull the taps\r\n");
    free(bytes);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void a_fallen_action_is_cancelled_for_two_days(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    struct bulletin_action action = boil(bulletin, 10, 18, 22);
    const char uid[] = "tamarack-bend-boil-20260310@thawbell";
    char *bytes;

    (void)state;
    plan(bulletin, 1, &action);
    calendar_update(&memory, bulletin);
    bulletin->action_count = 0;
    bulletin->made += SECONDS_PER_HOUR;
    assert_int_equal(calendar_update(&memory, bulletin), 1);
    assert_true(find(&memory, uid)->cancelled);
    assert_int_equal(find(&memory, uid)->sequence, 1);
    assert_string_equal(find(&memory, uid)->summary, "Cancelled: Boil 180 gal");
    assert_int_equal(calendar_update(&memory, bulletin), 0);
    bytes = feed(&memory, bulletin, NULL);
    expect_in(bytes, "STATUS:CANCELLED");
    free(bytes);
    bulletin->made += 2 * SECONDS_PER_DAY - 1;
    bytes = feed(&memory, bulletin, NULL);
    expect_in(bytes, "STATUS:CANCELLED");
    free(bytes);
    bulletin->made += 1;
    bytes = feed(&memory, bulletin, NULL);
    assert_null(strstr(bytes, "STATUS:CANCELLED"));
    free(bytes);
    /* And comes back. */
    bulletin->action_count = 1;
    assert_int_equal(calendar_update(&memory, bulletin), 1);
    assert_false(find(&memory, uid)->cancelled);
    assert_int_equal(find(&memory, uid)->sequence, 2);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void an_action_that_is_over_is_not_cancelled(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    struct bulletin_action actions[] = {
        boil(bulletin, 6, 19, 22),
        {.kind = ACTION_TAP, .date = {2026, 3, 6}, .all_day = true}};

    (void)state;
    plan(bulletin, 2, actions);
    calendar_update(&memory, bulletin);
    bulletin->action_count = 0;
    bulletin->made = fake_time(bulletin, 6, 22, 0);
    /* The boil is over, the day of tapping is not. */
    assert_int_equal(calendar_update(&memory, bulletin), 1);
    assert_false(
        find(&memory, "tamarack-bend-boil-20260306@thawbell")->cancelled);
    assert_true(
        find(&memory, "tamarack-bend-tap-20260306@thawbell")->cancelled);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

static void events_stand_by_start_then_uid(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};

    (void)state;
    calendar_update(&memory, bulletin);
    for (int i = 1; i < memory.count; i++)
        assert_true(strcmp(memory.events[i - 1].uid, memory.events[i].uid) < 0);
    /* As a store gives them back: in another order. */
    struct calendar_event first = memory.events[0];
    memory.events[0] = memory.events[4];
    memory.events[4] = first;
    assert_int_equal(calendar_update(&memory, bulletin), 0);
    assert_string_equal(memory.events[0].uid, run_7);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

/* Titles of at most 30 characters, whatever the figures. */
static void titles_fit_a_phone(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    struct bulletin_action action = boil(bulletin, 10, 18, 22);

    (void)state;
    action.sap_l = 1e12;
    plan(bulletin, 1, &action);
    calendar_update(&memory, bulletin);
    bulletin->action_count = 0;
    bulletin->units = UNITS_METRIC;
    bulletin->bushes[0].taps = 9999999;
    for (int i = 0; i < FAKE_DAYS; i++) {
        bulletin->bushes[0].outlook->days[i].chance = 0.99;
        bulletin->bushes[0].outlook->days[i].strength = STRENGTH_BIG_RUN;
    }
    bulletin_sum_days(bulletin);
    calendar_update(&memory, bulletin);
    assert_int_equal(memory.count, FAKE_DAYS);
    for (int i = 0; i < memory.count; i++)
        assert_true(utf8_columns(memory.events[i].summary) <= 30);
    assert_string_equal(
        find(&memory, "tamarack-bend-boil-20260310@thawbell")->summary,
        "Cancelled: Boil 260000000000 g");
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

/* Line breaks, controls and broken UTF-8 in names and addresses: none of it
 * makes a line of its own. */
static void hostile_texts_stay_text(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    char *bytes;

    (void)state;
    snprintf(bulletin->operation, sizeof bulletin->operation,
             "Bend; a, b\\c\r\nX-EVIL:1\a \xff\xc3");
    snprintf(bulletin->sources[0].credit, sizeof bulletin->sources[0].credit,
             "Data\r\nEND:VCALENDAR\r\n\x01");
    calendar_update(&memory, bulletin);
    bytes = feed(&memory, bulletin, "https://example.org/\r\nX-EVIL:2");
    assert_null(strstr(bytes, "\nX-EVIL"));
    assert_null(strstr(bytes, "\nURL"));
    expect_in(bytes, "\r\nNAME:Sap: Bend  a  b c  X-EVIL:1  ??\r\n");
    expect_in(bytes, "expected at Bend\\; a\\, b\\\\c \\nX-EVIL:1  ??.\\n");
    free(bytes);
    bytes = feed(&memory, bulletin, "javascript:alert(1)");
    assert_null(strstr(bytes, "\nURL"));
    free(bytes);
    bytes = feed(&memory, bulletin, "https://example.org/a;b,c");
    expect_in(bytes, "\nURL:https://example.org/a;b,c\r\n");
    free(bytes);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

/* Characters of 1 to 4 bytes at every place of the line: calendar_check finds
 * a fold inside of one. */
static void folds_fall_between_characters(void **state)
{
    static const char *const letters[] = {"a", "é", "€", "🍁"};
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    for (int kind = 0; kind < 4; kind++)
        for (int shift = 0; shift < 8; shift++) {
            struct calendar_memory memory = {0};
            struct text words;

            text_init(&words, sizeof bulletin->sources[0].credit - 1);
            for (int i = 0; i < shift; i++)
                text_add(&words, "x");
            while (!words.full)
                text_add(&words, letters[kind]);
            snprintf(bulletin->sources[0].credit,
                     sizeof bulletin->sources[0].credit, "%s", words.bytes);
            calendar_update(&memory, bulletin);
            char *bytes = feed(&memory, bulletin, NULL);
            expect_in(bytes, words.bytes);
            free(bytes);
            text_free(&words);
            calendar_memory_free(&memory);
        }
    bulletin_free(bulletin);
}

static void the_calendar_has_its_names(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct calendar_memory memory = {0};
    char *bytes;

    (void)state;
    calendar_update(&memory, bulletin);
    bytes = feed(&memory, bulletin, "https://example.org/t/");
    expect_in(bytes, "\r\nNAME:Sap: Tamarack Bend\r\n");
    expect_in(bytes, "\r\nX-WR-CALNAME:Sap: Tamarack Bend\r\n");
    expect_in(bytes, "\r\nREFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n");
    expect_in(bytes, "\r\nX-PUBLISHED-TTL:PT1H\r\n");
    expect_in(bytes, "\r\nX-WR-TIMEZONE:America/New_York\r\n");
    expect_in(bytes, "\r\nLAST-MODIFIED:20260306T231000Z\r\n");
    expect_in(bytes, "\r\nURL:https://example.org/t/\r\n");
    assert_null(strstr(bytes, "METHOD"));
    assert_null(strstr(bytes, "VALARM"));
    assert_null(strstr(bytes, "TZID"));
    free(bytes);
    calendar_memory_free(&memory);
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_run_day_is_an_event),
        cmocka_unit_test(an_even_chance_in_one_bush_is_an_event),
        cmocka_unit_test(nothing_changed_gives_the_same_bytes),
        cmocka_unit_test(a_change_moves_sequence_and_time),
        cmocka_unit_test(a_run_that_falls_away_says_so),
        cmocka_unit_test(past_and_unknown_days_stay_as_told),
        cmocka_unit_test(a_season_is_dropped_after_the_next),
        cmocka_unit_test(before_the_first_run_the_feed_is_not_empty),
        cmocka_unit_test(actions_are_timed_in_utc),
        cmocka_unit_test(a_fallen_action_is_cancelled_for_two_days),
        cmocka_unit_test(an_action_that_is_over_is_not_cancelled),
        cmocka_unit_test(events_stand_by_start_then_uid),
        cmocka_unit_test(titles_fit_a_phone),
        cmocka_unit_test(hostile_texts_stay_text),
        cmocka_unit_test(folds_fall_between_characters),
        cmocka_unit_test(the_calendar_has_its_names),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
