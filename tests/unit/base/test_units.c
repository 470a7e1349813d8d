#include <string.h>

#include "base/trade.h"
#include "base/units.h"
#include "unit_test.h"

static struct error err;

static double read(const char *words, enum dimension dimension)
{
    double value = NAN;
    if (quantity_parse(words, dimension, &value, &err) != 0)
        fail_msg("%s: %s", words, err.text);
    return value;
}

static void refused(const char *words, enum dimension dimension,
                    const char *names)
{
    double value = 7;
    err.text[0] = '\0';
    if (quantity_parse(words, dimension, &value, &err) == 0)
        fail_msg("\"%s\" was taken as %g", words, value);
    if (!strstr(err.text, names))
        fail_msg("\"%s\": the sentence \"%s\" does not name \"%s\"", words,
                 err.text, names);
    assert_true(value == 7);
}

/* NIST Special Publication 811 (2008), B.8 and B.9: foot 3.048 E-01 m (exact),
 * gallon 3.785 412 E-03 m3 (231 cubic inches of 2.54 cm: 3.785 411 784 L),
 * quart 9.463 529 E-04 m3, pint 4.731 765 E-04 m3, inch of mercury (0 C)
 * 3.386 38 E+03 Pa, conventional 3.386 389 E+03, millimetre of mercury
 * conventional 1.333 224 E+02 Pa, cord 3.624 556 E+00 m3. */
static void factors_of_nist_sp_811(void **state)
{
    (void)state;
    assert_near(read("1 ft", DIMENSION_HEIGHT_M), 0.3048, 1e-15);
    assert_near(read("1480 ft", DIMENSION_HEIGHT_M), 451.104, 1e-9);
    assert_near(read("450m", DIMENSION_HEIGHT_M), 450, 0);
    assert_near(read("1 gal", DIMENSION_VOLUME_L), 231 * 0.016387064, 1e-12);
    assert_near(read("4 qt", DIMENSION_VOLUME_L), 3.785411784, 1e-12);
    assert_near(read("1 qt", DIMENSION_VOLUME_L), 0.9463529, 5e-8);
    assert_near(read("1 pt", DIMENSION_VOLUME_L), 0.4731765, 5e-8);
    assert_near(read("19 hl", DIMENSION_VOLUME_L), 1900, 0);
    assert_near(read("250 ml", DIMENSION_VOLUME_L), 0.25, 1e-15);
    assert_near(read("1.2 m3", DIMENSION_VOLUME_L), 1200, 1e-12);
    assert_near(read("35 gal/h", DIMENSION_RATE_L_H), 132.48941244, 1e-9);
    assert_near(read("22 inHg", DIMENSION_VACUUM_KPA), 74.500558, 1e-9);
    assert_near(read("1 mmHg", DIMENSION_PRESSURE_HPA), 1.333224, 1e-12);
    assert_near(read("29.92 inHg", DIMENSION_PRESSURE_HPA), 1013.2075888, 1e-7);
    assert_near(read("101.325 kPa", DIMENSION_PRESSURE_HPA), 1013.25, 1e-9);
    assert_near(read("2 x 6 ft", DIMENSION_AREA_M2), 12 * 0.09290304, 1e-12);
    assert_near(read("60x180 cm", DIMENSION_AREA_M2), 1.08, 1e-12);
    assert_near(read("12 ft2", DIMENSION_AREA_M2), 1.11483648, 1e-12);
    /* 22 x 3.785 411 784 / 3.624 556 */
    assert_near(read("22 gal syrup per cord", DIMENSION_SYRUP_PER_WOOD),
                22.976347, 1e-6);
    assert_near(read("23 L/m3", DIMENSION_SYRUP_PER_WOOD), 23, 0);
}

static void temperatures(void **state)
{
    (void)state;
    assert_near(read("32 F", DIMENSION_TEMPERATURE_C), 0, 1e-12);
    assert_near(read("-40 \xC2\xB0"
                     "F",
                     DIMENSION_TEMPERATURE_C),
                -40, 1e-12);
    assert_near(read("212F", DIMENSION_TEMPERATURE_C), 100, 1e-12);
    assert_near(read("-5 C", DIMENSION_TEMPERATURE_C), -5, 0);
    assert_near(c_from_f(28), -20.0 / 9, 1e-12);
    assert_near(f_from_c(-5), 23, 1e-12);
    assert_near(read("2.1 Brix", DIMENSION_SUGAR_BRIX), 2.1, 0);
    assert_near(read("80 %", DIMENSION_SHARE_PCT), 80, 0);
}

/* As people write them: "2,1 %" where a comma is the decimal point, "brix". */
static void commas_and_small_letters(void **state)
{
    (void)state;
    assert_near(read("2,1 %", DIMENSION_SUGAR_BRIX), 2.1, 0);
    assert_near(read("-2,25C", DIMENSION_TEMPERATURE_C), -2.25, 0);
    assert_near(read(",5 gal", DIMENSION_VOLUME_L), L_PER_US_GALLON / 2, 0);
    assert_near(read("1,5e1 L", DIMENSION_VOLUME_L), 15, 0);
    assert_near(read("1,0005 L", DIMENSION_VOLUME_L), 1.0005, 0);
    assert_near(read("0,5 x 1,2 m", DIMENSION_AREA_M2), 0.6, 1e-12);
    assert_near(read("66.9 brix", DIMENSION_SUGAR_BRIX), 66.9, 0);
    assert_near(read("66,9 \xC2\xB0"
                     "Brix",
                     DIMENSION_SUGAR_BRIX),
                66.9, 0);
    assert_near(read("2 GAL", DIMENSION_VOLUME_L), 2 * L_PER_US_GALLON, 0);
    assert_near(read("150f", DIMENSION_TEMPERATURE_C), c_from_f(150), 1e-12);
    assert_near(read("29 inhg", DIMENSION_PRESSURE_HPA),
                read("29 inHg", DIMENSION_PRESSURE_HPA), 0);
}

static void sentences_name_word_and_units(void **state)
{
    (void)state;
    refused("500", DIMENSION_VOLUME_L, "gal");
    refused("500", DIMENSION_VOLUME_L, "500");
    refused("500 gall", DIMENSION_VOLUME_L, "gall");
    refused("500 gal of sap", DIMENSION_VOLUME_L, "gal of sap");
    refused("many gal", DIMENSION_VOLUME_L, "many gal");
    refused("", DIMENSION_VOLUME_L, "number");
    refused("1e308 gal", DIMENSION_VOLUME_L, "too large");
    refused("1e200 x 1e200 m", DIMENSION_AREA_M2, "too large");
    refused("0x10 gal", DIMENSION_VOLUME_L, "x10 gal");
    refused("inf gal", DIMENSION_VOLUME_L, "inf gal");
    refused("1,900 gal", DIMENSION_VOLUME_L, "without a comma");
    refused("1.5,2 gal", DIMENSION_VOLUME_L, "without a comma");
    refused("1,5,2 gal", DIMENSION_VOLUME_L, "without a comma");
    refused("1, gal", DIMENSION_VOLUME_L, "without a comma");
    refused("1e999 gal", DIMENSION_VOLUME_L, "1e999");
    refused("450 m", DIMENSION_VOLUME_L, "m");
    refused("2 x 6", DIMENSION_AREA_M2, "2 x 6");
    refused("2 x ft", DIMENSION_AREA_M2, "ft");
    refused("2 x 6 x 3 ft", DIMENSION_AREA_M2, "x 3 ft");
    refused("20 gal", DIMENSION_SYRUP_PER_WOOD, "gal");
    for (int i = 0; i < DIMENSION_COUNT; i++)
        assert_true(strlen(dimension_units((enum dimension)i)) > 0);
}

static void numbers_are_strict(void **state)
{
    (void)state;
    static const char *const bad[] = {"",     "+",   "-",     ".",     "e5",
                                      "1e",   "1e+", "0x1",   "nan",   "inf",
                                      "1 ",   " 1",  "1.2.",  "--1",   "1,0",
                                      "1e5.", "1_0", "1e999", "-1e999"};
    double value = 0;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (number_parse(bad[i], strlen(bad[i]), &value))
            fail_msg("\"%s\" was taken", bad[i]);
    assert_true(number_parse("-12.5e1xyz", 7, &value));
    assert_near(value, -125, 0);
    assert_true(number_parse("+.5", 3, &value));
    assert_near(value, 0.5, 0);
    assert_true(number_parse("5.", 2, &value));
    assert_true(number_parse("1e-400", 6, &value));
    assert_near(value, 0, 0);
    assert_false(number_parse("1\0002", 3, &value));
}

static void integers_are_strict(void **state)
{
    (void)state;
    long value = 0;
    assert_true(integer_parse("-12", -20, 20, &value));
    assert_int_equal(-12, value);
    assert_true(integer_parse("+7", 0, 7, &value));
    assert_int_equal(7, value);
    static const char *const bad[] = {
        "", "-", "8x", "1.0", " 1", "21", "-21", "18446744073709551621", "1e1"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(integer_parse(bad[i], -20, 20, &value));
    assert_int_equal(7, value);
}

static void shown_as_people_round(void **state)
{
    (void)state;
    char out[QUANTITY_SIZE];
    volume_format(212 * L_PER_US_GALLON, UNITS_US, out);
    assert_string_equal("212 gal", out);
    volume_format(1.44, UNITS_METRIC, out);
    assert_string_equal("1.4 L", out);
    volume_format(9.96, UNITS_METRIC, out);
    assert_string_equal("10 L", out);
    temperature_format(-2.2, UNITS_US, out);
    assert_string_equal("28 F", out);
    temperature_format(-0.4, UNITS_METRIC, out);
    assert_string_equal("0 C", out);
    temperature_format(-1.6, UNITS_METRIC, out);
    assert_string_equal("-2 C", out);
    height_format(450, UNITS_METRIC, out);
    assert_string_equal("450 m", out);
    height_format(451.104, UNITS_US, out);
    assert_string_equal("1480 ft", out);
    pressure_format(989.2, UNITS_US, out);
    assert_string_equal("29.21 inHg", out);
    pressure_format(989.2, UNITS_METRIC, out);
    assert_string_equal("989 hPa", out);
    per_tap_format(1.2 * L_PER_US_GALLON, UNITS_US, out);
    assert_string_equal("1.2 gal", out);
    per_tap_format(14.52, UNITS_METRIC, out);
    assert_string_equal("14.5 L", out);
}

static void trade_words_go_both_ways(void **state)
{
    (void)state;
    for (int i = 0; i < SPECIES_COUNT; i++)
        assert_int_equal(i, species_from_word(species_word((enum species)i)));
    for (int i = 0; i < GATHERING_COUNT; i++)
        assert_int_equal(
            i, gathering_from_word(gathering_word((enum gathering)i)));
    for (int i = 0; i < STRENGTH_COUNT; i++)
        assert_int_equal(i,
                         strength_from_word(strength_word((enum strength)i)));
    assert_int_equal(-1, species_from_word("oak"));
    assert_int_equal(-1, gathering_from_word(""));
    assert_non_null(species_refusal("paper birch"));
    assert_non_null(species_refusal("black walnut"));
    assert_null(species_refusal("sugar maple"));
}

static void nearest_word_is_near(void **state)
{
    (void)state;
    static const char *const known[] = {"taps", "bucket", "elevation",
                                        "latitude", "longitude"};
    assert_string_equal("elevation", nearest_word("elevaton", known, 5));
    assert_string_equal("longitude", nearest_word("longtitude", known, 5));
    assert_string_equal("bucket", nearest_word("buckets", known, 5));
    assert_string_equal("taps", nearest_word("TAP", known, 5));
    /* two neighbours swapped count once */
    assert_string_equal("taps", nearest_word("tpas", known, 5));
    assert_null(nearest_word("wood", known, 5));
    assert_null(nearest_word("x", known, 5));
    assert_null(nearest_word("", known, 5));
    assert_null(nearest_word("taps", known, 0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(factors_of_nist_sp_811),
        cmocka_unit_test(temperatures),
        cmocka_unit_test(commas_and_small_letters),
        cmocka_unit_test(sentences_name_word_and_units),
        cmocka_unit_test(numbers_are_strict),
        cmocka_unit_test(integers_are_strict),
        cmocka_unit_test(shown_as_people_round),
        cmocka_unit_test(trade_words_go_both_ways),
        cmocka_unit_test(nearest_word_is_near),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
