#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "unit_test.h"

static void grows_and_formats(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 100000);
    assert_string_equal("", text.bytes);
    for (int i = 0; i < 1000; i++)
        text_addf(&text, "%d,", i % 10);
    assert_int_equal(2000, (int)text.length);
    assert_int_equal(2000, (int)strlen(text.bytes));
    assert_false(text.full);
    text_clear(&text);
    assert_string_equal("", text.bytes);
    text_add(&text, "again");
    assert_string_equal("again", text.bytes);
    text_free(&text);
}

static void room_ahead_holds_without_growing(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 5000);
    text_add(&text, "first");
    text_reserve(&text, 2000);
    const char *bytes = text.bytes;
    size_t size = text.size;
    assert_true(size > 2000);
    assert_string_equal("first", bytes);
    for (int i = 0; i < 199; i++)
        text_add(&text, "0123456789");
    assert_ptr_equal(bytes, text.bytes);
    assert_int_equal(1995, (int)text.length);
    text_reserve(&text, 1);
    assert_true(text.size == size);
    text_reserve(&text, 1000000);
    assert_true(text.size > 5000 && text.size < 10000);
    text_free(&text);
}

static void long_format_is_whole(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 5000);
    text_addf(&text, "%0900d|", 7);
    assert_int_equal(901, (int)text.length);
    assert_true(text.bytes[899] == '7' && text.bytes[900] == '|');
    text_free(&text);
}

static void stops_at_its_maximum(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 10);
    text_add(&text, "12345678");
    text_add(&text, "\xE2\x82\xAC!"); /* the euro sign needs three bytes */
    assert_true(text.full);
    assert_string_equal("12345678", text.bytes);
    text_add(&text, "9");
    assert_string_equal("12345678", text.bytes);
    text_free(&text);
}

static void exact_maximum_is_not_full(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 4);
    text_add(&text, "1234");
    assert_false(text.full);
    assert_string_equal("1234", text.bytes);
    text_add(&text, "5");
    assert_true(text.full);
    text_free(&text);
}

static void steal_leaves_nothing_behind(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 100);
    text_add(&text, "mine");
    char *bytes = text_steal(&text);
    assert_string_equal("mine", bytes);
    free(bytes);
    text_add(&text, "anew");
    assert_string_equal("anew", text.bytes);
    text_free(&text);
}

/* RFC 3629 section 4: the well-formed sequences, and the ones beside them. */
static void names_are_the_same_but_for_capitals(void **state)
{
    (void)state;
    static const char *const same[][2] = {
        {"North Bush", "nORTH bUSH"},
        {"\xC3\x89rabli\xC3\xA8re", "\xC3\xA9RABLI\xC3\x88RE"},
        {"\xC5\x92uf \xC5\xB8", "\xC5\x93UF \xC3\xBF"},
        {"\xE2\x82\xAC", "\xE2\x82\xAC"},
        {"", ""}};
    static const char *const other[][2] = {
        {"north", "norths"},
        {"n", ""},
        {"\xC3\x97", "\xC3\xB7"}, /* times, divided by */
        {"\xC3\xA9", "e"},
        {"\xC3\x9F", "\xC3\xBF"},
        {"\xC3\x8E", "\xCE"},
        {"@", "`"},
        {"\xC3\xA2\x82\xAC", "\xE2\x82\xAC"}};

    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        assert_int_equal(utf8_compare_names(same[i][0], same[i][1]), 0);
        assert_int_equal(utf8_compare_names(same[i][1], same[i][0]), 0);
    }
    for (size_t i = 0; i < sizeof other / sizeof other[0]; i++) {
        int there = utf8_compare_names(other[i][0], other[i][1]);
        int back = utf8_compare_names(other[i][1], other[i][0]);

        assert_int_not_equal(there, 0);
        assert_int_equal(there, -back);
    }
}

static void utf8_follows_rfc_3629(void **state)
{
    (void)state;
    static const char *const good[] = {
        "",
        "plain",
        "\x7F",
        "\xC2\x80",
        "\xDF\xBF",
        "\xE0\xA0\x80",
        "\xED\x9F\xBF",
        "\xEE\x80\x80",
        "\xEF\xBF\xBF",
        "\xF0\x90\x80\x80",
        "\xF4\x8F\xBF\xBF",
    };
    static const char *const bad[] = {
        "\x80",     /* a tail alone */
        "\xC0\x80", /* overlong NUL */
        "\xC1\xBF", /* overlong */
        "\xC2",     /* cut */
        ("\xC2"
         "A"),              /* no tail */
        "\xE0\x9F\xBF",     /* overlong */
        "\xED\xA0\x80",     /* surrogate D800 */
        "\xED\xBF\xBF",     /* surrogate DFFF */
        "\xE2\x82",         /* cut */
        "\xF0\x8F\xBF\xBF", /* overlong */
        "\xF4\x90\x80\x80", /* above 10FFFF */
        "\xF5\x80\x80\x80", /* never */
        "\xFF",             /* never */
        "ok\xE2\x28\xA1",   /* bad second byte */
        "\xE2\x82\x28",     /* bad third byte */
    };
    for (size_t i = 0; i < sizeof good / sizeof *good; i++)
        if (!utf8_valid(good[i], strlen(good[i])))
            fail_msg("good %zu was refused", i);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (utf8_valid(bad[i], strlen(bad[i])))
            fail_msg("bad %zu was taken", i);
    assert_false(utf8_valid("\xE2\x82\xAC", 2)); /* cut by its length */
}

static void cut_never_splits(void **state)
{
    (void)state;
    const char *words = "a\xC3\xA9\xE2\x82\xAC\xF0\x9F\x8D\x81z";
    size_t length = strlen(words);
    static const size_t expected[] = {0, 1, 1, 3, 3, 3, 6, 6, 6, 6, 10, 11, 11};
    for (size_t limit = 0; limit < 13; limit++)
        assert_int_equal((int)expected[limit],
                         (int)utf8_cut(words, length, limit));
}

static void columns_count_characters(void **state)
{
    (void)state;
    assert_int_equal(0, utf8_columns(""));
    assert_int_equal(5, utf8_columns("s\xC3\xA8"
                                     "ves\xCC\x81")); /* e grave; s + acute */
    assert_int_equal(2, utf8_columns("\xE2\x82\xAC\xF0\x9F\x8D\x81"));
    assert_int_equal(1, utf8_columns("a\xCC\x80\xCD\xAF"));
    assert_int_equal(2, utf8_columns("a\xCD\xB0")); /* U+0370 is a letter */
}

static void escape_shows_hostile_bytes(void **state)
{
    (void)state;
    char out[40];
    text_escape(out, sizeof out, "a\n\xC3\x00z", 5, 40);
    assert_string_equal("a\\x0A\\xC3\\x00z", out);
    text_escape(out, sizeof out, "abcdef", 6, 3);
    assert_string_equal("abc", out);
    text_escape(out, 6, "\x01\x02\x03", 3, 3); /* never half an escape */
    assert_string_equal("\\x01", out);
    text_escape(out, 1, "abc", 3, 3);
    assert_string_equal("", out);
}

static void plain_words_steer_nothing(void **state)
{
    static const struct {
        const char *words, *plain;
    } cases[] = {{"", ""},
                 {"sap, d\xC3\xA9gel", "sap, d\xC3\xA9gel"},
                 {"a\x1b[31mb\n", "a?[31mb?"},
                 {"\x7f\x01", "??"},
                 {"a\xC2\x9b"
                  "b",
                  "a?b"}, /* CSI as one character */
                 {"\xE2\x80\xA8\xE2\x80\xA9\xE2\x80\xAF", "??\xE2\x80\xAF"},
                 {"\xff\xC3", "??"},
                 {"\xE2\x80", "??"},
                 {"\xF0\x9F\x8D\x81", "\xF0\x9F\x8D\x81"}};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *words = strdup(cases[i].words);

        utf8_make_plain(words);
        assert_string_equal(words, cases[i].plain);
        free(words);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grows_and_formats),
        cmocka_unit_test(room_ahead_holds_without_growing),
        cmocka_unit_test(long_format_is_whole),
        cmocka_unit_test(stops_at_its_maximum),
        cmocka_unit_test(exact_maximum_is_not_full),
        cmocka_unit_test(steal_leaves_nothing_behind),
        cmocka_unit_test(names_are_the_same_but_for_capitals),
        cmocka_unit_test(utf8_follows_rfc_3629),
        cmocka_unit_test(cut_never_splits),
        cmocka_unit_test(columns_count_characters),
        cmocka_unit_test(escape_shows_hostile_bytes),
        cmocka_unit_test(plain_words_steer_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
