/* Bytes that are no answer, to each decoder: refused with a sentence, and
 * nothing read past their end (the sanitizers watch). */
#include "source_test.h"

#define COUNT(rows) (sizeof(rows) / sizeof(rows)[0])

static const struct good {
    const char *service, *fixture;
} goods[] = {
    {"open-meteo", "open-meteo.json"},
    {"open-meteo", "open-meteo-local-us-units.json"},
    {"open-meteo", "open-meteo-two-models.json"},
    {"open-meteo-ensemble", "open-meteo-ensemble.json"},
    {"metno", "metno.json"},
    {"nws", "nws-grid.json"},
    {"nws", "nws-hourly.json"},
    {"nws", "nws-observation.json"},
    {"nws", "nws-observations.json"},
};

static const char *const services[] = {"open-meteo", "open-meteo-ensemble",
                                       "metno", "nws", "station"};

static void expect_all_refuse(const char *bytes, size_t length)
{
    for (size_t i = 0; i < COUNT(services); i++) {
        struct decoded d = decode_bytes(services[i], bytes, length);

        assert_int_equal(-1, d.result);
        assert_null(d.answer.series);
        assert_null(d.answer.members);
        if (strlen(d.err.text) < 10)
            fail_msg("%s says only \"%s\"", services[i], d.err.text);
        decoded_free(&d);
    }
}

static void test_no_answers(void **state)
{
    static const char *const texts[] = {
        "",
        " \n",
        "null",
        "true",
        "17",
        "\"text\"",
        "[]",
        "{}",
        "{\"hourly\":null}",
        "<html><body>Access Denied</body></html>",
        "Unexpected error while streaming data: timeoutReached",
        "{\"latitude\":nan,\"longitude\":nan,\"hourly\":{}}",
        "{\"hourly\":{\"time\":[0,1],\"temperature_2m\":[1e999,NaN]}}",
        "{\"properties\":null,\"features\":null}",
        "{\"properties\":{\"timeseries\":{}}}",
        "{\"properties\":{\"periods\":[7,null,{}]}}",
        "{\"features\":[[],{},7,{\"properties\":{\"timestamp\":\"x\"}}]}",
        "\xef\xbb\xbf{}",
        "{} {}",
    };

    (void)state;
    for (size_t i = 0; i < COUNT(texts); i++)
        expect_all_refuse(texts[i], strlen(texts[i]));
}

static void test_not_utf8_and_zeros(void **state)
{
    static const char latin1[] = "{\"a\":\"\xb0"
                                 "C\"}";
    static const char zeros[] = "{\"a\":\0001}";

    (void)state;
    expect_all_refuse(latin1, sizeof latin1 - 1);
    expect_all_refuse(zeros, sizeof zeros - 1);
    expect_all_refuse("\0\0\0\0", 4);
}

/* Cut anywhere, JSON is no JSON any more (white space at the end apart). */
static void test_cut(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(goods); i++) {
        size_t length;
        char *bytes = fixture_read(goods[i].fixture, &length);

        while (length > 0 && bytes[length - 1] == '\n')
            length--;
        for (size_t cut = 0; cut < length; cut += cut < 200 ? 1 : 41) {
            struct decoded d = decode_bytes(goods[i].service, bytes, cut);

            assert_int_equal(-1, d.result);
            decoded_free(&d);
        }
        free(bytes);
    }
}

/* What the service has been seen to write after half an array. */
static void test_error_glued(void **state)
{
    static const char words[] =
        "Unexpected error while streaming data: timeoutReached";

    (void)state;
    for (size_t i = 0; i < COUNT(goods); i++) {
        size_t length;
        char *bytes = fixture_read(goods[i].fixture, &length);
        char *glued = mem_format("%.*s%s", (int)length / 2, bytes, words);
        char *after = mem_format("%s%s", bytes, words);
        struct decoded d = decode_text(goods[i].service, glued);

        assert_int_equal(-1, d.result);
        decoded_free(&d);
        d = decode_text(goods[i].service, after);
        assert_int_equal(-1, d.result);
        decoded_free(&d);
        free(bytes);
        free(glued);
        free(after);
    }
}

static void test_deep(void **state)
{
    enum { LEVELS = 100000 };
    char *bytes = mem_alloc(2 * LEVELS, 1);

    (void)state;
    memset(bytes, '[', 2 * LEVELS);
    expect_all_refuse(bytes, LEVELS);
    for (int i = 0; i < LEVELS; i++)
        memcpy(bytes + 2 * i, "{\"", 2);
    expect_all_refuse(bytes, 2 * LEVELS);
    memset(bytes, '[', LEVELS);
    memset(bytes + LEVELS, ']', LEVELS);
    expect_all_refuse(bytes, 2 * LEVELS);
    free(bytes);
}

/* 50 MB of an array that would be JSON. */
static void test_large(void **state)
{
    enum { SIZE = 50 * 1000 * 1000 };
    char *bytes = mem_alloc(SIZE, 1);
    static const char head[] = "{\"hourly\":{\"time\":[";
    struct decoded d;

    (void)state;
    memcpy(bytes, head, sizeof head - 1);
    for (size_t i = sizeof head - 1; i + 1 < SIZE; i += 2)
        memcpy(bytes + i, "1,", 2);
    expect_all_refuse(bytes, SIZE);
    d = decode_bytes("metno", bytes, SOURCE_MAX_BYTES + 1);
    assert_non_null(strstr(d.err.text, "2097153 bytes, more than"));
    decoded_free(&d);
    expect_all_refuse(bytes, SOURCE_MAX_BYTES + 1);
    expect_all_refuse(bytes, SOURCE_MAX_BYTES);
    free(bytes);
}

#define GRID(uom, valid)                                                       \
    "{\"properties\":{\"temperature\":{\"uom\":\"" uom "\",\"values\":[{"      \
    "\"validTime\":\"" valid "\",\"value\":1}]}}}"

/* No C0 or C1 control, no character that turns the text around. */
static void expect_harmless(const char *words)
{
    assert_null(strpbrk(words, "\x1b\n"));
    assert_null(strstr(words, "\xc2\x9b"));
    assert_null(strstr(words, "\xe2\x80\xae"));
}

/* The services' words come to a terminal: no control character may. */
static void test_no_escapes_in_messages(void **state)
{
    static const char *const texts[] = {
        "{\"error\":true,\"reason\":\"\\u001b[2J\\u009b1m\\u202egone\"}",
        "{\"detail\":\"\\u001b[2J\\nnext line\"}",
        "{\"hourly\":{\"time\":[0],\"temperature_2m_\\u001b[2J\":[1]}}",
        "time,air_temp_c,\x1b[2J\n2026-03-05T00:00Z,1,2\n",
        "time,air_temp_c\n2026-03-05T00:00Z,1\n2026-03-05T01:00Z,\x1b[2J\n",
        GRID("\\u001b[2J", ""),
        GRID("degC", "\\u001b/PT1H"),
    };

    (void)state;
    for (size_t i = 0; i < COUNT(texts); i++)
        for (size_t k = 0; k < COUNT(services); k++) {
            struct decoded d = decode_text(services[k], texts[i]);

            if (d.result < 0)
                expect_harmless(d.err.text);
            for (int r = 0; r < d.answer.refused.count; r++)
                expect_harmless(d.answer.refused.items[r]);
            decoded_free(&d);
        }
}

/* Every value of a good answer turned into another type, one at a time. */
static void test_types_swapped(void **state)
{
    static const char *const others[] = {"null", "\"x\"", "[]", "{}", "-1e9"};

    (void)state;
    for (size_t i = 0; i < COUNT(goods); i++) {
        size_t length;
        char *bytes = fixture_read(goods[i].fixture, &length);

        for (char *colon = strchr(bytes, ':'); colon;
             colon = strchr(colon + 1, ':')) {
            size_t end = strcspn(colon, ",\n}]");

            for (size_t k = 0; k < COUNT(others); k++) {
                char *swapped = mem_format("%.*s%s%s", (int)(colon + 1 - bytes),
                                           bytes, others[k], colon + end);
                struct decoded d = decode_text(goods[i].service, swapped);

                assert_true(d.result == 0 || d.err.text[0] != '\0');
                decoded_free(&d);
                free(swapped);
            }
        }
        free(bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_answers),
        cmocka_unit_test(test_not_utf8_and_zeros),
        cmocka_unit_test(test_cut),
        cmocka_unit_test(test_error_glued),
        cmocka_unit_test(test_deep),
        cmocka_unit_test(test_large),
        cmocka_unit_test(test_no_escapes_in_messages),
        cmocka_unit_test(test_types_swapped),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
