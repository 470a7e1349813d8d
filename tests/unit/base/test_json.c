#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "base/json.h"
#include "base/memory.h"
#include "unit_test.h"

static struct error err;

static cJSON *parse(const char *words)
{
    cJSON *root = json_parse(words, strlen(words), &err);
    if (!root)
        fail_msg("%s: %s", words, err.text);
    return root;
}

static void refused_bytes(const char *bytes, size_t length, const char *names)
{
    err.text[0] = '\0';
    cJSON *root = json_parse(bytes, length, &err);
    if (root)
        fail_msg("\"%.60s\" was taken", bytes);
    if (!strstr(err.text, names))
        fail_msg("\"%.60s\": the sentence is \"%s\"", bytes, err.text);
}

static void refused(const char *words, const char *names)
{
    refused_bytes(words, strlen(words), names);
}

static void members(void **state)
{
    (void)state;
    cJSON *root = parse(" {\"a\":{\"b\":[1,2]},\"n\":-2.5e1,\"s\":\"\\u00e9\","
                        "\"t\":true,\"f\":false,\"z\":null,\"i\":7} \n");
    double number = 0;
    long whole = 0;
    bool truth = false;
    assert_non_null(json_array(json_object(root, "a"), "b"));
    assert_null(json_object(root, "A"));
    assert_null(json_object(root, "n"));
    assert_null(json_array(root, "a"));
    assert_null(json_object(NULL, "a"));
    assert_true(json_number(root, "n", &number));
    assert_near(number, -25, 0);
    assert_false(json_number(root, "s", &number));
    assert_false(json_number(root, "z", &number));
    assert_string_equal("\xC3\xA9", json_string(root, "s"));
    assert_null(json_string(root, "n"));
    assert_true(json_bool(root, "t", &truth) && truth);
    assert_true(json_bool(root, "f", &truth) && !truth);
    assert_false(json_bool(root, "i", &truth));
    assert_true(json_integer(root, "i", 0, 7, &whole) && whole == 7);
    assert_false(json_integer(root, "i", 8, 9, &whole));
    cJSON_Delete(root);
    root = parse("{\"h\":2.5,\"l\":1e300}");
    assert_false(json_integer(root, "h", 0, 9, &whole));
    assert_false(json_integer(root, "l", LONG_MIN, LONG_MAX, &whole));
    cJSON_Delete(root);
}

static void nested(char *out, int depth)
{
    memset(out, '[', (size_t)depth);
    memset(out + depth, ']', (size_t)depth);
    out[2 * depth] = '\0';
}

static void depth_has_a_limit(void **state)
{
    (void)state;
    static char words[400001];
    nested(words, 32);
    cJSON_Delete(parse(words));
    nested(words, 33);
    refused(words, "32");
    nested(words, 200);
    refused(words, "32");
    nested(words, 200000);
    refused(words, "32");
}

static void zero_characters(void **state)
{
    (void)state;
    refused_bytes("{\"a\":\"x\0y\"}", 11, "zero byte at byte 7");
    refused_bytes("{}\0", 3, "zero byte at byte 2");
    refused("{\"a\":\"x\\u0000y\"}", "zero");
    cJSON_Delete(parse("{\"a\":\"x\\\\u0000y\"}")); /* an escaped backslash */
}

static void rubbish_behind(void **state)
{
    (void)state;
    refused("{} x", "byte 3");
    refused("{}{}", "byte 2");
    refused("[1,2]]", "");
    refused("[1] // note", "");
    refused("0x10", "");
    cJSON_Delete(parse("{} \r\n\t"));
}

/* RFC 8259 section 6. */
static void numbers_are_finite_and_well_formed(void **state)
{
    (void)state;
    refused("[1e999]", "1e999");
    refused("[-1e999]", "byte 1");
    static const char *const bad[] = {
        "[nan]",  "[NaN]", "[Infinity]", "[-Infinity]", "[01]",
        "[1.]",   "[.5]",  "[+1]",       "[-]",         "[1e]",
        "[1.e5]", "[0x1]", "[--1]",      "[1-2]",       "[1.2.3]",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        refused(bad[i], "");
    cJSON *root = parse("[0,-0.0,1E+2,1.5e-3,123456789012345678901234567890]");
    assert_int_equal(5, cJSON_GetArraySize(root));
    cJSON_Delete(root);
}

static void broken_texts(void **state)
{
    (void)state;
    refused("", "empty");
    refused("   ", "");
    refused("<html><body>Bad gateway</body></html>", "<html>");
    refused("{\"a\":", "");
    refused("{\"a\":\"x", "byte 5");
    refused("{\"a\":\"x\\", "byte 5");
    refused("{\"a\" 1}", "");
    refused("[1,]", "");
    refused("{\"a\":\"line\nbreak\"}", "control");
    refused("{\"a\":\"\\ud800\"}", "");
    refused("{\"a\":\"\xE9\"}", "UTF-8");
    refused("{\"a\":\"\xED\xA0\x80\"}", "UTF-8");
    refused_bytes("\x1F\x8B\x08\x01garbage", 11, "");
    refused_bytes("{\"a\":1}", 4, ""); /* cut */
}

static double seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* 50 MB of each kind that could hurt; a minute would mean it does not grow
 * in proportion (it takes well under a second without sanitizers). */
static void fifty_megabytes_are_quick(void **state)
{
    (void)state;
    size_t length = 50 << 20;
    char *bytes = mem_alloc(length + 1, 1);
    double start = seconds();
    memset(bytes, '[', length);
    refused_bytes(bytes, length, "32");
    memset(bytes, ' ', length);
    refused_bytes(bytes, length, "not JSON");
    for (size_t i = 0; i < length; i += 2)
        memcpy(bytes + i, "0,", 2);
    bytes[0] = '[';
    refused_bytes(bytes, length, "400000");
    memset(bytes, '"', length);
    refused_bytes(bytes, length, "");
    memset(bytes, '1', length);
    refused_bytes(bytes, length, "byte 0");
    memset(bytes, '\\', length);
    bytes[0] = '"';
    refused_bytes(bytes, length, "byte 0");
    assert_true(seconds() - start < 60);
    free(bytes);
}

static void many_values_are_refused(void **state)
{
    (void)state;
    size_t count = JSON_MAX_ITEMS + 1;
    char *bytes = mem_alloc(2 * count + 2, 1);
    bytes[0] = '[';
    for (size_t i = 0; i < count; i++)
        memcpy(bytes + 1 + 2 * i, "0,", 2);
    bytes[2 * count] = ']';
    refused_bytes(bytes, 2 * count + 1, "400000");
    bytes[2 * 1000] = ']';
    cJSON *root = json_parse(bytes, 2001, &err);
    assert_int_equal(1000, cJSON_GetArraySize(root));
    cJSON_Delete(root);
    free(bytes);
}

static void equal_values_give_equal_bytes(void **state)
{
    (void)state;
    cJSON *object = cJSON_CreateObject();
    json_add_rounded(object, "a", 0.1 + 0.2, 2);
    json_add_rounded(object, "b", -0.0001, 2);
    json_add_rounded(object, "c", 1.005, 1);
    json_add_rounded(object, "d", 1234567.891, 0);
    json_add_rounded(object, "e", HUGE_VAL, 1);
    char *bytes = cJSON_PrintUnformatted(object);
    assert_string_equal("{\"a\":0.3,\"b\":0,\"c\":1,\"d\":1234568,\"e\":null}",
                        bytes);
    cJSON_free(bytes);
    cJSON_Delete(object);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(members),
        cmocka_unit_test(depth_has_a_limit),
        cmocka_unit_test(zero_characters),
        cmocka_unit_test(rubbish_behind),
        cmocka_unit_test(numbers_are_finite_and_well_formed),
        cmocka_unit_test(broken_texts),
        cmocka_unit_test(fifty_megabytes_are_quick),
        cmocka_unit_test(many_values_are_refused),
        cmocka_unit_test(equal_values_give_equal_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
