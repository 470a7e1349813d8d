#include <string.h>

#include "publish/table.h"
#include "shown.h"
#include "unit_test.h"

/* The widest line; no line may end with a blank. */
static int widest(const char *words)
{
    int most = 0;

    while (*words != '\0') {
        size_t length = strcspn(words, "\n");
        char *line = mem_copy_bytes(words, length);
        int columns = utf8_columns(line);

        assert_true(length == 0 || line[length - 1] != ' ');
        most = columns > most ? columns : most;
        free(line);
        words += length + (words[length] == '\n');
    }
    return most;
}

static void the_week_at_80_columns(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *words = shown_week(bulletin, FAKE_MADE, 80);

    (void)state;
    assert_string_equal(
        words,
        "Tamarack Bend, 200 taps: forecast of Fri 6 Mar 17:45, 25 min old.\n"
        "\n"
        "Day         Run       Hours            Sap    Range  Chance   Low  "
        "High\n"
        "Fri 6 Mar   none                     0 gal     0-15     10%  10 F  "
        "34 F\n"
        "Sat 7 Mar   good run  10:00-17:00  120 gal   20-180     85%  19 F  "
        "46 F\n"
        "Sun 8 Mar   big run   09:00-19:00  240 gal  110-300     95%  23 F  "
        "52 F\n"
        "Mon 9 Mar   fair run  11:00-16:00   45 gal    5-110     65%  31 F  "
        "54 F\n"
        "Tue 10 Mar  weeping   09:00-12:00   10 gal     0-55     35%  37 F  "
        "57 F\n"
        "Wed 11 Mar  none                     0 gal     0-10      5%  41 F  "
        "61 F\n"
        "Thu 12 Mar  none                     5 gal     0-25     10%  39 F  "
        "54 F\n"
        "Fri 13 Mar  fair run  10:00-15:00   30 gal    0-100     55%  27 F  "
        "43 F\n"
        "Sat 14 Mar  good run  10:00-17:00  110 gal    5-190     70%  21 F  "
        "46 F\n"
        "Sun 15 Mar  none                     5 gal     0-90     30%  25 F  "
        "48 F\n"
        "\n"
        "Range: holds 8 times in 10. Chance: of a run, 0.1 gal a tap or "
        "more.\n");
    free(words);
    bulletin_free(bulletin);
}

static void the_week_fits_80_and_uses_120(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *narrow = shown_week(bulletin, FAKE_MADE, 80);
    char *wide = shown_week(bulletin, FAKE_MADE, 120);

    (void)state;
    assert_true(widest(narrow) <= 80);
    assert_true(widest(wide) <= 120);
    assert_true(widest(wide) > 100);
    assert_null(strstr(narrow, "Frost before"));
    assert_non_null(strstr(wide, "Frost before"));
    assert_non_null(strstr(wide, "brook"));
    free(narrow);
    free(wide);
    bulletin_free(bulletin);
}

/* What a column means is told where the column stands. */
static void a_narrow_week_explains_what_it_shows(void **state)
{
    static const char *const told[][2] = {
        {"Range", "Range: holds"},
        {"Chance", "Chance: of a run"},
        {"Frost before", "Frost before: hours"},
    };
    struct bulletin *bulletin = fake_bulletin();
    bool without[] = {false, false, false};

    (void)state;
    for (int columns = 30; columns <= 130; columns++) {
        char *words = shown_week(bulletin, FAKE_MADE, columns);
        char *table = strstr(words, "Day ");
        char *end = table ? strchr(table, '\n') : NULL;

        assert_non_null(end);
        *end = '\0';
        for (int i = 0; i < 3; i++) {
            bool stands = strstr(table, told[i][0]) != NULL;

            without[i] = without[i] || !stands;
            assert_int_equal(strstr(end + 1, told[i][1]) != NULL, stands);
        }
        free(words);
    }
    for (int i = 0; i < 3; i++)
        assert_true(without[i]);
    bulletin_free(bulletin);
}

static void every_width_is_kept(void **state)
{
    struct bulletin *bulletin = fake_bulletin();

    (void)state;
    snprintf(bulletin->sources[1].trouble, sizeof bulletin->sources[1].trouble,
             "api.example answered 503 Service Unavailable; asking again at "
             "18:40");
    error_list_add(&bulletin->notes, "%s",
                   "The clock goes forward in the night to Sunday: the hours "
                   "here are those on the wall.");
    for (int columns = 60; columns <= 200; columns++) {
        char *words = shown_week(bulletin, FAKE_MADE, columns);

        assert_true(widest(words) <= columns);
        free(words);
    }
    bulletin_free(bulletin);
}

static void colour_is_bold_alone_and_only_where_wanted(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    static const struct show_style coloured = {UNITS_US, 80, true};
    char *plain = shown_week(bulletin, FAKE_MADE, 80);
    struct text bold;

    (void)state;
    text_init(&bold, 100000);
    show_week(bulletin, FAKE_MADE, &coloured, &bold);
    assert_null(strchr(plain, '\033'));
    assert_non_null(strstr(bold.bytes, "\033[1mSat 7 Mar"));
    assert_null(strstr(bold.bytes, "\033[1mFri 6 Mar"));
    free(plain);
    text_free(&bold);
    bulletin_free(bulletin);
}

static void troubles_stand_below(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *words;

    (void)state;
    snprintf(bulletin->sources[1].trouble, sizeof bulletin->sources[1].trouble,
             "no answer");
    bulletin->sources[1].trouble_since = fake_time(bulletin, 6, 9, 5);
    words = shown_week(bulletin, FAKE_MADE + 9 * SECONDS_PER_HOUR, 80);
    assert_non_null(strstr(words, "nws, since Fri 6 Mar 09:05: no answer\n"));
    assert_non_null(strstr(words, "9 h old"));
    assert_non_null(strstr(words, "Nothing has been published since Fri 6 Mar "
                                  "18:10. Is thawbelld running?"));
    free(words);
    words = shown_week(bulletin, fake_time(bulletin, 17, 9, 0), 80);
    assert_non_null(strstr(words, "The forecast has run out."));
    assert_null(strstr(words, "Chance"));
    free(words);
    bulletin_free(bulletin);
}

static void what_is_to_be_done_stands_below(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *words;

    (void)state;
    bulletin->actions = mem_alloc(2, sizeof *bulletin->actions);
    bulletin->action_count = 2;
    bulletin->actions[0] =
        (struct bulletin_action){.kind = ACTION_COLLECT,
                                 .date = {2026, 3, 6},
                                 .start = fake_time(bulletin, 6, 16, 0),
                                 .end = fake_time(bulletin, 6, 18, 10)};
    bulletin->actions[1] =
        (struct bulletin_action){.kind = ACTION_BOIL,
                                 .date = {2026, 3, 7},
                                 .start = fake_time(bulletin, 7, 18, 0),
                                 .end = fake_time(bulletin, 7, 22, 0),
                                 .sap_l = 700,
                                 .reason = "The tank would overflow."};
    words = shown_week(bulletin, FAKE_MADE, 80);
    assert_non_null(strstr(words,
                           "\n\nBoil 180 gal, Sat 7 Mar 18:00-22:00. The "
                           "tank would overflow.\n"));
    /* What is over is not to be done. */
    assert_null(strstr(words, "Collect"));
    free(words);
    words = shown_week(bulletin, FAKE_MADE - 1, 80);
    assert_non_null(strstr(words, "Collect, 16:00-18:10."));
    free(words);
    /* A reason is told once, where actions of the kind share it. */
    bulletin->actions[0].kind = ACTION_BOIL;
    bulletin->actions[0].sap_l = 700;
    memcpy(bulletin->actions[0].reason, bulletin->actions[1].reason,
           sizeof bulletin->actions[0].reason);
    words = shown_week(bulletin, FAKE_MADE - 1, 80);
    assert_non_null(strstr(words, "Boil 180 gal, 16:00-18:10. The tank would "
                                  "overflow.\nBoil 180 gal, Sat 7 Mar "
                                  "18:00-22:00, for the same reason.\n"));
    free(words);
    /* But each tells its own hour, be it the same. */
    for (int i = 0; i < 2; i++) {
        bulletin->actions[i].reason[0] = '\0';
        action_say(bulletin, &bulletin->actions[i], SAYING_REASON,
                   "It feeds the fire at %s.",
                   said_clock(fake_time(bulletin, 7, 12, 0)), said_nothing(),
                   said_nothing());
    }
    words = shown_week(bulletin, FAKE_MADE - 1, 80);
    assert_non_null(
        strstr(words, "16:00-18:10. It feeds the fire at 12:00.\n"));
    assert_non_null(
        strstr(words, "18:00-22:00. It feeds the fire at 12:00.\n"));
    free(words);
    bulletin_free(bulletin);
}

static void a_day_without_data_says_so(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *words;

    (void)state;
    bulletin->bushes[0].outlook->days[9].known = false;
    bulletin_sum_days(bulletin);
    words = shown_week(bulletin, FAKE_MADE, 80);
    assert_non_null(strstr(words, "Sat 14 Mar  no data\n"));
    free(words);
    bulletin_free(bulletin);
}

static char *why(const struct bulletin *bulletin, int day)
{
    char *words = shown_why(bulletin, day);

    assert_true(widest(words) <= 80);
    return words;
}

static void the_why_of_a_run(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *words = why(bulletin, 8);
    const char *end;

    (void)state;
    end = strstr(words, "\n\nbrook");
    assert_non_null(end);
    words[end - words] = '\0';
    assert_string_equal(
        words,
        "Sun 8 Mar: big run 09:00-19:00, about 240 gal (110-300), 95% chance "
        "of a run.\n"
        "Freezes to 23 F, then thaws to 52 F.\n"
        "\n"
        "Night before    8 h of frost between 00:00 and 09:00, low 23 F at "
        "06:00\n"
        "Air             23 F to 52 F; frost 54 F-hours from noon to noon, "
        "thaw\n"
        "                99 F-hours\n"
        "Services        differ by at most 3 F that day\n"
        "\n"
        "north           1.3 gal a tap, 8 times in 10 from 0.6 gal to 1.6 gal;"
        " strongest\n"
        "                at 14:00\n"
        "  hours         8 times in 10 it begins from 08:00 to 11:00 and ends "
        "from\n"
        "                16:00 to 20:00\n"
        "  stored sap    45% of what the wood can hold; the night before added"
        " 35%\n"
        "  wood          frozen in the night: branches 100%, outer trunk 62%; "
        "trunk from\n"
        "                28 F to 42 F\n"
        "  taphole       86% of a fresh hole's flow is left\n"
        "  compare       two simple rules of the day's low and high say 0.3 "
        "gal "
        "and\n"
        "                0.4 gal a tap\n"
        "  model         two-node 1.0, buckets, 140 taps, 31 forecast members");
    free(words);
    bulletin_free(bulletin);
}

/* Begin and end as sure as the hour are told as one hour each. */
static void a_sure_hour_is_told_once(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *words = why(bulletin, 8);
    struct outlook_day *days = bulletin->bushes[0].outlook->days;
    int count = 0;

    (void)state;
    assert_null(strstr(words, "begins at"));
    free(words);
    for (int i = 0; i < bulletin->bushes[0].outlook->count; i++) {
        days[i].run_start_p90 = days[i].run_start_p10;
        days[i].run_end_p90 = days[i].run_end_p10;
        count += days[i].has_window_span;
    }
    assert_true(count > 0);
    words = why(bulletin, 8);
    assert_non_null(
        strstr(words, "8 times in 10 it begins at 08:00 and ends at 16:00"));
    free(words);
    bulletin_free(bulletin);
}

static void each_kind_of_day_has_its_reason(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct outlook_day *day = bulletin->bushes[0].outlook->days;
    static const struct {
        int day;
        const char *reason;
    } rows[] = {
        {5, "Stays frozen: high 27 F."},
        {6, "Barely thaws: high 34 F."},
        {7, "Freezes to 19 F, then thaws to 46 F."},
        {10, "No freeze the night before (low 37 F): the trees give what is "
             "left from the last\none."},
        {11, "No freeze the night before (low 41 F): nothing makes it run."},
        {13, "Freezes to 27 F, then thaws to 43 F."},
        {14, "The tapholes are closing: 30% of a fresh hole's flow is left."},
        {15, "Freezes to 25 F, thaws to 48 F: too little of one or the other."},
    };

    (void)state;
    day[9].strength = STRENGTH_NONE;
    day[9].taphole = 0.3;
    bulletin->bushes[1].taps = 0;
    bulletin_sum_days(bulletin);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *words = why(bulletin, rows[i].day);

        if (strstr(words, rows[i].reason) == NULL)
            fail_msg("day %d: not \"%s\" in\n%s", rows[i].day, rows[i].reason,
                     words);
        free(words);
    }
    bulletin_free(bulletin);
}

/* The weather is not what keeps it from running; while one bush still has its
 * taps in, it is. */
static void taps_that_are_out_are_the_reason(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct civil_date pulled = {2026, 3, 14};
    char *words;

    (void)state;
    bulletin->bushes[1].taps = 0;
    bulletin_sum_days(bulletin);
    fake_season(&bulletin->bushes[0]);
    fake_season(&bulletin->bushes[1]);
    bulletin->bushes[0].season->pulled = pulled;
    words = why(bulletin, 15);
    assert_non_null(strstr(words, "too little of one or the other."));
    free(words);
    bulletin->bushes[1].season->pulled = (struct civil_date){2026, 3, 12};
    words = why(bulletin, 15);
    assert_non_null(strstr(words, "\nThe taps were pulled Sat 14 Mar.\n"));
    assert_null(strstr(words, "too little"));
    free(words);
    words = why(bulletin, 5);
    assert_non_null(strstr(words, "Stays frozen: high 27 F."));
    free(words);
    bulletin_free(bulletin);
}

static void taps_to_come_are_the_reason(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *words;

    (void)state;
    bulletin->bushes[1].taps = 0;
    bulletin_sum_days(bulletin);
    fake_season(&bulletin->bushes[0]);
    fake_season(&bulletin->bushes[1]);
    bulletin->bushes[0].season->tapped = (struct civil_date){2026, 3, 17};
    bulletin->bushes[1].season->tapped = (struct civil_date){2026, 3, 16};
    words = why(bulletin, 15);
    assert_non_null(
        strstr(words, "\nThe trees are not tapped before Mon 16 Mar.\n"));
    free(words);
    bulletin->bushes[1].season->tapped = (struct civil_date){2026, 3, 15};
    words = why(bulletin, 15);
    assert_non_null(strstr(words, "too little of one or the other."));
    free(words);
    bulletin_free(bulletin);
}

static void a_day_that_is_not_there_is_an_error(void **state)
{
    static const struct show_style style = {UNITS_US, 80, false};
    struct bulletin *bulletin = fake_bulletin();
    struct error err = {""};
    struct text out;

    (void)state;
    text_init(&out, 1000);
    assert_int_equal(show_why(bulletin, FAKE_MADE,
                              (struct civil_date){2026, 4, 1}, &style, &out,
                              &err),
                     -1);
    assert_string_equal(err.text, "2026-04-01 is not in the bulletin: it goes "
                                  "from 2026-03-05 to 2026-03-15");
    assert_int_equal(out.length, 0);
    text_free(&out);
    bulletin_free(bulletin);
}

static void words_wrap_between_words(void **state)
{
    struct text out;

    (void)state;
    text_init(&out, 1000);
    table_wrap("below 32 F for hours", 12, 2, &out);
    assert_string_equal(out.bytes, "below 32 F\n  for hours\n");
    text_clear(&out);
    table_wrap("below 32 F", 8, 0, &out);
    assert_string_equal(out.bytes, "below\n32 F\n");
    text_clear(&out);
    /* A number that ends a sentence stays with it. */
    table_wrap("out before 22:30. About", 17, 0, &out);
    assert_string_equal(out.bytes, "out before 22:30.\nAbout\n");
    text_clear(&out);
    table_wrap("érablière du haut", 12, 0, &out);
    assert_string_equal(out.bytes, "érablière du\nhaut\n");
    text_free(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_week_at_80_columns),
        cmocka_unit_test(the_week_fits_80_and_uses_120),
        cmocka_unit_test(a_narrow_week_explains_what_it_shows),
        cmocka_unit_test(every_width_is_kept),
        cmocka_unit_test(colour_is_bold_alone_and_only_where_wanted),
        cmocka_unit_test(troubles_stand_below),
        cmocka_unit_test(what_is_to_be_done_stands_below),
        cmocka_unit_test(a_day_without_data_says_so),
        cmocka_unit_test(the_why_of_a_run),
        cmocka_unit_test(a_sure_hour_is_told_once),
        cmocka_unit_test(each_kind_of_day_has_its_reason),
        cmocka_unit_test(taps_that_are_out_are_the_reason),
        cmocka_unit_test(taps_to_come_are_the_reason),
        cmocka_unit_test(a_day_that_is_not_there_is_an_error),
        cmocka_unit_test(words_wrap_between_words),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
