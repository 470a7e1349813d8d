/* Each invariant of the calendar's bytes broken once. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "publish/calendar.h"
#include "unit_test.h"

static const char sound[] = "BEGIN:VCALENDAR\r\n"
                            "VERSION:2.0\r\n"
                            "PRODID:-//thawbell//calendar 1//EN\r\n"
                            "CALSCALE:GREGORIAN\r\n"
                            "NAME:Sap: Tamarack Bend\r\n"
                            "REFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n"
                            "URL:https://example.org/\r\n"
                            "BEGIN:VEVENT\r\n"
                            "UID:a@thawbell\r\n"
                            "DTSTAMP:20260306T231000Z\r\n"
                            "CREATED:20260306T231000Z\r\n"
                            "LAST-MODIFIED:20260306T231000Z\r\n"
                            "SEQUENCE:0\r\n"
                            "DTSTART;VALUE=DATE:20260307\r\n"
                            "DTEND;VALUE=DATE:20260308\r\n"
                            "SUMMARY:Good run\\, 120 gal\r\n"
                            "DESCRIPTION:One line\\nand é\r\n"
                            "  after a fold.\r\n"
                            "TRANSP:TRANSPARENT\r\n"
                            "END:VEVENT\r\n"
                            "BEGIN:VEVENT\r\n"
                            "UID:b@thawbell\r\n"
                            "DTSTAMP:20260306T231000Z\r\n"
                            "CREATED:20260306T231000Z\r\n"
                            "LAST-MODIFIED:20260306T231000Z\r\n"
                            "SEQUENCE:3\r\n"
                            "DTSTART:20260308T220000Z\r\n"
                            "DTEND:20260309T020000Z\r\n"
                            "SUMMARY:Boil\r\n"
                            "STATUS:CANCELLED\r\n"
                            "TRANSP:TRANSPARENT\r\n"
                            "END:VEVENT\r\n"
                            "END:VCALENDAR\r\n";

static const struct {
    const char *from, *to, *expected;
} broken[] = {
    /* Lines. */
    {"VERSION:2.0\r\n", "VERSION:2.0\n", "line 2 does not end with CR LF"},
    {"VERSION:2.0\r\n", "VERSION:2.0\r", "control character 13"},
    {"END:VCALENDAR\r\n", "END:VCALENDAR", "line 33 does not end"},
    {"Boil", "Boil\tit", "control character 9"},
    {"Boil", "Boil\x7f", "control character 127"},
    {"Boil", "B\xc3il", "not UTF-8"},
    {"Boil", "B\xed\xa0\x80il", "not UTF-8"},
    {"é\r\n  after", "\xc3\r\n \xa9 after", "folded inside a character"},
    {"SUMMARY:Boil",
     "SUMMARY:"
     "Boilaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"
     "aa",
     "76 octets"},
    {"BEGIN:VCALENDAR\r\n", " BEGIN:VCALENDAR\r\n", "continues nothing"},
    {"SEQUENCE:3", "SEQUENCE 3", "no colon"},
    {"SEQUENCE:3", ":3", "no property name"},
    {"SEQUENCE:3", "SEQ_UENCE:3", "no property name"},
    {"STATUS:CANCELLED\r\n", "\r\n", "no colon"},
    /* Parts. */
    {"END:VCALENDAR\r\n", "END:VCALENDAR\r\nX-A:1\r\n", "outside"},
    {"END:VCALENDAR\r\n", "END:VCALENDAR\r\nBEGIN:VCALENDAR\r\n", "no place"},
    {"END:VCALENDAR\r\n", "", "does not end"},
    {"END:VCALENDAR", "END:VEVENT", "has not begun"},
    {"BEGIN:VCALENDAR\r\n", "", "outside of the calendar"},
    {"TRANSP:TRANSPARENT\r\nEND:VEVENT\r\nBEGIN",
     "BEGIN:VALARM\r\nEND:VALARM\r\nTRANSP:TRANSPARENT\r\nEND:VEVENT\r\nBEGIN",
     "no place"},
    {"BEGIN:VEVENT", "BEGIN:VTODO", "no place"},
    {"BEGIN:VEVENT", "BEGIN;X-A=1:VEVENT", "no place"},
    {"END:VCALENDAR", "END;X-A=1:VCALENDAR", "no place"},
    {"VERSION:2.0", "VERSION:1.0", "VERSION:2.0 or PRODID"},
    {"PRODID:-//thawbell//calendar 1//EN\r\n", "", "PRODID"},
    {"CALSCALE:GREGORIAN", "METHOD:PUBLISH", "METHOD"},
    {"CALSCALE:GREGORIAN", "X-LIC-ERROR;X-LIC-ERRORTYPE=VALUE-PARSE-ERROR:no",
     "X-LIC-ERROR"},
    {"REFRESH-INTERVAL;VALUE=DURATION:PT1H",
     "REFRESH-INTERVAL:VALUE=DURATION:PT1H", "VALUE=DURATION"},
    {"URL:https://example.org/", "URL:ftp://example.org/", "web address"},
    {"URL:https://example.org/", "URL:https://example.org/ a", "blank"},
    {"NAME:Sap: Tamarack Bend", "NAME:Sap; Tamarack Bend", "not escaped"},
    /* Events. */
    {"UID:a@thawbell\r\n", "", "line 8: the event has no UID"},
    {"UID:a@thawbell", "UID:", "is empty"},
    {"UID:b@thawbell", "UID:a@thawbell", "has it already"},
    {"DTSTAMP:20260306T231000Z\r\n", "", "no DTSTAMP"},
    {"CREATED:20260306T231000Z\r\n", "", "no CREATED"},
    {"SEQUENCE:0\r\n", "", "no SEQUENCE"},
    {"SEQUENCE:0", "SEQUENCE:-1", "no whole number"},
    {"SEQUENCE:0", "SEQUENCE:0\r\nSEQUENCE:0", "comes twice"},
    {"SUMMARY:Boil\r\n", "", "no SUMMARY"},
    {"SUMMARY:Boil", "SUMMARY:", "is empty"},
    {"SUMMARY:Boil", "SUMMARY:Boil, then", "not escaped"},
    {"SUMMARY:Boil", "SUMMARY:Boil; then", "not escaped"},
    {"SUMMARY:Boil", "SUMMARY:Boil \\t then", "escapes nothing"},
    {"SUMMARY:Boil", "SUMMARY:Boil\\", "escapes nothing"},
    {"DTSTART;VALUE=DATE:20260307\r\n", "", "no DTSTART"},
    {"DTEND;VALUE=DATE:20260308\r\n", "", "no DTEND"},
    {"DTEND;VALUE=DATE:20260308", "DTEND;VALUE=DATE:20260307", "ends before"},
    {"DTEND:20260309T020000Z", "DTEND:20260308T220000Z", "ends before"},
    {"DTSTART;VALUE=DATE:20260307", "DTSTART;VALUE=DATE:20260230",
     "no real date"},
    {"DTSTART;VALUE=DATE:20260307", "DTSTART;VALUE=DATE:2026037",
     "no real date"},
    {"DTSTART;VALUE=DATE:20260307", "DTSTART:20260307T000000Z",
     "different kinds"},
    {"DTSTART:20260308T220000Z", "DTSTART:20260308T240000Z", "no real time"},
    {"DTSTART:20260308T220000Z", "DTSTART:20260308T220000", "no real time"},
    {"DTSTART:20260308T220000Z", "DTSTART:20260308T220000A", "no real time"},
    {"DTSTART:20260308T220000Z",
     "DTSTART;TZID=America/New_York:20260308T180000", "a zone"},
    {"LAST-MODIFIED:20260306T231000Z", "LAST-MODIFIED:20260306T231001Z",
     "DTSTAMP is not its LAST-MODIFIED"},
    {"STATUS:CANCELLED", "STATUS:GONE", "no value allowed"},
    {"TRANSP:TRANSPARENT", "TRANSP:CLEAR", "no value allowed"},
    {"TRANSP:TRANSPARENT", "X-LIC-ERROR:no", "do not have"},
    {"TRANSP:TRANSPARENT", "RRULE:FREQ=DAILY", "do not have"},
};

static void sound_bytes_pass(void **state)
{
    struct error err = {""};

    (void)state;
    if (calendar_check(sound, sizeof sound - 1, &err) != 0)
        fail_msg("%s", err.text);
}

static void each_break_is_found(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
        const char *at = strstr(sound, broken[i].from);
        struct error err = {""};
        char *bytes;

        if (at == NULL)
            fail_msg("row %zu: %s", i, broken[i].from);
        bytes = mem_format("%.*s%s%s", (int)(at - sound), sound, broken[i].to,
                           at + strlen(broken[i].from));
        if (calendar_check(bytes, strlen(bytes), &err) == 0)
            fail_msg("row %zu passes: %s", i, broken[i].to);
        if (strstr(err.text, broken[i].expected) == NULL)
            fail_msg("row %zu: \"%s\" does not say \"%s\"", i, err.text,
                     broken[i].expected);
        free(bytes);
    }
}

static void a_calendar_without_events_is_none(void **state)
{
    static const char empty[] = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\n"
                                "PRODID:a\r\nEND:VCALENDAR\r\n";
    struct error err = {""};

    (void)state;
    assert_int_equal(calendar_check(empty, sizeof empty - 1, &err), -1);
    assert_string_equal(err.text, "the calendar holds no event");
    assert_int_equal(calendar_check("", 0, &err), -1);
    /* A NUL ends no string here. */
    assert_int_equal(calendar_check("BEGIN:VCALENDAR\0\r\n", 18, &err), -1);
    assert_non_null(strstr(err.text, "control character 0"));
}

/* Bytes cut anywhere, or with any one byte changed, never crash the check;
 * every cut is found. */
static void cuts_and_flips_are_survived(void **state)
{
    char *bytes = mem_copy_bytes(sound, sizeof sound - 1);

    (void)state;
    for (size_t cut = 0; cut < sizeof sound - 1; cut++)
        assert_int_equal(calendar_check(bytes, cut, NULL), -1);
    for (size_t at = 0; at < sizeof sound - 1; at++) {
        char kept = bytes[at];

        for (int bit = 0; bit < 8; bit++) {
            bytes[at] = (char)(kept ^ (1 << bit));
            calendar_check(bytes, sizeof sound - 1, NULL);
        }
        bytes[at] = kept;
    }
    assert_int_equal(calendar_check(bytes, sizeof sound - 1, NULL), 0);
    free(bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sound_bytes_pass),
        cmocka_unit_test(each_break_is_found),
        cmocka_unit_test(a_calendar_without_events_is_none),
        cmocka_unit_test(cuts_and_flips_are_survived),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
