/* The table, the station's own thermometer, and what frees an answer. */
#include "source/transport.h"
#include "source_test.h"

/* The credits are the services' own words. */
static void test_rows(void **state)
{
    static const char *const names[] = {"nws", "metno", "open-meteo",
                                        "open-meteo-ensemble"};

    (void)state;
    assert_int_equal(4, source_count());
    for (int i = 0; i < source_count(); i++) {
        const struct source *source = source_find(names[i]);

        assert_ptr_equal(source_at(i), source);
        assert_true(strlen(source->credit) > 0);
        assert_true(strlen(source->credit) <
                    sizeof((struct series_source *)0)->credit);
        assert_int_equal(0, strncmp(source->credit_url, "https://", 8));
        assert_int_equal(0, strncmp(source->default_url, "https://", 8));
        assert_true(source->min_interval_s >= 900);
        assert_non_null(source->url);
        assert_non_null(source->decode);
    }
    assert_null(source_find("weather"));
    assert_null(source_at(4));
    assert_null(source_at(-1));
}

/* 06:00 and 06:30 at -05:00 are one hour; 85 C is no air. */
static void test_station(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T10:00Z", AIR_TEMP_C, -4},
        {"2026-03-05T11:00Z", AIR_TEMP_C, -3.1},
        {"2026-03-05T11:00Z", REL_HUMIDITY_PCT, 71},
        {"2026-03-05T14:00Z", AIR_TEMP_C, 1.5},
    };
    struct decoded d = decode_fixture("station", "station.csv");
    int row = series_row(d.answer.series, time_of("2026-03-05T11:00Z"));

    (void)state;
    expect_values(d.answer.series, rows, sizeof rows / sizeof rows[0]);
    expect_missing(d.answer.series, "2026-03-05T13:00Z", AIR_TEMP_C);
    expect_told(&d, "air_temp_c 85 is outside");
    assert_int_equal(ORIGIN_OBSERVED,
                     series_origin(d.answer.series, AIR_TEMP_C, row));
    assert_string_equal("station", series_source(d.answer.series, 0)->name);
    decoded_free(&d);
}

static void test_station_jump(void **state)
{
    struct decoded d = decode_text("station", "time,air_temp_c\n"
                                              "2026-03-05T00:00Z,1\n"
                                              "2026-03-05T01:00Z,2\n"
                                              "2026-03-05T02:00Z,-30\n"
                                              "2026-03-05T03:00Z,2\n");

    (void)state;
    assert_int_equal(0, d.result);
    expect_missing(d.answer.series, "2026-03-05T02:00Z", AIR_TEMP_C);
    expect_told(&d, "more than 25 an hour");
    decoded_free(&d);
}

static void test_station_refused(void **state)
{
    (void)state;
    expect_refused("station", "time,air_temp_c\n", "no row");
    expect_refused("station", "time,warmth\n2026-03-05T00:00Z,1\n", "warmth");
    expect_refused("station", "time,air_temp_c\nyesterday,1\n", "line 2");
    expect_refused("station", "time,air_temp_c\n2026-03-05T00:00Z,99\n",
                   "no row has an air temperature");
}

static void test_transport_answer_free(void **state)
{
    struct transport_answer answer = {.body = mem_copy_text("a"),
                                      .length = 1,
                                      .held = mem_copy_text("b"),
                                      .status = 200};

    (void)state;
    transport_answer_free(&answer);
    assert_null(answer.body);
    assert_null(answer.held);
    assert_int_equal(0, answer.status);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rows),
        cmocka_unit_test(test_station),
        cmocka_unit_test(test_station_jump),
        cmocka_unit_test(test_station_refused),
        cmocka_unit_test(test_transport_answer_free),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
