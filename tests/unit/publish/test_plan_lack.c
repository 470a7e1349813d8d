/* Why there is no plan: told in the plan's place, wherever a plan is told, in
 * both languages, and once. */
#include "unit_test.h"

#include <string.h>

#include "base/json.h"
#include "base/words.h"
#include "fake_bulletin.h"
#include "publish/mail_words.h"
#include "publish/page.h"
#include "shown.h"

static const struct {
    enum plan_lack lack;
    const char *word;
    const char *english, *french; /* of the sentence, within a line */
    const char *line;             /* at 80 columns, its end */
} rows[] = {
    {LACKS_TANK, "tank", "tells of no tank", "ne dit aucun bassin",
     " No tank, no plan."},
    {LACKS_EVAPORATOR, "evaporator", "tells of no evaporator",
     "ne dit aucun évaporateur", " No evaporator, no plan."},
    {LACKS_HOURS, "hours", "no fire fits", "aucun feu ne tient",
     " No fire fits, no plan."},
    {LACKS_TAPS, "taps", "taps are in: thawbell note",
     "est entaillé : thawbell", " No taps noted, no plan."},
};
enum { ROWS = sizeof rows / sizeof *rows };

/* As read back by another program than the one that made it. */
static struct bulletin *lacking(enum plan_lack lack)
{
    struct bulletin *made = fake_bulletin(), *read;
    struct error err = {""};
    char *json;

    made->lack = lack;
    json = bulletin_to_json(made);
    if (bulletin_from_json(json, strlen(json), &read, &err) != 0)
        fail_msg("%s", err.text);
    assert_int_equal(read->lack, lack);
    free(json);
    bulletin_free(made);
    return read;
}

/* The words on one line, blanks and breaks made one. */
static char *unwrapped(char *words)
{
    size_t kept = 0;

    for (size_t i = 0; words[i] != '\0'; i++) {
        bool blank = words[i] == ' ' || words[i] == '\n';

        if (blank && kept > 0 && words[kept - 1] == ' ')
            continue;
        words[kept++] = blank ? ' ' : words[i];
    }
    words[kept] = '\0';
    return words;
}

static int times(const char *words, const char *piece)
{
    int count = 0;

    for (; (words = strstr(words, piece)) != NULL; words += strlen(piece))
        count++;
    return count;
}

static void expect_once(char *words, const char *piece, const char *where)
{
    if (times(unwrapped(words), piece) != 1)
        fail_msg("%s tells \"%s\" %d times, not once", where, piece,
                 times(words, piece));
    free(words);
}

static void expect_everywhere(struct bulletin *bulletin, const char *language,
                              const char *words)
{
    char *past;

    snprintf(bulletin->language, sizeof bulletin->language, "%s", language);
    words_use(language);
    expect_once(shown_week(bulletin, FAKE_MADE, 80), words, "the week");
    expect_once(shown_why(bulletin, 8), words, "why");
    past = shown_why(bulletin, 5);
    assert_null(strstr(unwrapped(past), words));
    free(past);
    expect_once(page_to_html(bulletin, NULL), words, "the page");
    expect_once(mail_morning_text(bulletin, FAKE_MADE, NULL), words,
                "the mail");
    expect_once(mail_morning_html(bulletin, FAKE_MADE, NULL, NULL), words,
                "the mail's HTML");
    words_use(NULL);
}

static void told_wherever_a_plan_is(void **state)
{
    (void)state;
    for (int i = 0; i < ROWS; i++) {
        struct bulletin *bulletin = lacking(rows[i].lack);

        expect_everywhere(bulletin, "en", rows[i].english);
        expect_everywhere(bulletin, "fr", rows[i].french);
        bulletin_free(bulletin);
    }
}

/* Before the season, where else the actions stand. */
static void stands_in_the_plans_place(void **state)
{
    struct bulletin *bulletin = lacking(LACKS_TANK);
    char *words;

    (void)state;
    fake_season(&bulletin->bushes[0]);
    error_list_add(&bulletin->notes, "%s", "A note.");
    words = unwrapped(shown_week(bulletin, FAKE_MADE, 80));
    assert_true(strstr(words, "Range: holds") < strstr(words, "No plan for"));
    assert_true(strstr(words, "No plan for") < strstr(words, "north: "));
    free(words);
    words = page_to_html(bulletin, NULL);
    assert_true(strstr(words, "id=\"h-todo\"") < strstr(words, "No plan for"));
    assert_true(strstr(words, "No plan for") < strstr(words, "A note."));
    free(words);
    bulletin_free(bulletin);
}

/* At the end of the line, and the first to go where it is narrow. */
static void the_line_tells_it_last(void **state)
{
    (void)state;
    for (int i = 0; i < ROWS; i++) {
        struct bulletin *bulletin = lacking(rows[i].lack);
        char *words = shown_line(bulletin, FAKE_MADE, 80);
        size_t length = strlen(words), end = strlen(rows[i].line);

        assert_true(length > end);
        assert_string_equal(words + length - end, rows[i].line);
        assert_non_null(strstr(words, "No run"));
        free(words);
        words = shown_line(bulletin, FAKE_MADE, 20);
        assert_null(strstr(words, "plan"));
        assert_non_null(strstr(words, "No run"));
        free(words);
        bulletin_free(bulletin);
    }
}

static void expect_in_json(char *json, const char *word)
{
    struct error err = {""};
    cJSON *root = json_parse(json, strlen(json), &err);
    const cJSON *object = json_object(root, "no_plan");

    assert_non_null(object);
    assert_string_equal(json_string(object, "lacks"), word);
    assert_true(strlen(json_string(object, "words")) > 20);
    cJSON_Delete(root);
    free(json);
}

static void told_to_programs(void **state)
{
    (void)state;
    for (int i = 0; i < ROWS; i++) {
        struct bulletin *bulletin = lacking(rows[i].lack);

        expect_in_json(bulletin_to_json(bulletin), rows[i].word);
        expect_in_json(bulletin_week_json(bulletin, FAKE_MADE), rows[i].word);
        expect_in_json(
            bulletin_day_json(bulletin, (struct civil_date){2026, 3, 8}),
            rows[i].word);
        bulletin_free(bulletin);
    }
}

/* A newer program's lack is not guessed at, and none is not told. */
static void what_is_not_known_is_not_told(void **state)
{
    struct bulletin *bulletin = lacking(LACKS_TANK), *read;
    char *json = bulletin_to_json(bulletin), *at;
    struct error err = {""};

    (void)state;
    at = strstr(json, "\"tank\"");
    memcpy(at, "\"wood\"", 6);
    assert_int_equal(bulletin_from_json(json, strlen(json), &read, &err), 0);
    assert_int_equal(read->lack, LACKS_NOTHING);
    free(json);
    json = bulletin_to_json(read);
    assert_null(strstr(json, "no_plan"));
    free(json);
    bulletin_free(read);
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(told_wherever_a_plan_is),
        cmocka_unit_test(stands_in_the_plans_place),
        cmocka_unit_test(the_line_tells_it_last),
        cmocka_unit_test(told_to_programs),
        cmocka_unit_test(what_is_not_known_is_not_told),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
