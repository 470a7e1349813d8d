/* What people read of a bulletin in French: within its columns, without
 * English, in the bulletin's language whatever the program's is. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "base/words.h"
#include "fake_bulletin.h"
#include "publish/calendar.h"
#include "publish/calendar_events.h"
#include "publish/mail.h"
#include "publish/mail_watch.h"
#include "publish/page.h"
#include "publish/phrase.h"
#include "publish/show.h"
#include "unit_test.h"

enum { ENOUGH = 400000 };

/* January to June: "dim. 22 févr." */
#define DATE_COLUMNS 13

static const char *const english[] = {
    "the",  "and",  "from",    "with",   "today", "tonight", "tomorrow",
    "run",  "runs", "sap",     "chance", "night", "freezes", "weather",
    "days", "taps", "buckets", "buds",   "boil",  "collect", "about",
    "sat",  "day",  "until",   "next",   "none",  "good",    "season"};

static bool is_letter(unsigned char byte)
{
    return byte >= 0x80 || (byte >= 'a' && byte <= 'z') ||
           (byte >= 'A' && byte <= 'Z');
}

static void expect_no_english(const char *words)
{
    for (const char *at = words; *at != '\0';) {
        size_t length = 0;
        char word[32] = "";

        while (is_letter((unsigned char)at[length]))
            length++;
        for (size_t i = 0; i < length && i + 1 < sizeof word; i++)
            word[i] = (char)(at[i] >= 'A' && at[i] <= 'Z' ? at[i] + 32 : at[i]);
        for (size_t i = 0; i < sizeof english / sizeof english[0]; i++)
            if (strcmp(word, english[i]) == 0)
                fail_msg("\"%s\" is left over in: %.200s", word, at);
        at += length > 0 ? length : 1;
    }
}

static void expect_columns(const char *words, int most)
{
    for (const char *line = words; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        char *copy = mem_copy_bytes(line, length);

        if (utf8_columns(copy) > most)
            fail_msg("%d columns, not %d: %s", utf8_columns(copy), most, copy);
        free(copy);
        line += length + (line[length] == '\n');
    }
}

static void expect_words(const char *words, const char *piece)
{
    if (strstr(words, piece) == NULL)
        fail_msg("\"%s\" is not in: %.600s", piece, words);
}

static void add_action(struct bulletin *bulletin, enum action_kind kind,
                       enum action_averts averts, int day, int from_h)
{
    struct bulletin_action *action =
        fake_action(bulletin, kind, day, from_h, 3);

    action->averts = averts;
    action->all_day = kind == ACTION_TAP || kind == ACTION_PULL;
    action->start += SECONDS_PER_HOUR / 2;
    action->end += SECONDS_PER_HOUR / 2;
    action->sap_l = action->all_day ? 0 : 600;
}

static struct bulletin *french_bulletin(void)
{
    struct bulletin *bulletin = fake_bulletin();

    snprintf(bulletin->language, sizeof bulletin->language, "fr");
    /* Whose weather it is stays as its owner words it. */
    for (int i = 0; i < bulletin->source_count; i++)
        snprintf(bulletin->sources[i].credit,
                 sizeof bulletin->sources[i].credit, "MET Norway");
    fake_season(&bulletin->bushes[0]);
    add_action(bulletin, ACTION_COLLECT, AVERTS_OVERFLOW, 7, 10);
    add_action(bulletin, ACTION_BOIL, AVERTS_SPOILAGE, 7, 16);
    add_action(bulletin, ACTION_BOIL, AVERTS_FREEZE_UP, 8, 9);
    add_action(bulletin, ACTION_TAP, AVERTS_NOTHING, 9, 8);
    add_action(bulletin, ACTION_PULL, AVERTS_NOTHING, 10, 8);
    return bulletin;
}

/* Every hour of ten days, fresh and old, in both kinds of units. */
static void lines_fit(void **state)
{
    static const int widths[] = {80, 60, 40};
    struct bulletin *bulletin = french_bulletin();

    (void)state;
    words_use("fr");
    for (int hour = 0; hour < 10 * 24; hour++) {
        utc_s now = fake_time(bulletin, 5 + hour / 24, hour % 24, 30);
        struct show_style style = {hour % 2 == 0 ? UNITS_US : UNITS_METRIC,
                                   widths[hour % 3], false};
        struct text out;

        bulletin->weather_from = now - (hour % 5) * 9 * SECONDS_PER_HOUR;
        text_init(&out, ENOUGH);
        show_line(bulletin, now, &style, &out);
        assert_true(out.length > 0 && utf8_valid(out.bytes, out.length));
        expect_columns(out.bytes, style.columns);
        expect_no_english(out.bytes);
        text_free(&out);
    }
    words_use(NULL);
    bulletin_free(bulletin);
}

static void line_says(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct show_style style = {UNITS_METRIC, 80, false};
    struct text out;

    (void)state;
    words_use("fr");
    text_init(&out, ENOUGH);
    bulletin->weather_from = fake_time(bulletin, 7, 6, 0);
    show_line(bulletin, fake_time(bulletin, 7, 6, 30), &style, &out);
    assert_string_equal(
        out.bytes,
        "Bonne coulée aujourd’hui 10\u00a0h–17\u00a0h, 470\u00a0L, 85\u00a0% "
        "de chances. -5\u00a0°C cette nuit.");
    text_free(&out);
    words_use(NULL);
    bulletin_free(bulletin);
}

static void tables_fit(void **state)
{
    static const int widths[] = {80, 120};
    struct bulletin *bulletin = french_bulletin();
    struct error err;

    (void)state;
    words_use("fr");
    for (int i = 0; i < 4; i++) {
        struct show_style style = {i < 2 ? UNITS_US : UNITS_METRIC,
                                   widths[i % 2], false};
        struct text out;

        text_init(&out, ENOUGH);
        show_week(bulletin, FAKE_MADE, &style, &out);
        expect_columns(out.bytes, style.columns);
        expect_no_english(out.bytes);
        expect_words(out.bytes, "Étendue  Chances");
        text_clear(&out);
        assert_int_equal(show_why(bulletin, FAKE_MADE,
                                  (struct civil_date){2026, 3, 7 + i}, &style,
                                  &out, &err),
                         0);
        expect_columns(out.bytes, 100);
        /* The model's name is its own. */
        expect_no_english(out.bytes);
        text_free(&out);
    }
    words_use(NULL);
    bulletin_free(bulletin);
}

static void dates_fit(void **state)
{
    struct civil_date date = {2026, 1, 1};
    char words[PHRASE_SIZE];

    (void)state;
    words_use("fr");
    for (int day = 0; day < 181; day++, date = civil_date_add(date, 1)) {
        phrase_date_cell(date, words);
        if (utf8_columns(words) > DATE_COLUMNS)
            fail_msg("%s", words);
        /* Before a sentence's point stands none of an abbreviation. */
        phrase_date(date, words);
        assert_true(words[strlen(words) - 1] != '.');
    }
    phrase_date((struct civil_date){2026, 2, 22}, words);
    assert_string_equal(words, "dim. 22\u00a0février");
    words_use(NULL);
}

static void figures_are_french(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char words[PHRASE_SIZE];

    (void)state;
    words_use("fr");
    phrase_clock(bulletin, fake_time(bulletin, 7, 10, 30), words);
    assert_string_equal(words, "10\u00a0h\u00a030");
    phrase_clock(bulletin, fake_time(bulletin, 7, 9, 0), words);
    assert_string_equal(words, "9\u00a0h");
    phrase_per_tap(2.64, UNITS_METRIC, words);
    assert_string_equal(words, "2,6\u00a0L");
    phrase_volume(1.5, UNITS_METRIC, words);
    assert_string_equal(words, "1,5\u00a0L");
    phrase_chance(0.99, words);
    assert_string_equal(words, "plus de 95\u00a0%");
    phrase_chance_short(0.99, words);
    assert_string_equal(words, ">\u00a095\u00a0%");
    phrase_temperature(-2, UNITS_METRIC, words);
    assert_string_equal(words, "-2\u00a0°C");
    words_use(NULL);
    phrase_per_tap(2.64, UNITS_METRIC, words);
    assert_string_equal(words, "2.6 L");
    bulletin_free(bulletin);
}

/* It gives way by whole pieces, never inside a word or figure. */
static void expect_whole(const char *title)
{
    static const char *const ends[] = {"%", "gal", "L", "coulée"};

    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++)
        if (strlen(title) >= strlen(ends[i]) &&
            strcmp(title + strlen(title) - strlen(ends[i]), ends[i]) == 0)
            return;
    fail_msg("cut: %s", title);
}

/* The titles of all strengths, chances and amounts, up to 7000 taps. */
static void titles_fit(void **state)
{
    struct bulletin *bulletin = french_bulletin();

    (void)state;
    for (int i = 0; i < 600; i++) {
        struct calendar_memory memory = {0};
        struct bulletin_day *day = &bulletin->days[2];

        day->strength = (enum strength)(STRENGTH_WEEPING + i % 4);
        day->chance = (i % 21) / 20.0;
        day->sap_l_p50 = i * i / 5.0;
        bulletin->units = i / 4 % 2 == 0 ? UNITS_US : UNITS_METRIC;
        calendar_update(&memory, bulletin);
        for (int event = 0; event < memory.count; event++) {
            expect_columns(memory.events[event].summary, CALENDAR_SUMMARY_MAX);
            if (strstr(memory.events[event].uid, "-run-") != NULL)
                expect_whole(memory.events[event].summary);
            expect_no_english(memory.events[event].summary);
            expect_no_english(memory.events[event].description);
        }
        calendar_memory_free(&memory);
    }
    assert_string_equal(words_language(), "en");
    bulletin_free(bulletin);
}

static char *feed_of(const struct bulletin *bulletin)
{
    struct calendar_memory memory = {0};
    char *ics;

    calendar_update(&memory, bulletin);
    ics = calendar_to_ics(&memory, bulletin, NULL);
    calendar_memory_free(&memory);
    return ics;
}

/* Two operations of one daemon, turn after turn. */
static void fifty_turns_do_not_mix(void **state)
{
    struct bulletin *bulletins[] = {fake_bulletin(), french_bulletin()};
    char *feeds[2], *pages[2];

    (void)state;
    for (int i = 0; i < 2; i++) {
        feeds[i] = feed_of(bulletins[i]);
        pages[i] = page_to_html(bulletins[i], NULL);
    }
    expect_words(feeds[0], "Good run");
    expect_words(feeds[1], "Bonne coulée");
    expect_words(pages[0], "Day by day");
    expect_words(pages[1], "Jour par jour");
    for (int turn = 0; turn < 50; turn++) {
        char *feed = feed_of(bulletins[turn % 2]);
        char *page = page_to_html(bulletins[turn % 2], NULL);

        assert_string_equal(feed, feeds[turn % 2]);
        assert_string_equal(page, pages[turn % 2]);
        assert_string_equal(words_language(), "en");
        free(page);
        free(feed);
    }
    for (int i = 0; i < 2; i++) {
        free(pages[i]);
        free(feeds[i]);
        bulletin_free(bulletins[i]);
    }
}

/* The text between the tags. */
static char *text_of(const char *html)
{
    struct text out;

    text_init(&out, ENOUGH);
    while (*html != '\0') {
        size_t length = strcspn(html, "<");

        text_add_bytes(&out, html, length);
        text_add(&out, " ");
        html += length;
        if (strncmp(html, "<style", 6) == 0)
            html = strstr(html, "</style>");
        else if (strncmp(html, "<script", 7) == 0)
            html = strstr(html, "</script>");
        html += strcspn(html, ">");
        html += *html == '>';
    }
    return text_steal(&out);
}

static void page_is_french(void **state)
{
    struct bulletin *bulletin = french_bulletin();
    struct page_options options = {.mails_given_up = 2};
    struct error err = {""};
    char *page, *words;

    (void)state;
    page = page_to_html(bulletin, &options);
    assert_int_equal(page_check(page, strlen(page), &err), 0);
    expect_words(page, "<html lang=\"fr\">");
    expect_words(page, "2 courriels des trois derniers jours ont été "
                       "abandonnés\u202f: «\u202fthawbell check\u202f» dit "
                       "lesquels et pourquoi.");
    words = text_of(page);
    expect_no_english(words);
    free(words);
    free(page);
    bulletin_free(bulletin);
}

static void morning_is_french(void **state)
{
    struct bulletin *bulletin = french_bulletin();
    struct mail_letter letter;
    char *warning, *body, *words;
    size_t length;

    (void)state;
    mail_morning(bulletin, FAKE_MADE, NULL, &letter, &warning);
    assert_string_equal(words_language(), "en");
    assert_null(warning);
    expect_columns(letter.subject, 60);
    expect_no_english(letter.subject);
    expect_columns(letter.text, 80);
    expect_no_english(letter.text);
    words = text_of(letter.html);
    expect_no_english(words);
    expect_words(letter.html, "<html lang=\"fr\">");
    body = mail_body(&letter, "a@example.org", &length);
    expect_words(body, "Content-Language: fr\r\n");
    free(body);
    free(words);
    mail_letter_free(&letter);
    bulletin_free(bulletin);
}

static void alerts_are_french(void **state)
{
    struct bulletin *bulletin = french_bulletin();
    struct mail_condition conditions[MAIL_KINDS];
    unsigned seen = 0;

    (void)state;
    for (int hour = 0; hour < 10 * 24; hour++) {
        utc_s now = fake_time(bulletin, 5 + hour / 24, hour % 24, 30);
        struct mail_told none = {ACTION_BOIL, {2026, 3, 5 + hour / 24}, 0, 0};
        int count = mail_watch(bulletin, now, &none, 1, conditions);

        for (int i = 0; i < count; i++) {
            seen |= 1U << conditions[i].kind;
            expect_no_english(conditions[i].subject);
            for (int line = 0; line < MAIL_LINES; line++)
                expect_no_english(conditions[i].lines[line]);
        }
    }
    assert_int_equal(seen, (1U << MAIL_KINDS) - 1);
    assert_string_equal(words_language(), "en");
    bulletin_free(bulletin);
}

/* The data are the same whoever reads them. */
static void data_are_not_localised(void **state)
{
    struct bulletin *bulletin = french_bulletin();
    char *plain = bulletin_to_json(bulletin), *french;

    (void)state;
    words_use("fr");
    french = bulletin_to_json(bulletin);
    words_use(NULL);
    assert_string_equal(french, plain);
    free(french);
    free(plain);
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_fit),
        cmocka_unit_test(line_says),
        cmocka_unit_test(tables_fit),
        cmocka_unit_test(dates_fit),
        cmocka_unit_test(figures_are_french),
        cmocka_unit_test(titles_fit),
        cmocka_unit_test(fifty_turns_do_not_mix),
        cmocka_unit_test(page_is_french),
        cmocka_unit_test(morning_is_french),
        cmocka_unit_test(alerts_are_french),
        cmocka_unit_test(data_are_not_localised),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
