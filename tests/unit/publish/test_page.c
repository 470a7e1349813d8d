/* The page's bytes; how it looks is tested in a browser (tests/page). */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/digest.h"
#include "base/text.h"
#include "fake_bulletin.h"
#include "publish/chart_frame.h"
#include "publish/page.h"
#include "publish/page_html.h"
#include "publish/page_parts.h"
#include "publish/show.h"

static int count(const char *words, const char *part)
{
    int found = 0;

    for (; (words = strstr(words, part)) != NULL; words++)
        found++;
    return found;
}

static void same_hour_same_bytes(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *first = page_to_html(bulletin, NULL), *second, *third;

    (void)state;
    bulletin->made += 49 * 60; /* 18:59 */
    second = page_to_html(bulletin, NULL);
    bulletin->made += 60;
    third = page_to_html(bulletin, NULL);
    assert_string_equal(first, second);
    assert_string_not_equal(first, third);
    free(first);
    free(second);
    free(third);
    bulletin_free(bulletin);
}

/* No age is told too low: 17:45 and 18:59 lie 74 min apart. */
static void age_is_at_most(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    static const struct {
        utc_s before_h;
        const char *words;
    } ages[] = {{0, "Weather fetched Fri 6 Mar 17:45, at most 2 h before"},
                {10, "Weather fetched Fri 6 Mar 07:45, at most 12 h before"},
                {96, "Weather fetched Mon 2 Mar 17:45, 4 days before"}};

    (void)state;
    for (int i = 0; i < 3; i++) {
        char *html;

        bulletin->weather_from =
            FAKE_MADE - 1500 - ages[i].before_h * SECONDS_PER_HOUR;
        html = page_to_html(bulletin, NULL);
        assert_non_null(strstr(html, ages[i].words));
        free(html);
    }
    bulletin->weather_from = 0;
    char *html = page_to_html(bulletin, NULL);
    assert_non_null(strstr(html, "No weather service has answered yet."));
    free(html);
    bulletin_free(bulletin);
}

static void words_are_escaped(void **state)
{
    struct text out;

    (void)state;
    text_init(&out, 1000);
    html_add(&out, "a<b>&\"c\"'d'\x01\x1f\x7f\xc3\xa9");
    assert_string_equal(out.bytes,
                        "a&lt;b&gt;&amp;&quot;c&quot;&#39;d&#39;\xc3\xa9");
    text_clear(&out);
    html_add_link(&out, "javascript:alert(1)", "<x>");
    assert_string_equal(out.bytes, "&lt;x&gt;");
    text_clear(&out);
    html_add_link(&out, "https://e.test/ \"", "x");
    assert_string_equal(out.bytes, "x");
    text_clear(&out);
    html_add_link(&out, "https://e.test/?a&b\"", "x");
    assert_string_equal(out.bytes,
                        "<a rel=\"noreferrer\" "
                        "href=\"https://e.test/?a&amp;b&quot;\">x</a>");
    text_free(&out);
}

static int hex_value(char digit)
{
    return digit <= '9' ? digit - '0' : digit - 'a' + 10;
}

/* SHA-256 of the text in base64 (RFC 4648 section 4), as a policy names it. */
static void digest_base64(const char *words, char out[48])
{
    static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                  "abcdefghijklmnopqrstuvwxyz0123456789+/";
    enum { BYTES = 32 };
    char hex[DIGEST_SIZE];
    unsigned bytes[BYTES + 1] = {0};
    int used = 0;

    digest_hex(words, strlen(words), hex);
    for (int i = 0; i < BYTES; i++)
        bytes[i] =
            (unsigned)(hex_value(hex[2 * i]) * 16 + hex_value(hex[2 * i + 1]));
    for (int i = 0; i < BYTES; i += 3) {
        unsigned group = bytes[i] << 16 | bytes[i + 1] << 8 |
                         (i + 2 < BYTES ? bytes[i + 2] : 0);

        for (int shift = 18; shift >= 0; shift -= 6)
            out[used++] = letters[group >> shift & 63];
    }
    /* 32 bytes are ten groups of three and one of two. */
    out[used - 1] = '=';
    out[used] = '\0';
}

static void check_digest(const char *words, const char *told)
{
    char digest[48];

    digest_base64(words, digest);
    assert_string_equal(told, digest);
}

static void policy_names_what_is_in_the_page(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *html = page_to_html(bulletin, NULL), policy[PAGE_POLICY_SIZE];

    (void)state;
    page_policy(policy);
    assert_non_null(strstr(html, policy));
    assert_int_equal(count(policy, "'sha256-"), 3);
    check_digest(page_style, page_style_digest);
    check_digest(page_style_wide, page_style_wide_digest);
    check_digest(page_script, page_script_digest);
    assert_int_equal(count(html, "<style>"), 2);
    assert_int_equal(count(html, "<script>"), 1);
    assert_int_equal(count(html, " style=\""), 0);
    assert_int_equal(count(html, "onclick"), 0);
    free(html);
    bulletin_free(bulletin);
}

static void links_to_subscribe(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct page_options options = {.address = "https://sap.test/a_b/"};
    char *html = page_to_html(bulletin, &options);

    (void)state;
    assert_non_null(strstr(html, "href=\"webcal://sap.test/a_b/calendar.ics"));
    assert_non_null(strstr(html, ">https://sap.test/a_b/calendar.ics</a>"));
    assert_non_null(
        strstr(html, "/r?cid=https%3A%2F%2Fsap.test%2Fa_b%2Fcalendar.ics\""));
    free(html);
    html = page_to_html(bulletin, NULL);
    assert_non_null(strstr(html, "<a href=\"calendar.ics\">"));
    assert_null(strstr(html, "webcal"));
    free(html);
    bulletin_free(bulletin);
}

static void what_has_passed_is_left_out(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *html;

    (void)state;
    bulletin->made = fake_time(bulletin, 9, 12, 0);
    html = page_to_html(bulletin, NULL);
    assert_null(strstr(html, "<h3>Sun 8 Mar</h3>"));
    assert_non_null(strstr(html, "<h3>Mon 9 Mar</h3>"));
    assert_int_equal(count(html, "<li class=\"day"), 7);
    free(html);
    bulletin_free(bulletin);
}

static void a_credit_stands_once_and_only_if_used(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    char *html;

    (void)state;
    html = page_to_html(bulletin, NULL);
    assert_int_equal(count(html, "Data from MET Norway"), 1);
    assert_int_equal(count(html, "National Weather Service"), 0);
    free(html);
    bulletin->sources[1] = bulletin->sources[0];
    html = page_to_html(bulletin, NULL);
    assert_int_equal(count(html, "Data from MET Norway"), 1);
    free(html);
    /* A service that asks for no credit leaves no empty one. */
    bulletin->sources[0].credit[0] = bulletin->sources[0].credit_url[0] = '\0';
    html = page_to_html(bulletin, NULL);
    assert_int_equal(count(html, "Weather: <a"), 1);
    free(html);
    bulletin_free(bulletin);
}

/* The number alone, in the reader's language, and no room where it is 0. */
static void mails_given_up_are_told(void **state)
{
    static const char *const words[] = {
        NULL,
        "<li>1 mail of the last three days was given up: &quot;thawbell "
        "check&quot; tells which and why.</li>\n",
        "<li>2 mails of the last three days were given up: &quot;thawbell "
        "check&quot; tells which and why.</li>\n"};
    struct bulletin *bulletin = fake_bulletin();
    char *none = page_to_html(bulletin, NULL);

    (void)state;
    assert_null(strstr(none, "<section class=\"notes\""));
    for (int mails = 0; mails <= 2; mails++) {
        struct page_options options = {.mails_given_up = mails};
        char *html = page_to_html(bulletin, &options);
        struct error err;

        assert_int_equal(page_check(html, strlen(html), &err), 0);
        if (mails == 0)
            assert_string_equal(html, none);
        else
            assert_int_equal(count(html, words[mails]), 1);
        assert_int_equal(count(html, "<section class=\"notes\""), mails > 0);
        assert_int_equal(count(html, " given up: "), mails > 0);
        free(html);
    }
    free(none);
    bulletin_free(bulletin);
}

static void check_refuses(void **state)
{
    static const char *const bad[] = {"",
                                      "<html></html>\n",
                                      "<!DOCTYPE html><p>half",
                                      "<!DOCTYPE html><img src=x></html>\n",
                                      "<!DOCTYPE html><iframe></html>\n",
                                      "<!DOCTYPE html><script src=x></html>\n",
                                      "<!DOCTYPE html>\xff</html>\n"};
    struct error err;

    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(page_check(bad[i], strlen(bad[i]), &err), -1);
    assert_int_equal(page_check("<!DOCTYPE html></html>\n", 23, &err), 0);
    assert_int_equal(page_check("<!DOCTYPE html>\0</html>\n", 24, &err), -1);
}

/* 2026: New York's clock goes forward on 8 March and back on 1 November, 2:00
 * local time (15 USC 260a). */
static void midnights_beside_changes_of_the_clock(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct civil_date date = {2026, 3, 1};

    (void)state;
    for (int i = 0; i < 260; i++) {
        struct civil_date day = civil_date_add(date, i);

        assert_int_equal(chart_midnight(bulletin, day),
                         zone_day_start(bulletin->zone, day));
    }
    bulletin_free(bulletin);
}

static void steps_are_round(void **state)
{
    (void)state;
    assert_near(chart_step(23, 5), 5, 1e-9);
    assert_near(chart_step(26, 5), 10, 1e-9);
    assert_near(chart_step(10, 5), 2, 1e-9);
    assert_near(chart_step(900, 4), 250, 1e-9);
    assert_near(chart_step(0.5, 5), 0.1, 1e-9);
}

/* What a chart that begins on that day draws at the hour. */
static bool drawn_at(const struct bulletin *bulletin,
                     enum chart_quantity quantity, utc_s hour, double *value)
{
    struct chart_style style = {UNITS_US, 358, "x", "x"};
    struct chart chart = {.bulletin = bulletin, .style = &style, .now = hour};
    utc_s row;

    chart_begin(&chart);
    row = (hour - chart.from) / SECONDS_PER_HOUR;
    assert_int_equal(chart_hour(&chart, (int)row), hour);
    assert_in_range(row, 0, 24);
    *value = chart.values[quantity][row];
    return chart.known[quantity][row];
}

/* The sap of all taps in gallons an hour: 140 and 60 taps by the same flow. */
static void flow_is_that_of_all_taps(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    const struct outlook *outlook = bulletin->bushes[0].outlook;
    double value;

    (void)state;
    assert_true(drawn_at(bulletin, CHART_FLOW,
                         outlook->start + 30 * SECONDS_PER_HOUR, &value));
    /* 231 cubic inches: NIST SP 811 (2008), appendix B.8. */
    assert_near(value, 200 * outlook->sap_l_per_tap[30] / 3.785411784, 1e-9);
    assert_false(drawn_at(bulletin, CHART_FLOW, outlook->start - 3600, &value));
    bulletin->bushes[0].outlook->days[1].known = false;
    assert_true(drawn_at(bulletin, CHART_FLOW,
                         outlook->start + 30 * SECONDS_PER_HOUR, &value));
    assert_near(value, 60 * outlook->sap_l_per_tap[30] / 3.785411784, 1e-9);
    bulletin_free(bulletin);
}

/* The plan's level at the end of an hour stands at that end. */
static void level_is_in_per_cent(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct bulletin_plan *plan = &bulletin->plan;
    double value;

    (void)state;
    assert_false(drawn_at(bulletin, CHART_TANKS, FAKE_MADE - 600, &value));
    plan->start = 3600000;
    plan->hours = 2;
    plan->tanks_hold_l = 400;
    plan->tanks_l = mem_alloc(2, sizeof(double));
    plan->tanks_l[0] = 100;
    plan->tanks_l[1] = 300;
    assert_false(drawn_at(bulletin, CHART_TANKS, 3600000, &value));
    assert_true(drawn_at(bulletin, CHART_TANKS, 3603600, &value));
    assert_near(value, 25, 1e-9);
    assert_true(drawn_at(bulletin, CHART_TANKS, 3607200, &value));
    assert_near(value, 75, 1e-9);
    assert_false(drawn_at(bulletin, CHART_TANKS, 3610800, &value));
    assert_false(drawn_at(bulletin, CHART_BUCKETS, 3607200, &value));
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_hour_same_bytes),
        cmocka_unit_test(age_is_at_most),
        cmocka_unit_test(words_are_escaped),
        cmocka_unit_test(policy_names_what_is_in_the_page),
        cmocka_unit_test(links_to_subscribe),
        cmocka_unit_test(what_has_passed_is_left_out),
        cmocka_unit_test(a_credit_stands_once_and_only_if_used),
        cmocka_unit_test(mails_given_up_are_told),
        cmocka_unit_test(check_refuses),
        cmocka_unit_test(midnights_beside_changes_of_the_clock),
        cmocka_unit_test(steps_are_round),
        cmocka_unit_test(flow_is_that_of_all_taps),
        cmocka_unit_test(level_is_in_per_cent),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
