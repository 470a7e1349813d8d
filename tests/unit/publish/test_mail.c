/* The mail: bytes that every reader takes, words that say the decision first,
 * nothing that breaks out of its place. Parsers of another make read the same
 * mails in tests/peers. */
#include "unit_test.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fake_bulletin.h"
#include "publish/mail.h"
#include "publish/mail_mime.h"
#include "publish/show.h"

static char *header(const char *value)
{
    struct text out;

    text_init(&out, 10000);
    mime_add_header(&out, "Subject", value);
    return text_steal(&out);
}

static void expect_header(const char *value, const char *expected)
{
    char *got = header(value);

    assert_string_equal(got, expected);
    free(got);
}

static void headers(void **state)
{
    (void)state;
    expect_header("Good run", "Subject: Good run\r\n");
    expect_header("", "Subject: \r\n");
    /* No line end of the value is one of the header. */
    expect_header("a\r\nBcc: eve@x.test\n b\x1b",
                  "Subject: a  Bcc: eve@x.test  b \r\n");
    /* RFC 2047 section 4.2 and 5: é, the blank, "_", "?" and "=" encoded. */
    expect_header("\xC3\xA9 _?=", "Subject: =?utf-8?Q?=C3=A9_=5F=3F=3D?=\r\n");
    /* What only looks encoded is encoded, so that it stays what it is. */
    expect_header("=?utf-8?Q?x?=",
                  "Subject: =?utf-8?Q?=3D=3Futf-8=3FQ=3Fx=3F=3D?=\r\n");
    expect_header("bad \xff\xc3 byte", "Subject: bad ?? byte\r\n");
}

/* At most 76 columns a line, encoded words of at most 75 bytes (RFC 2047
 * section 2), no character in two of them. */
static void long_headers(void **state)
{
    char value[801] = "";
    char *got;

    (void)state;
    for (int i = 0; i < 200; i++)
        memcpy(value + 4 * i, "\xF0\x9F\x8D\x81", 4);
    value[800] = '\0';
    got = header(value);
    for (char *line = got; *line != '\0';) {
        size_t length = strcspn(line, "\r");
        char *word = strstr(line, "=?");
        size_t digits;

        assert_true(length <= 76);
        assert_non_null(word);
        digits = length - (size_t)(word - line) - 12;
        assert_true(digits + 12 <= 75 && digits % 12 == 0);
        line += length + 2;
        assert_true(*line == '\0' || *line == ' ');
    }
    free(got);
    memset(value, 'x', 790);
    got = header(value);
    for (char *line = got; *line != '\0'; line += strcspn(line, "\r") + 2)
        assert_true(strcspn(line, "\r") <= 76);
    free(got);
}

static void expect_quoted(const char *words, const char *expected)
{
    struct text out;

    text_init(&out, 100000);
    mime_add_quoted(&out, words);
    text_add(&out, "");
    assert_string_equal(out.bytes, expected);
    text_free(&out);
}

/* RFC 2045 section 6.7, rules 1 to 5. */
static void quoted_printable(void **state)
{
    (void)state;
    expect_quoted("a=b\nc \n\td\t\n", "a=3Db\r\nc=20\r\n\td=09\r\n");
    expect_quoted("\xC3\xA9t\xC3\xA9", "=C3=A9t=C3=A9\r\n");
    expect_quoted("From here\n", "=46rom here\r\n");
    expect_quoted("x\r\x1b[31m\n", "x  [31m\r\n");
    expect_quoted("\xff\n", "?\r\n");
    /* 76 go on one line, 77 do not; an "=XX" is not parted. */
    expect_quoted("1234567890123456789012345678901234567890123456789012345678"
                  "901234567890123456\n",
                  "1234567890123456789012345678901234567890123456789012345678"
                  "901234567890123456\r\n");
    expect_quoted("1234567890123456789012345678901234567890123456789012345678"
                  "9012345678901234567\n",
                  "1234567890123456789012345678901234567890123456789012345678"
                  "90123456789012345=\r\n67\r\n");
    expect_quoted("1234567890123456789012345678901234567890123456789012345678"
                  "901234567890123\xC3\xA9\n",
                  "1234567890123456789012345678901234567890123456789012345678"
                  "901234567890123=\r\n=C3=A9\r\n");
}

static void expect_mailbox(const char *display, const char *address,
                           const char *expected)
{
    struct text out;

    text_init(&out, 10000);
    mime_add_mailbox(&out, "From", display, address);
    assert_string_equal(out.bytes, expected);
    text_free(&out);
}

static void mailboxes(void **state)
{
    (void)state;
    expect_mailbox("Bend", "a@b.test", "From: \"Bend\" <a@b.test>\r\n");
    expect_mailbox("", "a@b.test", "From: <a@b.test>\r\n");
    expect_mailbox("a \"b\" \\ <x@y.test>,", "a@b.test",
                   "From: \"a \\\"b\\\" \\\\ <x@y.test>,\" <a@b.test>\r\n");
    expect_mailbox("\xC3\x89t\xC3\xA9", "a@b.test",
                   "From: =?utf-8?Q?=C3=89t=C3=A9?=\r\n <a@b.test>\r\n");
    expect_mailbox("x\r\nBcc: e", "a@b.test",
                   "From: \"x  Bcc: e\" <a@b.test>\r\n");
    expect_mailbox("x", "a@b.test>\r\nBcc: <e@x.test", "From: \"x\" \r\n");
}

static void ids_and_dates(void **state)
{
    const struct civil_time date = {{2026, 3, 8}, 5, 30, 0, -4 * 3600};
    char a[MAIL_ID_SIZE], b[MAIL_ID_SIZE];
    char *head;

    (void)state;
    mail_message_id("bend", "morning 2026-03-08", "x@bush.test", "a@b.test",
                    1000, a);
    mail_message_id("bend", "morning 2026-03-08", "x@bush.test", "a@b.test",
                    1000, b);
    assert_string_equal(a, b);
    assert_int_equal(strncmp(a, "<bend.morning.", 14), 0);
    assert_non_null(strstr(a, "@bush.test>"));
    mail_message_id("bend", "morning 2026-03-08", "x@bush.test", "c@b.test",
                    1000, b);
    assert_string_not_equal(a, b);
    mail_message_id("bend", "morning 2026-03-09", "x@bush.test", "a@b.test",
                    1000, b);
    assert_string_not_equal(a, b);
    head = mail_head("Bend", "x@bush.test", "a@b.test", &date, a);
    assert_non_null(strstr(head, "\r\nDate: Sun, 08 Mar 2026 05:30:00 -0400"
                                 "\r\n"));
    assert_non_null(strstr(head, a));
    free(head);
}

static struct mail_letter morning_of(const struct bulletin *bulletin)
{
    struct mail_letter letter;
    char *warning = NULL;

    mail_morning(bulletin, fake_time(bulletin, 7, 5, 30), NULL, &letter,
                 &warning);
    if (warning != NULL)
        fail_msg("%s", warning);
    return letter;
}

/* The first line is the shell's, in the subject as much of it as fits. */
static void decision_first(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct show_style style = {UNITS_US, 80, false};
    struct mail_letter letter;
    struct text line;

    (void)state;
    bulletin->made = fake_time(bulletin, 7, 5, 0);
    bulletin->weather_from = bulletin->made;
    letter = morning_of(bulletin);
    text_init(&line, 1000);
    style.columns = MAIL_TEXT_COLUMNS;
    show_line(bulletin, fake_time(bulletin, 7, 5, 30), &style, &line);
    assert_int_equal(strncmp(letter.text, line.bytes, line.length), 0);
    assert_int_equal(letter.text[line.length], '\n');
    style.columns = 80;
    text_clear(&line);
    show_line(bulletin, fake_time(bulletin, 7, 5, 30), &style, &line);
    assert_non_null(strstr(letter.html, line.bytes));
    assert_int_equal(strncmp(letter.subject, "Good run today 10:00-17:00", 26),
                     0);
    assert_true(utf8_columns(letter.subject) <= 60);
    assert_non_null(strstr(letter.text, "Data from MET Norway"));
    assert_non_null(strstr(letter.html, "Local codes"));
    /* No fire is told of, so nothing of fires. */
    assert_null(strstr(letter.text, "At the fire"));
    text_free(&line);
    mail_letter_free(&letter);
    bulletin_free(bulletin);
}

static void narrow_text(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct mail_letter letter = morning_of(bulletin);

    (void)state;
    for (char *line = letter.text, *end; *line != '\0'; line = end + 1) {
        end = strchr(line, '\n');
        assert_non_null(end);
        *end = '\0';
        if (strstr(line, "://") == NULL)
            assert_true(utf8_columns(line) <= MAIL_TEXT_COLUMNS);
    }
    mail_letter_free(&letter);
    bulletin_free(bulletin);
}

static int count_of(const char *bytes, const char *words)
{
    int count = 0;

    while ((bytes = strstr(bytes, words)) != NULL) {
        bytes++;
        count++;
    }
    return count;
}

/* The picture is asked for by the name it has. */
static void parts(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct mail_letter letter = morning_of(bulletin);
    size_t length, again_length;
    char *body = mail_body(&letter, "x@bush.test", &length);
    char *again = mail_body(&letter, "x@bush.test", &again_length);
    const char *id = strstr(body, "Content-ID: <");
    char cid[100];

    (void)state;
    assert_string_equal(body, again);
    assert_int_equal(length, strlen(body));
    assert_int_equal(strncmp(body, "Subject: ", 9), 0);
    assert_non_null(strstr(body, "Auto-Submitted: auto-generated\r\n"));
    assert_non_null(id);
    snprintf(cid, sizeof cid, "cid:%.24s", id + 13);
    assert_int_equal(strncmp(id + 13, "chart.", 6), 0);
    assert_non_null(strstr(body, cid));
    assert_int_equal(count_of(body, "Content-Type: "), 5);
    assert_true(strlen(letter.html) < 100 * 1024);
    for (const char *p = body; *p != '\0'; p++)
        assert_true(*p >= 0x20 || *p == '\r' || *p == '\n' || *p == '\t');
    free(again);
    free(body);
    mail_letter_free(&letter);
    bulletin_free(bulletin);
}

/* A PNG file (ISO/IEC 15948 section 5): signature, IHDR with the size, IEND
 * last. That it shows something is looked at by tests/peers/read_mails.py. */
static void picture(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct chart_png png, again;

    (void)state;
    assert_int_equal(0, chart_png(bulletin, FAKE_MADE, UNITS_US, &png, NULL));
    assert_int_equal(0, chart_png(bulletin, FAKE_MADE, UNITS_US, &again, NULL));
    assert_true(png.length > 5000 && png.length < 60000);
    assert_memory_equal(png.bytes, "\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 16);
    assert_int_equal((unsigned char)png.bytes[18] * 256 +
                         (unsigned char)png.bytes[19],
                     2 * png.width);
    assert_int_equal((unsigned char)png.bytes[22] * 256 +
                         (unsigned char)png.bytes[23],
                     2 * png.height);
    assert_memory_equal(png.bytes + png.length - 8, "IEND\xAE\x42\x60\x82", 8);
    assert_int_equal(png.length, again.length);
    assert_memory_equal(png.bytes, again.bytes, png.length);
    chart_png_free(&again);
    chart_png_free(&png);
    bulletin_free(bulletin);
}

/* A letter too long for its HTML goes as text: half a page is none. */
static void too_long_for_html(void **state)
{
    struct bulletin *bulletin = fake_bulletin();
    struct mail_letter letter;

    (void)state;
    letter = morning_of(bulletin);
    assert_non_null(letter.html);
    mail_letter_free(&letter);
    for (int i = 0; i < 300; i++)
        error_list_add(&bulletin->notes, "Note %d: %0400d", i, i);
    letter = morning_of(bulletin);
    assert_null(letter.html);
    assert_non_null(strstr(letter.text, "299:"));
    mail_letter_free(&letter);
    bulletin_free(bulletin);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(headers),          cmocka_unit_test(long_headers),
        cmocka_unit_test(quoted_printable), cmocka_unit_test(mailboxes),
        cmocka_unit_test(ids_and_dates),    cmocka_unit_test(decision_first),
        cmocka_unit_test(narrow_text),      cmocka_unit_test(parts),
        cmocka_unit_test(picture),          cmocka_unit_test(too_long_for_html),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
