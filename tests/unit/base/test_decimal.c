/* The peer is the C library's printf, whose "%.*f" is exact (glibc rounds the
 * exact binary value, a tie to even). */
#include <float.h>
#include <stdio.h>
#include <string.h>

#include "base/decimal.h"
#include "base/text.h"
#include "test_seed.h"
#include "unit_test.h"

static void same_as_printf(double value)
{
    char ours[DECIMAL_SIZE], wanted[DECIMAL_SIZE];

    for (int decimals = 0; decimals <= 6; decimals++) {
        int length = snprintf(wanted, sizeof wanted, "%.*f", decimals, value);
        size_t written = decimal_write(value, decimals, ours);

        if (strcmp(ours, wanted) != 0 || written != (size_t)length)
            fail_msg("%a with %d decimals is \"%s\", not \"%s\"", value,
                     decimals, ours, wanted);
    }
}

static void both_signs(double value)
{
    same_as_printf(value);
    same_as_printf(-value);
}

static void ties_and_ends(void **state)
{
    (void)state;
    static const double values[] = {0,
                                    0.5,
                                    1.5,
                                    2.5,
                                    0.25,
                                    0.75,
                                    0.125,
                                    0.375,
                                    0.0625,
                                    0.0005,
                                    0.00049999,
                                    0.05,
                                    0.15,
                                    0.35,
                                    0.949999,
                                    0.95,
                                    0.96,
                                    9.95,
                                    9.5,
                                    99.95,
                                    999.9995,
                                    1.005,
                                    1e15,
                                    1e16,
                                    1e22,
                                    1e300,
                                    DBL_MAX,
                                    DBL_MIN,
                                    0x1p-1074,
                                    0x1p-1,
                                    0x1p-2,
                                    0x1p-11,
                                    0x1p-12,
                                    0x1p-63,
                                    0x1p-64,
                                    0x1p52,
                                    0x1p53,
                                    0x1p62,
                                    0x1p63,
                                    0x1p64,
                                    4503599627370495.5,
                                    HUGE_VAL,
                                    NAN,
                                    0.1 + 0.2,
                                    1 / 3.0,
                                    DBL_EPSILON};

    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        both_signs(values[i]);
        both_signs(nextafter(values[i], 0));
        both_signs(nextafter(values[i], HUGE_VAL));
    }
    for (int eighth = 0; eighth < 8000; eighth++)
        both_signs(eighth / 8.0);
    for (int thousandth = 0; thousandth < 8000; thousandth++)
        both_signs(thousandth / 2000.0);
}

static uint64_t next(uint64_t *random)
{
    *random ^= *random << 13;
    *random ^= *random >> 7;
    *random ^= *random << 17;
    return *random;
}

/* Every bit pattern may come, then pixels and litres as charts have them. */
static void at_random(void **state)
{
    (void)state;
    uint64_t random = test_seed() | 1;

    for (int i = 0; i < 10000; i++) {
        uint64_t bits = next(&random);
        double value;

        memcpy(&value, &bits, sizeof value);
        if (!isnan(value))
            same_as_printf(value);
        same_as_printf((double)(int64_t)next(&random) / 0x1p53);
        same_as_printf((double)(int64_t)next(&random) / 0x1p43);
    }
}

static void rounded_units(void **state)
{
    (void)state;
    uint64_t units = 7;

    assert_true(decimal_round(-2.5, 0, &units) && units == 2);
    assert_true(decimal_round(3.5, 0, &units) && units == 4);
    assert_true(decimal_round(1.2344, 3, &units) && units == 1234);
    assert_true(decimal_round(0x1p-1074, 3, &units) && units == 0);
    assert_true(decimal_round(9007199254740991.0, 0, &units) &&
                units == UINT64_C(9007199254740991));
    assert_false(decimal_round(9007199254740992.0, 0, &units));
    assert_false(decimal_round(1e13, 3, &units));
    assert_false(decimal_round(1, DECIMAL_MOST + 1, &units));
    assert_false(decimal_round(1, -1, &units));
    assert_false(decimal_round(NAN, 1, &units));
    assert_false(decimal_round(-HUGE_VAL, 1, &units));
}

static void added_to_a_text(void **state)
{
    (void)state;
    struct text text;

    text_init(&text, 9);
    text_add_fixed(&text, -12.34, 1);
    text_add_fixed(&text, 0.5, 0);
    assert_string_equal(text.bytes, "-12.30");
    text_add_fixed(&text, 1.25, 3);
    assert_string_equal(text.bytes, "-12.301.2");
    assert_true(text.full);
    text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ties_and_ends),
        cmocka_unit_test(at_random),
        cmocka_unit_test(rounded_units),
        cmocka_unit_test(added_to_a_text),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
