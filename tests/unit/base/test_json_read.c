/* The peer is cJSON's own reader: of every text that the guard lets pass both
 * take the same, or neither. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/json_guard.h"
#include "base/json_read.h"
#include "base/memory.h"
#include "test_seed.h"
#include "unit_test.h"

/* Where cJSON alone is lax: it takes every control character for a blank (RFC
 * 8259 section 2 names four) and what is no four digits behind "\\u" for a
 * zero character (section 7). */
static bool is_lax(const char *words)
{
    for (; *words; words++)
        if (((unsigned char)*words < 0x20 && !strchr("\t\n\r", *words)) ||
            (strncmp(words, "\\u", 2) == 0 &&
             strspn(words + 2, "0123456789abcdefABCDEF") < 4))
            return true;
    return false;
}

/* True if it was taken. */
static bool same_as_cjson(const char *words)
{
    size_t length = strlen(words), stop = 0;
    const char *end = words;
    cJSON *ours, *wanted;
    bool taken;

    if (json_guard(words, length, NULL) != 0)
        return false;
    ours = json_read(words, length, &stop);
    wanted = cJSON_ParseWithLengthOpts(words, length, &end, 0);
    taken = ours != NULL;
    assert_true(stop <= length);
    if (taken != (wanted != NULL) && (taken || !is_lax(words)))
        fail_msg("%s: taken by %s alone", words, taken ? "us" : "cJSON");
    if (taken && wanted) {
        char *a = cJSON_PrintUnformatted(ours);
        char *b = cJSON_PrintUnformatted(wanted);

        assert_string_equal(a, b);
        assert_int_equal(stop, end - words);
        assert_true(cJSON_Compare(ours, ours, true));
        cJSON_free(a);
        cJSON_free(b);
    }
    cJSON_Delete(ours);
    cJSON_Delete(wanted);
    return taken;
}

static void taken(const char *words)
{
    if (!same_as_cjson(words))
        fail_msg("%s: not taken", words);
}

static void refused(const char *words)
{
    if (same_as_cjson(words))
        fail_msg("%s: taken", words);
}

static void values(void **state)
{
    (void)state;
    static const char *const good[] = {"0",
                                       "-0",
                                       "-0.0",
                                       "1e5",
                                       "-1.25E-3",
                                       "123456789012345",
                                       "1234567890123456",
                                       "12345678901234567890",
                                       "0.1",
                                       "1e-320",
                                       "2.5e300",
                                       "0.30000000000000004",
                                       "99999999999999.9",
                                       "\"\"",
                                       "null",
                                       "true",
                                       "false",
                                       "[]",
                                       "{}",
                                       "[[]]",
                                       "[{}]",
                                       " [ 1 , 2 ] ",
                                       "{\"a\":1}",
                                       "{ \"a\" : 1 , \"a\" : 2 }",
                                       "{\"\":{\"\":[]}}",
                                       "\xef\xbb\xbf[1]",
                                       "[1]x",
                                       "[null,true,false]",
                                       "\t\r\n1\n"};

    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
        taken(good[i]);
}

static void no_values(void **state)
{
    (void)state;
    static const char *const bad[] = {"",
                                      " ",
                                      "[",
                                      "]",
                                      "{",
                                      "}",
                                      "[1",
                                      "[1,",
                                      "[1,]",
                                      "[,1]",
                                      "[1 2]",
                                      "{\"a\"}",
                                      "{\"a\":}",
                                      "{\"a\":1,}",
                                      "{a:1}",
                                      "{1:2}",
                                      "{\"a\" 1}",
                                      "{\"a\":1 \"b\":2}",
                                      "[1}",
                                      "{\"a\":1]",
                                      "nul",
                                      "tru",
                                      "fals",
                                      "NULL",
                                      ",",
                                      ":",
                                      "[:]",
                                      "\"\\x\"",
                                      "\"\\u12\"",
                                      "\"\\u12g4\"",
                                      "\"\\ud800\"",
                                      "\"\\ud800\\u0041\"",
                                      "\"\\udc00\"",
                                      "\"\\ud800x\"",
                                      "\\",
                                      "'a'",
                                      "\xef\xbb",
                                      "[\"a\" \"b\"]",
                                      "{\"a\":1,,\"b\":2}",
                                      "{,}",
                                      "[,]"};

    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        refused(bad[i]);
}

/* RFC 8259 section 7; RFC 3629 section 3. */
static void strings(void **state)
{
    (void)state;
    size_t stop;
    static const char words[] = "\"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u0041\\u00e9"
                                "\\u20ac\\uD83C\\uDF41 \xc3\xa9\"";
    cJSON *root = json_read(words, strlen(words), &stop);

    assert_non_null(root);
    assert_string_equal(root->valuestring,
                        "\"\\/\b\f\n\r\tA\xc3\xa9\xe2\x82\xac"
                        "\xf0\x9f\x8d\x81 \xc3\xa9");
    assert_int_equal(stop, strlen(words));
    cJSON_Delete(root);
    taken(words);
    taken("\"\\ud7ff\\ue000\\uffff\\u0001\\u007f\\u0080\\u07ff\\u0800\"");
    taken("\"\\udbff\\udfff\"");
}

/* Without the guard it still keeps within its bytes and its depth. */
static void alone(void **state)
{
    (void)state;
    static const char *const cut[] = {"\"ab\\", "\"ab", "\"\\u00", "[\"a\\\"",
                                      "tr",     "-",    "1e",      "[1.5.2]"};
    char deep[2 * JSON_MAX_DEPTH + 3];
    size_t stop;

    for (size_t i = 0; i < sizeof cut / sizeof cut[0]; i++) {
        /* Not one byte behind the text may be looked at. */
        char *bytes = mem_alloc(strlen(cut[i]), 1);

        memcpy(bytes, cut[i], strlen(cut[i]));
        assert_null(json_read(bytes, strlen(cut[i]), &stop));
        assert_true(stop <= strlen(cut[i]));
        free(bytes);
    }
    memset(deep, '[', JSON_MAX_DEPTH + 1);
    memset(deep + JSON_MAX_DEPTH + 1, ']', JSON_MAX_DEPTH + 1);
    assert_null(json_read(deep, 2 * JSON_MAX_DEPTH + 2, &stop));
    cJSON *root = json_read(deep + 1, 2 * JSON_MAX_DEPTH, &stop);
    assert_non_null(root);
    cJSON_Delete(root);
}

static uint64_t next(uint64_t *random)
{
    *random ^= *random << 13;
    *random ^= *random >> 7;
    *random ^= *random << 17;
    return *random;
}

static void change(char *words, size_t size, uint64_t *random)
{
    static const char marks[] = "[]{},:\"\\0123456789.-+eE nulltrefas/ub\n\xc3";
    size_t length = strlen(words), at = (size_t)(next(random) % length);
    char mark = marks[next(random) % (sizeof marks - 1)];

    if (next(random) % 3 == 0 && length + 1 < size) {
        memmove(words + at + 1, words + at, length - at + 1);
        words[at] = mark;
    } else if (next(random) % 2 == 0 && length > 1) {
        memmove(words + at, words + at + 1, length - at);
    } else {
        words[at] = mark;
    }
}

static void changed_at_random(void **state)
{
    (void)state;
    static const char *const seeds[] = {
        "{\"a\":[1,-2.5,3e2,null],\"b\":{\"c\":\"d\\n\\u00e9\",\"e\":true}}",
        "[0.1,0.25,-12.75,100,1013.25,null,\"x\",{},[],false]",
        "{\"time\":[\"2026-03-08T06:00\",\"\\ud83c\\udf41\"], \"n\" : 1E-2 }"};
    uint64_t random = test_seed() | 1;
    char words[256];
    int good = 0;

    for (int i = 0; i < 60000; i++) {
        int changes = 1 + (int)(next(&random) % 4);

        snprintf(words, sizeof words, "%s", seeds[next(&random) % 3]);
        for (int k = 0; k < changes; k++)
            change(words, sizeof words, &random);
        good += same_as_cjson(words);
    }
    assert_true(good > 3000);
}

/* Every number of 15 digits and fewer as strtod reads it, and longer ones. */
static void numbers(void **state)
{
    (void)state;
    uint64_t random = test_seed() | 1;

    for (int i = 0; i < 60000; i++) {
        char words[64];
        int places = (int)(next(&random) % 18);
        uint64_t whole = next(&random) >> next(&random) % 60;
        size_t stop;
        cJSON *item;

        snprintf(words, sizeof words, "%s%llu.%0*llu",
                 next(&random) % 2 ? "-" : "", (unsigned long long)whole,
                 places + 1, (unsigned long long)(next(&random) % 10));
        item = json_read(words, strlen(words), &stop);
        assert_non_null(item);
        if (item->valuedouble != strtod(words, NULL))
            fail_msg("%s is %a", words, item->valuedouble);
        cJSON_Delete(item);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values),  cmocka_unit_test(no_values),
        cmocka_unit_test(strings), cmocka_unit_test(alone),
        cmocka_unit_test(numbers), cmocka_unit_test(changed_at_random),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
