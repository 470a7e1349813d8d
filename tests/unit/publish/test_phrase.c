#include <string.h>
#include <strings.h>

#include "fake_bulletin.h"
#include "publish/phrase.h"
#include "unit_test.h"

static void a_chance_is_never_certain(void **state)
{
    static const struct {
        double chance;
        const char *words;
    } rows[] = {{0, "under 5%"}, {0.024, "under 5%"}, {0.026, "5%"},
                {0.36, "35%"},   {0.38, "40%"},       {0.5, "50%"},
                {0.974, "95%"},  {0.976, "over 95%"}, {1, "over 95%"}};
    char words[PHRASE_SIZE];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        phrase_chance(rows[i].chance, words);
        assert_string_equal(words, rows[i].words);
    }
}

static void volumes_are_told_in_steps(void **state)
{
    static const struct {
        double volume_l;
        const char *words;
    } rows[] = {{0, "0 L"},          {0.34, "0.3 L"},  {1.6, "1.5 L"},
                {2.9, "3 L"},        {7.4, "7 L"},     {12.4, "10 L"},
                {47.6, "50 L"},      {97.6, "100 L"},  {124, "120 L"},
                {998, "1000 L"},     {1949, "1900 L"}, {12345, "12000 L"},
                {987654, "990000 L"}};
    char words[PHRASE_SIZE];

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        phrase_volume(rows[i].volume_l, UNITS_METRIC, words);
        assert_string_equal(words, rows[i].words);
    }
    /* A US gallon is 231 cubic inches of 2.54 cm: 3.785411784 L (NIST SP 811,
     * appendix B). */
    phrase_volume(50 * 3.785411784, UNITS_US, words);
    assert_string_equal(words, "50 gal");
    phrase_volume_range(230, 720, UNITS_US, words);
    assert_string_equal(words, "60-190");
}

static void per_tap_volumes_keep_small_ones_apart(void **state)
{
    char words[PHRASE_SIZE];

    (void)state;
    phrase_per_tap(0, UNITS_US, words);
    assert_string_equal(words, "0 gal");
    phrase_per_tap(0.19, UNITS_US, words);
    assert_string_equal(words, "0.05 gal");
    phrase_per_tap(0.4, UNITS_US, words);
    assert_string_equal(words, "0.1 gal");
    phrase_per_tap(2.5, UNITS_METRIC, words);
    assert_string_equal(words, "2.5 L");
}

static void temperatures_and_their_differences(void **state)
{
    char words[PHRASE_SIZE];

    (void)state;
    phrase_temperature(-0.4, UNITS_METRIC, words);
    assert_string_equal(words, "0 C");
    phrase_temperature(-40, UNITS_US, words);
    assert_string_equal(words, "-40 F");
    phrase_temperature_span(2, UNITS_US, words);
    assert_string_equal(words, "4 F");
    phrase_degree_hours(10, UNITS_US, words);
    assert_string_equal(words, "18 F-hours");
}

static void days_and_hours(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char words[PHRASE_SIZE];

    (void)state;
    phrase_date((struct civil_date){2026, 3, 7}, words);
    assert_string_equal(words, "Sat 7 Mar");
    phrase_date((struct civil_date){2025, 12, 31}, words);
    assert_string_equal(words, "Wed 31 Dec");
    phrase_moment(bulletin, FAKE_MADE, words);
    assert_string_equal(words, "Fri 6 Mar 18:10");
    phrase_window(bulletin, fake_time(bulletin, 8, 0, 0),
                  fake_time(bulletin, 9, 0, 0), words);
    assert_string_equal(words, "00:00-24:00");
    phrase_window(bulletin, fake_time(bulletin, 8, 0, 0),
                  fake_time(bulletin, 8, 9, 30), words);
    assert_string_equal(words, "00:00-09:30");
    bulletin_free(bulletin);
}

/* The same words as in configuration and JSON, before translation. */
static void strengths_and_trees_have_the_trades_words(void **state)
{
    (void)state;
    for (int i = 0; i < STRENGTH_COUNT; i++)
        assert_string_equal(phrase_strength((enum strength)i),
                            strength_word((enum strength)i));
    for (int i = 0; i < GATHERING_COUNT; i++)
        assert_string_equal(phrase_gathering((enum gathering)i),
                            gathering_word((enum gathering)i));
    for (int i = 0; i < SPECIES_COUNT; i++)
        assert_int_equal(strcasecmp(phrase_species((enum species)i),
                                    species_word((enum species)i)),
                         0);
}

/* The weather told is that of the bush that gives most: here brook's, which
 * lies five degrees colder than north. */
static void a_reason_is_of_the_leading_bush(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_bush *brook = &bulletin->bushes[1];
    char words[256];

    (void)state;
    phrase_reason(bulletin, (struct civil_date){2026, 3, 7}, UNITS_US, words,
                  sizeof words);
    assert_string_equal(words, "Freezes to 19 F, then thaws to 46 F.");
    brook->taps = 1000;
    for (int hour = 0; hour < brook->outlook->hours; hour++)
        brook->air_temp_c[hour] -= 5;
    phrase_reason(bulletin, (struct civil_date){2026, 3, 7}, UNITS_US, words,
                  sizeof words);
    assert_string_equal(words, "Freezes to 10 F, then thaws to 46 F.");
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_chance_is_never_certain),
        cmocka_unit_test(volumes_are_told_in_steps),
        cmocka_unit_test(per_tap_volumes_keep_small_ones_apart),
        cmocka_unit_test(temperatures_and_their_differences),
        cmocka_unit_test(days_and_hours),
        cmocka_unit_test(strengths_and_trees_have_the_trades_words),
        cmocka_unit_test(a_reason_is_of_the_leading_bush),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
