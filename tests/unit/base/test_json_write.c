/* The peer is cJSON's own printing: the same bytes. */
#include <float.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "test_seed.h"
#include "unit_test.h"

static char *written(const cJSON *root)
{
    struct text text;

    text_init(&text, 1 << 20);
    json_write(root, &text);
    assert_false(text.full);
    return text_steal(&text);
}

static void same_as_cjson(const cJSON *root)
{
    char *ours = written(root), *wanted = cJSON_PrintUnformatted(root);

    assert_non_null(wanted);
    assert_string_equal(ours, wanted);
    free(ours);
    cJSON_free(wanted);
}

static void number(double value)
{
    cJSON *item = cJSON_CreateNumber(value);

    same_as_cjson(item);
    cJSON_Delete(item);
}

static void numbers_as_they_come(void **state)
{
    (void)state;
    static const double values[] = {0,
                                    1,
                                    0.1,
                                    0.5,
                                    0.25,
                                    0.0001,
                                    0.00001,
                                    0.001,
                                    0.0012,
                                    1 / 3.,
                                    0.1 + 0.2,
                                    1e14,
                                    1e15,
                                    999999999999999,
                                    1e16,
                                    1e22,
                                    1e-7,
                                    12345.6789,
                                    12345.678901,
                                    1e308,
                                    DBL_MIN,
                                    0x1p-1074,
                                    4.35,
                                    1.005,
                                    2147483647,
                                    2147483648,
                                    9007199254740994,
                                    99999999999999.9,
                                    9999999999999.99};

    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        number(values[i]);
        number(-values[i]);
        number(nextafter(values[i], 0));
        number(nextafter(values[i], HUGE_VAL));
    }
    number(HUGE_VAL);
    number(NAN);
    for (int i = 0; i < 20000; i++) {
        number(i / 1000.0);
        number(-i / 100.0);
        number(i * 0.001);
        number(i * 1e11 / 16);
    }
}

/* cJSON writes 1.79769313486232e+308, which no double holds. */
static void the_largest_reads_back(void **state)
{
    (void)state;
    cJSON *item = cJSON_CreateNumber(DBL_MAX);
    char *words = written(item);

    assert_string_equal(words, "1.7976931348623157e+308");
    free(words);
    cJSON_Delete(item);
}

static uint64_t next(uint64_t *random)
{
    *random ^= *random << 13;
    *random ^= *random >> 7;
    *random ^= *random << 17;
    return *random;
}

static void numbers_at_random(void **state)
{
    (void)state;
    uint64_t random = test_seed() | 1;

    for (int i = 0; i < 20000; i++) {
        uint64_t bits = next(&random);
        double value;

        memcpy(&value, &bits, sizeof value);
        number(value);
        number((double)(int64_t)next(&random) / 0x1p43);
        number(round((double)(int64_t)next(&random) / 0x1p43) / 1e4);
    }
}

static void words_and_shapes(void **state)
{
    (void)state;
    cJSON *root = cJSON_CreateObject(), *array;
    char every[256];

    for (int i = 0; i < 255; i++)
        every[i] = (char)(i + 1);
    every[255] = '\0';
    cJSON_AddStringToObject(root, every, every);
    cJSON_AddStringToObject(root, "", "");
    cJSON_AddStringToObject(root, "accent", "\xc3\xa9t\xc3\xa9");
    cJSON_AddBoolToObject(root, "yes", true);
    cJSON_AddBoolToObject(root, "no", false);
    cJSON_AddNullToObject(root, "none");
    cJSON_AddRawToObject(root, "raw", "[1, 2]");
    cJSON_AddObjectToObject(root, "empty object");
    array = cJSON_AddArrayToObject(root, "array");
    same_as_cjson(root);
    cJSON_AddItemToArray(array, cJSON_CreateNumber(1));
    cJSON_AddItemToArray(array, cJSON_CreateArray());
    cJSON_AddItemToArray(array, cJSON_CreateString("a\"b\\c/d"));
    same_as_cjson(root);
    same_as_cjson(array);
    cJSON_Delete(root);
}

static void a_line(void **state)
{
    (void)state;
    cJSON *root = cJSON_CreateObject();
    const double values[] = {-0.04, 1.25, -2.345, 3, HUGE_VAL};
    const bool known[] = {true, true, true, false, true};
    char *line;

    json_add_numbers(root, "some", values, known, 5, 1);
    json_add_numbers(root, "all", values, NULL, 4, 2);
    json_add_numbers(root, "none", values, NULL, 0, 2);
    line = json_to_line(root);
    assert_string_equal(line, "{\"some\":[0,1.3,-2.3,null,null],"
                              "\"all\":[-0.04,1.25,-2.35,3],\"none\":[]}\n");
    free(line);
}

static void depth_has_a_limit(void **state)
{
    (void)state;
    cJSON *root = cJSON_CreateArray(), *inner = root;

    for (int depth = 1; depth < JSON_MAX_DEPTH; depth++) {
        cJSON *next_one = cJSON_CreateArray();

        cJSON_AddItemToArray(inner, next_one);
        cJSON_AddItemToArray(inner, cJSON_CreateNumber(depth));
        inner = next_one;
    }
    same_as_cjson(root);
    cJSON_AddItemToArray(inner, cJSON_CreateArray());
    char *words = written(root);
    assert_non_null(strstr(words, "[[null],31]"));
    free(words);
    cJSON_Delete(root);
}

/* What the rounding is against: the C library's digits, read again. */
static void rounded_as_printf_does(void **state)
{
    (void)state;
    for (int i = -5000; i <= 5000; i++)
        for (int decimals = 0; decimals <= 5; decimals++) {
            cJSON *root = cJSON_CreateObject();
            char digits[64];
            double value = i / 1600.0, rounded;

            snprintf(digits, sizeof digits, "%.*f", decimals, value);
            json_add_rounded(root, "a", value, decimals);
            assert_true(json_number(root, "a", &rounded));
            assert_true(rounded == strtod(digits, NULL));
            assert_true(rounded != 0 || !signbit(rounded));
            cJSON_Delete(root);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_as_they_come),
        cmocka_unit_test(the_largest_reads_back),
        cmocka_unit_test(numbers_at_random),
        cmocka_unit_test(words_and_shapes),
        cmocka_unit_test(a_line),
        cmocka_unit_test(depth_has_a_limit),
        cmocka_unit_test(rounded_as_printf_does),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
