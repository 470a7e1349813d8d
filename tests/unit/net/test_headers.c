/* Header lines, dates, expiry and Retry-After. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "net/http_headers.h"

/* RFC 9110 section 5.6.7 gives one instant in its three forms; its value as
 * seconds is worked out by hand: 784 111 777 = 9075 days (1 January 1970 to
 * 6 November 1994: 24 x 365 + 6 leap days + 309) x 86400 + 08:49:37. */
enum { RFC_INSTANT = 784111777 };

static const utc_s NOW = RFC_INSTANT;

static void add(struct http_headers *headers, const char *line)
{
    http_headers_add(headers, line, strlen(line));
}

/* Headers from lines, the last of them NULL. */
static struct http_headers headers_of(const char *line, ...)
{
    struct http_headers headers;
    va_list lines;

    http_headers_clear(&headers);
    add(&headers, "HTTP/1.1 200 OK\r\n");
    va_start(lines, line);
    for (; line != NULL; line = va_arg(lines, const char *))
        add(&headers, line);
    va_end(lines);
    return headers;
}

static void test_dates_in_three_forms(void **state)
{
    utc_s out = 0;

    (void)state;
    assert_true(http_date_parse("Sun, 06 Nov 1994 08:49:37 GMT", NOW, &out));
    assert_int_equal(RFC_INSTANT, out);
    out = 0;
    assert_true(http_date_parse("Sunday, 06-Nov-94 08:49:37 GMT", NOW, &out));
    assert_int_equal(RFC_INSTANT, out);
    out = 0;
    assert_true(http_date_parse("Sun Nov  6 08:49:37 1994", NOW, &out));
    assert_int_equal(RFC_INSTANT, out);
}

/* RFC 9110 5.6.7: a two-digit year over 50 years ahead is of the past. */
static void test_two_digit_years(void **state)
{
    utc_s now = 1772980800, out = 0; /* 8 March 2026 */

    (void)state;
    assert_true(http_date_parse("Sunday, 06-Nov-94 08:49:37 GMT", now, &out));
    assert_int_equal(RFC_INSTANT, out);
    assert_true(http_date_parse("Sunday, 08-Mar-26 14:40:00 GMT", now, &out));
    assert_int_equal(now, out);
}

static void test_nonsense_is_no_date(void **state)
{
    static const char *const bad[] = {"",
                                      "0",
                                      "-1",
                                      "soon",
                                      "Sun",
                                      "Sun,",
                                      "Sun, 06 Nov 1994 08:49:37",
                                      "Sun, 06 Nov 1994 08:49:37 EST",
                                      "Sun, 06 Nov 1994 08:49:37 GMT x",
                                      "Sun, 31 Feb 1994 08:49:37 GMT",
                                      "Sun, 06 Nov 1994 24:49:37 GMT",
                                      "Sun, 06 Nov 1994 08:60:37 GMT",
                                      "Sun, 06 Nov 94 08:49:37 GMT",
                                      "Son, 06 Nov 1994 08:49:37 GMT",
                                      "Sun, 06 Nuv 1994 08:49:37 GMT",
                                      "1994-11-06T08:49:37Z"};
    utc_s out = 7;

    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        if (http_date_parse(bad[i], NOW, &out))
            fail_msg("taken for a date: %s", bad[i]);
    assert_int_equal(7, out);
}

static void test_fields_as_sent(void **state)
{
    struct http_headers headers =
        headers_of("eTag:   W/\"a b,c\"  \r\n",
                   "LAST-MODIFIED: Sun, 06 Nov 1994 08:49:37 GMT\r\n",
                   "Content-Type: text/HTML; charset=utf-8\r\n", NULL);

    (void)state;
    assert_string_equal("W/\"a b,c\"", headers.etag);
    assert_string_equal("Sun, 06 Nov 1994 08:49:37 GMT", headers.last_modified);
    assert_true(http_headers_html(&headers));
    headers = headers_of("Content-Type: application/json\r\n", NULL);
    assert_false(http_headers_html(&headers));
}

static void test_first_of_two_counts(void **state)
{
    struct http_headers headers =
        headers_of("ETag: \"1\"", "ETag: \"2\"", NULL);

    (void)state;
    assert_string_equal("\"1\"", headers.etag);
}

/* A validator we could not send back byte for byte is none. */
static void test_odd_fields_are_left_out(void **state)
{
    char line[600] = "ETag: ";
    struct http_headers headers =
        headers_of("ETag: \"a\x01"
                   "b\"",
                   "no colon here", ": no name", NULL);

    (void)state;
    assert_string_equal("", headers.etag);
    memset(line + 6, 'x', sizeof line - 7);
    headers = headers_of(line, NULL);
    assert_string_equal("", headers.etag);
    headers = headers_of("ETag: \xc3\xa4", NULL);
    assert_string_equal("", headers.etag);
}

static void test_a_status_line_starts_anew(void **state)
{
    struct http_headers headers = headers_of("ETag: \"1\"", "\r\n", NULL);

    (void)state;
    assert_true(headers.complete);
    add(&headers, "HTTP/1.1 200 OK");
    assert_false(headers.complete);
    assert_string_equal("", headers.etag);
}

static void test_trailers_do_not_count(void **state)
{
    struct http_headers headers =
        headers_of("Date: x", "\r\n", "ETag: \"late\"", "Age: 9", NULL);

    (void)state;
    assert_string_equal("", headers.etag);
    assert_int_equal(0, headers.age_s);
}

static int64_t fresh(const char *a, const char *b, const char *c)
{
    struct http_headers headers = headers_of(a, b, c, NULL);

    return http_headers_fresh_s(&headers, NOW);
}

static void test_max_age(void **state)
{
    (void)state;
    assert_int_equal(154, fresh("Cache-Control: public, max-age=154, "
                                "s-maxage=300",
                                NULL, NULL));
    assert_int_equal(300, fresh("cache-control: MAX-AGE=\"300\"", NULL, NULL));
    assert_int_equal(60,
                     fresh("Cache-Control: private",
                           "Cache-Control: must-revalidate,max-age=60", NULL));
    assert_int_equal(90, fresh("Cache-Control: max-age=100", "Age: 10", NULL));
    assert_int_equal(
        HTTP_FRESH_MAX_S,
        fresh("Cache-Control: max-age=99999999999999999999", NULL, NULL));
}

static void test_max_age_before_expires(void **state)
{
    (void)state;
    assert_int_equal(40, fresh("Expires: Sun, 06 Nov 1994 09:49:37 GMT",
                               "Cache-Control: max-age=40", NULL));
}

static void test_no_expiry_of_use(void **state)
{
    (void)state;
    assert_int_equal(-1, fresh(NULL, NULL, NULL));
    assert_int_equal(-1, fresh("Cache-Control: no-store", NULL, NULL));
    assert_int_equal(-1, fresh("Cache-Control: s-maxage=300", NULL, NULL));
    assert_int_equal(-1, fresh("Cache-Control: max-age=0", NULL, NULL));
    assert_int_equal(-1, fresh("Cache-Control: max-age=-5", NULL, NULL));
    assert_int_equal(-1, fresh("Cache-Control: max-age=", NULL, NULL));
    assert_int_equal(-1, fresh("Cache-Control: xmax-age=50", NULL, NULL));
    assert_int_equal(-1, fresh("Cache-Control: max-age=10", "Age: 10", NULL));
    assert_int_equal(-1, fresh("Expires: 0", NULL, NULL));
    assert_int_equal(
        -1, fresh("Expires: Sun, 06 Nov 1994 08:00:00 GMT", NULL, NULL));
}

/* The service's clock may be wrong: its expiry counts against its own date,
 * here a year before ours. */
static void test_expires_against_date(void **state)
{
    (void)state;
    assert_int_equal(1800,
                     fresh("Date: Sat, 06 Nov 1993 08:00:00 GMT",
                           "Expires: Sat, 06 Nov 1993 08:30:00 GMT", NULL));
    assert_int_equal(1700, fresh("Date: Sat, 06 Nov 1993 08:00:00 GMT",
                                 "Expires: Sat, 06 Nov 1993 08:30:00 GMT",
                                 "Age: 100"));
    assert_int_equal(
        23, fresh("Expires: Sun, 06 Nov 1994 08:50:00 GMT", NULL, NULL));
    assert_int_equal(-1, fresh("Date: Sun, 06 Nov 1994 09:00:00 GMT",
                               "Expires: Sun, 06 Nov 1994 08:55:00 GMT", NULL));
}

static int64_t retry(const char *line, const char *date)
{
    struct http_headers headers = headers_of(line, date, NULL);

    return http_headers_retry_s(&headers, NOW);
}

static void test_retry_after(void **state)
{
    (void)state;
    assert_int_equal(300, retry("Retry-After: 300", NULL));
    assert_int_equal(HTTP_RETRY_MIN_S, retry("Retry-After: 5", NULL));
    assert_int_equal(HTTP_RETRY_MIN_S, retry("Retry-After: 0", NULL));
    assert_int_equal(HTTP_RETRY_MAX_S, retry("Retry-After: 2300000000", NULL));
    assert_int_equal(HTTP_RETRY_MAX_S,
                     retry("Retry-After: 99999999999999999999999", NULL));
    assert_int_equal(623,
                     retry("Retry-After: Sun, 06 Nov 1994 09:00:00 GMT", NULL));
    assert_int_equal(900, retry("Retry-After: Sat, 06 Nov 1993 09:00:00 GMT",
                                "Date: Sat, 06 Nov 1993 08:45:00 GMT"));
    assert_int_equal(HTTP_RETRY_MAX_S,
                     retry("Retry-After: Wed, 01 Feb 2096 00:00:00 GMT", NULL));
}

static void test_retry_after_nonsense(void **state)
{
    (void)state;
    assert_int_equal(-1, retry(NULL, NULL));
    assert_int_equal(-1, retry("Retry-After: soon", NULL));
    assert_int_equal(-1, retry("Retry-After: -10", NULL));
    assert_int_equal(-1, retry("Retry-After: 10 minutes", NULL));
    assert_int_equal(-1, retry("Retry-After: 1e3", NULL));
    assert_int_equal(-1, retry("Retry-After:", NULL));
    assert_int_equal(-1,
                     retry("Retry-After: Sun, 06 Nov 1994 08:00:00 GMT", NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_dates_in_three_forms),
        cmocka_unit_test(test_two_digit_years),
        cmocka_unit_test(test_nonsense_is_no_date),
        cmocka_unit_test(test_fields_as_sent),
        cmocka_unit_test(test_first_of_two_counts),
        cmocka_unit_test(test_odd_fields_are_left_out),
        cmocka_unit_test(test_a_status_line_starts_anew),
        cmocka_unit_test(test_trailers_do_not_count),
        cmocka_unit_test(test_max_age),
        cmocka_unit_test(test_max_age_before_expires),
        cmocka_unit_test(test_no_expiry_of_use),
        cmocka_unit_test(test_expires_against_date),
        cmocka_unit_test(test_retry_after),
        cmocka_unit_test(test_retry_after_nonsense),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
