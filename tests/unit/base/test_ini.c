#include <stdio.h>
#include <string.h>

#include "base/ini.h"
#include "unit_test.h"

static struct ini ini;
static struct error_list errors;

static int read_bytes(const char *bytes, size_t length)
{
    return ini_read("a.conf", bytes, length, &ini, &errors);
}

static int read(const char *words)
{
    return read_bytes(words, strlen(words));
}

static int forget(void **state)
{
    (void)state;
    ini_free(&ini);
    error_list_free(&errors);
    return 0;
}

static void assert_value(int index, const char *section, const char *key,
                         const char *value, int line)
{
    assert_true(index < ini.count);
    assert_string_equal(section, ini.values[index].section);
    assert_string_equal(key, ini.values[index].key);
    assert_string_equal(value, ini.values[index].value);
    assert_int_equal(line, ini.values[index].line);
}

/* The one error of the text starts with its place and holds the word. */
static void assert_only_error(const char *place, const char *word)
{
    if (errors.count != 1)
        fail_msg("%d errors", errors.count);
    if (strncmp(errors.items[0], place, strlen(place)) != 0 ||
        !strstr(errors.items[0], word))
        fail_msg("the sentence is \"%s\"", errors.items[0]);
}

static void values_and_lines(void **state)
{
    (void)state;
    assert_int_equal(0, read("; a comment\r\n"
                             "# another\r\n"
                             "\r\n"
                             "[operation]\r\n"
                             "name = Tamarack Bend ; the name\r\n"
                             "  units=us\r\n"
                             "[ bush \t north ]\n"
                             "time zone = America/New_York\n"
                             "url = https://example.org/;x?a=b:c\n"
                             "empty =\n"
                             "[sources] ; last\n"
                             "accent = \xC3\xA9rable"));
    assert_int_equal(0, errors.count);
    assert_int_equal(6, ini.count);
    assert_value(0, "operation", "name", "Tamarack Bend", 5);
    assert_value(1, "operation", "units", "us", 6);
    assert_value(2, "bush north", "time zone", "America/New_York", 8);
    assert_value(3, "bush north", "url", "https://example.org/;x?a=b:c", 9);
    assert_value(4, "bush north", "empty", "", 10);
    assert_value(5, "sources", "accent", "\xC3\xA9rable", 12);
    assert_int_equal(3, ini.section_count);
    assert_string_equal("bush north", ini.sections[1].section);
    assert_int_equal(7, ini.sections[1].line);
}

static void mark_at_the_start_is_skipped(void **state)
{
    (void)state;
    assert_int_equal(0, read("\xEF\xBB\xBF[a]\nb = c\n"));
    assert_value(0, "a", "b", "c", 2);
}

static void nothing_is_no_error(void **state)
{
    (void)state;
    assert_int_equal(0, read(""));
    assert_int_equal(0, ini.count);
}

static void indented_line_does_not_continue(void **state)
{
    (void)state;
    assert_int_equal(-1, read("[a]\nto = one,\n   two\nb = c\n"));
    assert_only_error("a.conf:3:", "two");
    assert_value(0, "a", "to", "one,", 2);
    assert_value(1, "a", "b", "c", 4);
}

static void long_line_is_reported(void **state)
{
    (void)state;
    char words[400] = "[a]\nb = ";
    memset(words + strlen(words), 'x', 192);
    strncat(words, "\nc = d\n", 10);
    assert_int_equal(0, read(words));
    assert_int_equal(192, (int)strlen(ini.values[0].value));
    assert_value(1, "a", "c", "d", 3);
    forget(state);
    memset(words + 8, 'x', 300);
    memcpy(words + 308, "\nc = d\n", 8);
    assert_int_equal(-1, read(words));
    assert_only_error("a.conf:2:", "304 bytes");
    assert_value(0, "a", "c", "d", 3);
}

static void long_section_is_whole(void **state)
{
    (void)state;
    /* inih alone would cut at 49 bytes and make the two one. */
    const char *one = "bush of the north slope behind the old sugarhouse one";
    char words[200];
    snprintf(words, sizeof words, "[%s]\nb = 1\n[%.50stwo]\nb = 2\n", one, one);
    assert_int_equal(0, read(words));
    assert_value(0, one, "b", "1", 2);
    assert_int_equal(2, ini.section_count);
}

static void duplicates(void **state)
{
    (void)state;
    assert_int_equal(-1, read("[a]\nx y = 1\n[c]\nx y = 2\nx  y = 3\n"));
    assert_only_error("a.conf:5:", "line 4");
    forget(state);
    assert_int_equal(-1, read("[a]\nb = 1\n[ a ]\nc = 2\n"));
    assert_only_error("a.conf:3:", "line 1");
}

static void lines_that_are_neither(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "nonsense", "key: value", "= value",   "key ; = value",
        "]x[",      "[b",         "[b] c = d", "[b]]x",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char words[100];
        snprintf(words, sizeof words, "[a]\n%s\n", bad[i]);
        if (read(words) == 0)
            fail_msg("\"%s\" was taken", bad[i]);
        assert_only_error("a.conf:2:", "");
        forget(state);
    }
}

static void key_before_any_section(void **state)
{
    (void)state;
    assert_int_equal(-1, read("b = 1\n[a]\nb = 2\n"));
    assert_only_error("a.conf:1:", "section");
    assert_value(0, "a", "b", "2", 3);
}

static void all_errors_in_one_run(void **state)
{
    (void)state;
    assert_int_equal(-1, read("x\n[a]\ny\nb = 1\nz\n"));
    assert_int_equal(3, errors.count);
    assert_non_null(strstr(errors.items[0], "a.conf:1:"));
    assert_non_null(strstr(errors.items[1], "a.conf:3:"));
    assert_non_null(strstr(errors.items[2], "a.conf:5:"));
}

static void bad_bytes(void **state)
{
    (void)state;
    assert_int_equal(-1, read("[a]\nb = \xE9rable\n"));
    assert_only_error("a.conf:2:", "UTF-8");
    forget(state);
    assert_int_equal(-1, read_bytes("[a]\nb = x\0y\n", 12));
    assert_only_error("a.conf:2:", "control");
    forget(state);
    assert_int_equal(-1, read("[a]\nb = x\ry\n"));
    assert_only_error("a.conf:2:", "control");
    forget(state);
    assert_int_equal(-1, read("[a]\nb = \x1B[31m\n"));
    assert_only_error("a.conf:2:", "control");
}

#define TEST(name) cmocka_unit_test_teardown(name, forget)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(values_and_lines),
        TEST(mark_at_the_start_is_skipped),
        TEST(nothing_is_no_error),
        TEST(indented_line_does_not_continue),
        TEST(long_line_is_reported),
        TEST(long_section_is_whole),
        TEST(duplicates),
        TEST(lines_that_are_neither),
        TEST(key_before_any_section),
        TEST(all_errors_in_one_run),
        TEST(bad_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
