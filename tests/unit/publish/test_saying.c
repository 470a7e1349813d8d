#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "fake_bulletin.h"
#include "unit_test.h"

static const char unboiled[] =
    N_("Unboiled, about %s would spoil, from %s on (chance %s).");

static void expect(const struct bulletin *bulletin, const struct saying *saying,
                   enum unit_system units, const char *words)
{
    char out[SAYING_SIZE];

    saying_words(bulletin, saying, units, out);
    assert_string_equal(out, words);
}

static void each_kind_of_value_has_its_words(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    utc_s at = fake_time(bulletin, 7, 18, 30);
    const struct {
        struct saying_value value;
        const char *us, *metric;
    } rows[] = {
        {said_nothing(), "", ""},
        {said_volume(100), "25 gal", "100 L"},
        {said_chance(0.82), "80%", "80%"},
        {said_moment(at), "Sat 7 Mar 18:30", "Sat 7 Mar 18:30"},
        {said_clock(at), "18:30", "18:30"},
        {said_date((struct civil_date){2026, 3, 8}), "Sun 8 Mar", "Sun 8 Mar"},
        {said_heat(103.5), "218.3 F", "103.5 C"},
        {said_count(19), "19", "19"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct saying saying = {"%s", {rows[i].value}};

        expect(bulletin, &saying, UNITS_US, rows[i].us);
        expect(bulletin, &saying, UNITS_METRIC, rows[i].metric);
    }
    bulletin_free(bulletin);
}

/* A pattern comes out of a file: whatever it holds, nothing but %s and %1$s is
 * filled in, and what is too long is cut between characters. */
static void any_pattern_is_harmless(void **state)
{
    static const char *const rows[][2] = {
        {"%2$s before %1$s", "7 before 6"},
        {"%s %s %s %s", "6 7 8 %"},
        {"%4$s %9$s %0$s", "% % %0$s"},
        {"%n %d %1$d 100%", "%n %d %1$d 100%"},
        {"", ""},
    };
    struct bulletin *bulletin = fake_bulletin();
    struct saying saying = {"", {said_count(6), said_count(7), said_count(8)}};
    char out[SAYING_SIZE];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        snprintf(saying.pattern, sizeof saying.pattern, "%s", rows[i][0]);
        expect(bulletin, &saying, UNITS_US, rows[i][1]);
    }
    for (int i = 0; i < 93; i++)
        memcpy(saying.pattern + 2 * i, i % 2 ? "%s" : "é", 3);
    saying.values[0] = said_moment(FAKE_MADE);
    saying.values[1] = saying.values[2] = saying.values[0];
    saying_words(bulletin, &saying, UNITS_US, out);
    assert_true(utf8_valid(out, strlen(out)));
    bulletin_free(bulletin);
}

/* A plan's action and note, as JSON and back. */
static struct bulletin *told(void)
{
    struct bulletin *bulletin = fake_bulletin(), *back = NULL;
    struct bulletin_action action = {.kind = ACTION_BOIL,
                                     .date = {2026, 3, 7},
                                     .start = fake_time(bulletin, 7, 18, 0),
                                     .end = fake_time(bulletin, 7, 22, 0),
                                     .sap_l = 700};
    struct error err;
    char *json;

    action_say(bulletin, &action, SAYING_REASON, unboiled, said_volume(380),
               said_moment(fake_time(bulletin, 10, 6, 0)), said_chance(0.82));
    action_say(bulletin, &action, SAYING_REASON,
               N_("It is the last fire in sight up to %s: boil what there is."),
               said_date((struct civil_date){2026, 3, 14}), said_nothing(),
               said_nothing());
    action_say(bulletin, &action, SAYING_DETAIL,
               N_("Lit by %s, it is out by %s."),
               said_clock(fake_time(bulletin, 7, 16, 0)),
               said_clock(fake_time(bulletin, 7, 22, 30)), said_nothing());
    bulletin_add_action(bulletin, &action);
    error_list_add(&bulletin->notes, "%s", "As it stands.");
    bulletin_note(bulletin, N_("Nothing to collect or boil until %s."),
                  said_date((struct civil_date){2026, 3, 7}), said_nothing());
    json = bulletin_to_json(bulletin);
    assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err), 0);
    bulletin_free(bulletin);
    free(json);
    return back;
}

static void what_was_said_is_told_again_in_other_words(void **state)
{
    struct bulletin *bulletin = told();
    struct bulletin_action *action = &bulletin->actions[0];
    const char *before;

    (void)state;
    assert_string_equal(action->reason,
                        "Unboiled, about 100 gal would spoil, from Tue 10 Mar "
                        "06:00 on (chance 80%). It is the last fire in sight "
                        "up to Sat 14 Mar: boil what there is.");
    assert_string_equal(action->detail, "Lit by 16:00, it is out by 22:30.");
    bulletin_reword(bulletin, UNITS_METRIC);
    assert_non_null(strstr(action->reason, "about 380 L would spoil"));
    before = words_use("fr");
    bulletin_reword(bulletin, UNITS_METRIC);
    words_use(before);
    assert_non_null(strstr(action->reason, "suriraient"));
    assert_null(strstr(action->reason, "spoil"));
    assert_non_null(strstr(action->detail, "22\u00a0h\u00a030"));
    assert_string_equal(bulletin->notes.items[0], "As it stands.");
    assert_string_equal(bulletin->notes.items[1],
                        "Rien à ramasser ni à bouillir avant le sam. "
                        "7\u00a0mars.");
    bulletin_free(bulletin);
}

/* Replaces the first `old` of the JSON, of the same length. */
static void break_json(const char *old, const char *new)
{
    struct bulletin *bulletin = told(), *back = NULL;
    char *json = bulletin_to_json(bulletin), *at = strstr(json, old);
    struct error err;

    assert_non_null(at);
    assert_int_equal(strlen(old), strlen(new));
    memcpy(at, new, strlen(new));
    assert_int_equal(bulletin_from_json(json, strlen(json), &back, &err), 0);
    assert_int_equal(back->actions[0].said_count, 0);
    bulletin_reword(back, UNITS_METRIC);
    assert_string_equal(back->actions[0].reason, bulletin->actions[0].reason);
    bulletin_free(back);
    bulletin_free(bulletin);
    free(json);
}

/* What a later version might say is not half understood: the words stay. */
static void what_is_not_understood_stays_in_its_words(void **state)
{
    (void)state;
    break_json("{\"volume_l\":", "{\"weight_g\":");
    break_json("\"in\":\"reason\"", "\"in\":\"rhymes\"");
    break_json("{\"chance\":0.82}", "{\"chance\":-0.8}");
    break_json("\"values\":[{\"vol", "\"valves\":[{\"vol");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_kind_of_value_has_its_words),
        cmocka_unit_test(any_pattern_is_harmless),
        cmocka_unit_test(what_was_said_is_told_again_in_other_words),
        cmocka_unit_test(what_is_not_understood_stays_in_its_words),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
