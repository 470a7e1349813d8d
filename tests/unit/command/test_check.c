/* What `thawbell check` says of what is published. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "command/check.h"
#include "unit_test.h"

static const utc_s now = 1772710200; /* 2026-03-05T11:30:00Z */

static const char refused[] = "api.met.no answers 503";

static struct bulletin_source sources[2];
static struct bulletin bulletin;
static struct checked checked;
static struct config config;
static char name[] = "Bend", slug[] = "bend", zone[] = "UTC";
static char path[] = "bend.conf", folder[] = "/public/bend";
static char bulletin_path[] = "/public/bend/bulletin.json";

static void fill(void)
{
    sources[0] = (struct bulletin_source){.name = "nws", .in_use = true};
    sources[1] = (struct bulletin_source){.name = "metno"};
    bulletin = (struct bulletin){.made = now - 3600,
                                 .weather_from = now - 7200,
                                 .sources = sources,
                                 .source_count = 2,
                                 .offsets = {{now - 86400, -5 * 3600}},
                                 .offset_count = 1};
    config = (struct config){.name = name, .slug = slug, .zone_name = zone};
    checked = (struct checked){.path = path,
                               .config = &config,
                               .folder = folder,
                               .bulletin = &bulletin,
                               .bulletin_path = bulletin_path};
}

typedef void printer(void);

/* What a function prints on a stream, owned by the caller. */
static char *printed(FILE *stream, printer *print)
{
    char temporary[] = "/tmp/thawbell-check-XXXXXX";
    char *bytes;
    size_t length;
    int file = mkstemp(temporary), old = dup(fileno(stream));
    assert_true(file >= 0 && old >= 0);
    fflush(stream);
    dup2(file, fileno(stream));
    print();
    fflush(stream);
    dup2(old, fileno(stream));
    close(old);
    close(file);
    assert_int_equal(file_read(temporary, 100000, &bytes, &length, NULL), 0);
    unlink(temporary);
    return bytes;
}

static int code;

static void ask_state(void)
{
    code = check_state(&checked, now);
}

static void ask_print(void)
{
    check_print_state(&checked, now);
}

static void ask_json(void)
{
    check_print_json(&checked, 1, now);
}

static void expect_state(int expected, const char *sentence)
{
    char *said = printed(stderr, ask_state);
    assert_int_equal(code, expected);
    assert_string_equal(said, sentence);
    free(said);
}

static void expect_printed(const char *expected)
{
    char *said = printed(stdout, ask_print);
    assert_string_equal(said, expected);
    free(said);
}

static void states(void **state)
{
    (void)state;
    fill();
    expect_state(EXIT_DONE, "");
    bulletin.weather_from = now - 24 * 3600 + 1;
    expect_state(EXIT_DONE, "");
    bulletin.weather_from = now - 24 * 3600;
    expect_state(EXIT_FAILED,
                 "/public/bend/bulletin.json: its weather is 24 h old; is "
                 "thawbelld running, and the network up?\n");
    fill();
    sources[0].in_use = false;
    expect_state(EXIT_FAILED, "/public/bend/bulletin.json: no weather service "
                              "is in use\n");
    error_set(&checked.unreadable, "no JSON");
    expect_state(EXIT_FAILED,
                 "/public/bend/bulletin.json cannot be used: no JSON\n");
    fill();
    checked.bulletin = NULL;
    expect_state(EXIT_DONE, "");
}

static void printed_states(void **state)
{
    (void)state;
    fill();
    expect_printed("Published in /public/bend:\n"
                   "  bulletin 1 h old, its weather 2 h old\n");
    snprintf(sources[1].trouble, sizeof sources[1].trouble, "%s", refused);
    expect_printed("Published in /public/bend:\n"
                   "  bulletin 1 h old, its weather 2 h old\n"
                   "  metno is in trouble: api.met.no answers 503\n");
    sources[1].trouble_since = now - 5 * 3600;
    bulletin.weather_from = 0;
    expect_printed("Published in /public/bend:\n"
                   "  bulletin 1 h old, without a forecast\n"
                   "  metno is in trouble since 2026-03-05 01:30: api.met.no "
                   "answers 503\n");
    checked.bulletin = NULL;
    expect_printed("Published in /public/bend:\n"
                   "  nothing yet; \"thawbelld --once\" makes the first "
                   "forecast\n");
}

static void for_programs(void **state)
{
    (void)state;
    fill();
    snprintf(sources[1].trouble, sizeof sources[1].trouble, "%s", refused);
    sources[1].trouble_since = now - 5 * 3600;
    char *said = printed(stdout, ask_json);
    assert_string_equal(
        said,
        "{\"version\":1,\"files\":[{\"path\":\"bend.conf\",\"ok\":true,"
        "\"errors\":[],\"warnings\":[],\"assumed\":[],\"operation\":\"Bend\","
        "\"slug\":\"bend\",\"time_zone\":\"UTC\",\"folder\":\"/public/bend\","
        "\"bulletin\":{\"made\":\"2026-03-05T10:30:00Z\",\"weather_from\":"
        "\"2026-03-05T09:30:00Z\",\"age_s\":3600,\"sources\":[{\"name\":"
        "\"nws\",\"in_use\":true,\"fetched\":null,\"trouble\":\"\","
        "\"trouble_since\":null},{\"name\":\"metno\",\"in_use\":false,"
        "\"fetched\":null,\"trouble\":\"api.met.no answers 503\","
        "\"trouble_since\":\"2026-03-05T06:30:00Z\"}]}}]}\n");
    free(said);
}

/* What is said of a folder to publish in, or NULL. */
static void expect_publish(char *where, const char *said)
{
    struct error_list warnings = {0};
    fill();
    config.path = path;
    config.publish.folder = where;
    check_files(&config, now, &warnings);
    assert_int_equal(warnings.count, said != NULL);
    if (said)
        assert_string_equal(warnings.items[0], said);
    error_list_free(&warnings);
}

/* Nobody makes a folder in /proc, whatever its permissions say. */
static void folders_to_publish_in(void **state)
{
    char there[] = "/tmp/thawbell-check-XXXXXX", *below, proc[] = "/proc/x/y";
    char file[] = "/dev/null/x";
    (void)state;
    assert_non_null(mkdtemp(there));
    below = file_join(there, "a/b");
    expect_publish(there, NULL);
    expect_publish(below, NULL);
    expect_publish(proc, "publish: nothing can be written into /proc/x/y: "
                         "No such file or directory");
    expect_publish(file, "publish: nothing can be written into /dev/null/x: "
                         "Not a directory");
    /* Nothing is left behind. */
    assert_int_equal(rmdir(there), 0);
    free(below);
}

static void ask_summary(void)
{
    check_print_summary(&config, UNITS_METRIC);
}

static void expect_attended(int from_min, int to_min, const char *row)
{
    char zone_name[] = "America/New_York", contact[] = "ann@bush.test";
    char *said;
    fill();
    config.zone_name = zone_name;
    config.contact = contact;
    config.sugarhouse.present = true;
    config.sugarhouse.attended_from_min = from_min;
    config.sugarhouse.attended_to_min = to_min;
    said = printed(stdout, ask_summary);
    if (!strstr(said, row))
        fail_msg("\"%s\" lacks \"%s\"", said, row);
    free(said);
}

static void hours_that_plans_use(void **state)
{
    (void)state;
    expect_attended(390, 1350,
                    "  attended      06:30 to 22:30; plans use the whole hours "
                    "from 07:00 to 22:00\n");
    expect_attended(360, 1320, "  attended      06:00 to 22:00\n");
    expect_attended(1081, 1139, "  attended      18:01 to 18:59\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(states),
        cmocka_unit_test(printed_states),
        cmocka_unit_test(for_programs),
        cmocka_unit_test(folders_to_publish_in),
        cmocka_unit_test(hours_that_plans_use),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
