#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/memory.h"
#include "unit_test.h"

static struct error err;

static struct csv *parse(const char *words)
{
    struct csv *csv;
    if (csv_parse(words, strlen(words), &csv, &err) != 0)
        fail_msg("%s", err.text);
    return csv;
}

static void refused(const char *bytes, size_t length, const char *names)
{
    struct csv *csv;
    if (csv_parse(bytes, length, &csv, &err) == 0)
        fail_msg("\"%s\" was taken", bytes);
    assert_null(csv);
    if (!strstr(err.text, names))
        fail_msg("the sentence is \"%s\"", err.text);
}

/* RFC 4180 section 2, points 1 to 7. */
static void rfc_4180(void **state)
{
    (void)state;
    struct csv *csv = parse("a,b,c\r\n"
                            "aaa,\"b,bb\",ccc\r\n"
                            "\"b \"\"CRLF\r\nbb\",,\r\n"
                            "x y,\"\",z");
    assert_int_equal(3, csv_rows(csv));
    assert_string_equal("b,bb", csv_cell(csv, 0, 1));
    assert_string_equal("b \"CRLF\r\nbb", csv_cell(csv, 1, 0));
    assert_string_equal("", csv_cell(csv, 1, 1));
    assert_string_equal("", csv_cell(csv, 1, 2));
    assert_string_equal("x y", csv_cell(csv, 2, 0));
    assert_string_equal("", csv_cell(csv, 2, 1));
    assert_string_equal("z", csv_cell(csv, 2, 2));
    assert_int_equal(2, csv_line(csv, 0));
    assert_int_equal(3, csv_line(csv, 1));
    assert_int_equal(5, csv_line(csv, 2));
    csv_free(csv);
}

static void header_and_comments(void **state)
{
    (void)state;
    struct csv *csv = parse("\xEF\xBB\xBF# station north\n"
                            "\n"
                            " time , air_temp_c \n"
                            "# pause\n"
                            "1,2\n"
                            "\r\n"
                            "3,4\n\n");
    assert_int_equal(0, csv_column(csv, "time"));
    assert_int_equal(1, csv_column(csv, "air_temp_c"));
    assert_int_equal(-1, csv_column(csv, "Time"));
    assert_null(csv_column_name(csv, 2));
    assert_null(csv_column_name(csv, -1));
    assert_int_equal(2, csv_rows(csv));
    assert_int_equal(5, csv_line(csv, 0));
    assert_int_equal(7, csv_line(csv, 1));
    csv_free(csv);
}

static void numbers(void **state)
{
    (void)state;
    double value = 9;
    struct csv *csv = parse("t,v\r\n1, -2.5 \r\n2,\r\n3,n/a\r\n4,1e999\r\n");
    assert_int_equal(0, csv_number(csv, 0, 1, &value, &err));
    assert_near(value, -2.5, 0);
    assert_int_equal(1, csv_number(csv, 1, 1, &value, &err));
    assert_near(value, -2.5, 0);
    assert_int_equal(-1, csv_number(csv, 2, 1, &value, &err));
    assert_non_null(strstr(err.text, "line 4"));
    assert_non_null(strstr(err.text, "column v"));
    assert_non_null(strstr(err.text, "n/a"));
    assert_int_equal(-1, csv_number(csv, 3, 1, &value, &err));
    csv_free(csv);
}

static void bad_rows(void **state)
{
    (void)state;
    refused("", 0, "header");
    refused("# only a comment\n", 17, "header");
    refused("a,b\n1\n", 6, "line 2 has 1 cells");
    refused("a;b\n1,5;2\n", 10, "semicolons or tabs part the cells");
    refused("a\tb\n1\t2\n", 8, "semicolons or tabs part the cells");
    refused("a,b\n1,2,3\n", 10, "line 2 has 3 cells");
    refused("a,b\n1,\"2\n", 9, "line 2");
    refused("a,b\n1,2\"\n", 9, "line 2: a quote inside");
    refused("a,b\n1,\"2\"x\n", 11, "line 2");
    refused("a,b\n1,\0\n", 8, "line 2 holds a zero byte");
    refused("a,b\n1,\xE9\n", 8, "line 2 is not UTF-8");
}

static void header_alone_has_no_rows(void **state)
{
    (void)state;
    struct csv *csv = parse("a,b");
    assert_int_equal(0, csv_rows(csv));
    assert_string_equal("b", csv_column_name(csv, 1));
    csv_free(csv);
}

static void many_rows(void **state)
{
    (void)state;
    size_t rows = 200000, length = 4 + 8 * rows;
    char *bytes = mem_alloc(length + 1, 1);
    memcpy(bytes, "a,b\n", 4);
    for (size_t i = 0; i < rows; i++)
        snprintf(bytes + 4 + 8 * i, 9, "%06zu,\n", i);
    struct csv *csv = parse(bytes);
    assert_int_equal((int)rows, csv_rows(csv));
    double value;
    assert_int_equal(0, csv_number(csv, 199999, 0, &value, &err));
    assert_near(value, 199999, 0);
    csv_free(csv);
    free(bytes);
}

/* What programs write for a value that is missing is missing; other words are
 * no numbers. */
static void words_for_a_missing_value(void **state)
{
    static const char *const missing[] = {"", " ", "NA", " NaN ", "null"};
    static const char *const wrong[] = {"na", "N/A", "none", "NAN", "nul"};
    struct error none = {""};

    (void)state;
    for (size_t i = 0; i < 5; i++) {
        char *bytes = mem_format("a,b\n%s,%s\n", missing[i], wrong[i]);
        struct csv *csv = parse(bytes);
        double value = 7;

        assert_int_equal(1, csv_number(csv, 0, 0, &value, &none));
        assert_true(value == 7);
        assert_int_equal(-1, csv_number(csv, 0, 1, &value, &none));
        csv_free(csv);
        free(bytes);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_for_a_missing_value),
        cmocka_unit_test(rfc_4180),
        cmocka_unit_test(header_and_comments),
        cmocka_unit_test(numbers),
        cmocka_unit_test(bad_rows),
        cmocka_unit_test(header_alone_has_no_rows),
        cmocka_unit_test(many_rows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
