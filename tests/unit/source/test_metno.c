#include "source_test.h"

#define COUNT(rows) (sizeof(rows) / sizeof(rows)[0])

/* Recorded `complete` of northern Germany, all as printed there; 56 hourly
 * rows, then steps of six hours from 2022-08-05T00Z. */
static void test_recorded_complete(void **state)
{
    static const struct expected rows[] = {
        {"2022-08-02T16:00Z", AIR_TEMP_C, 25.4},
        {"2022-08-02T17:00Z", AIR_TEMP_C, 25.1},
        {"2022-08-03T02:00Z", AIR_TEMP_C, 16.8},
        {"2022-08-03T22:00Z", AIR_TEMP_C, 22.7},
        {"2022-08-04T23:00Z", AIR_TEMP_C, 24.4},
        {"2022-08-05T00:00Z", AIR_TEMP_C, 23.3},
        {"2022-08-05T06:00Z", AIR_TEMP_C, 21.1},
        {"2022-08-06T00:00Z", AIR_TEMP_C, 14.6},
        {"2022-08-08T12:00Z", AIR_TEMP_C, 20.8},
        {"2022-08-11T12:00Z", AIR_TEMP_C, 22.9},
        {"2022-08-11T18:00Z", AIR_TEMP_C, 22.1},
        {"2022-08-02T16:00Z", WIND_M_S, 3.1},
        {"2022-08-05T06:00Z", WIND_M_S, 2.9},
        {"2022-08-03T02:00Z", REL_HUMIDITY_PCT, 69.2},
        {"2022-08-11T18:00Z", REL_HUMIDITY_PCT, 54.3},
        {"2022-08-02T16:00Z", SEA_LEVEL_PRESSURE_HPA, 1016.5},
        {"2022-08-08T12:00Z", SEA_LEVEL_PRESSURE_HPA, 1024.2},
        {"2022-08-02T16:00Z", CLOUD_PCT, 97.7},
        {"2022-08-06T00:00Z", CLOUD_PCT, 1.6},
        {"2022-08-02T16:00Z", DEW_POINT_C, 7.4},
        {"2022-08-05T06:00Z", DEW_POINT_C, 18.4},
        {"2022-08-02T16:00Z", PRECIP_MM, 0},
        /* 2.7 mm in the six hours from 06Z */
        {"2022-08-05T06:00Z", PRECIP_MM, 0.45},
        {"2022-08-05T11:00Z", PRECIP_MM, 0.45},
    };
    struct decoded d = decode_recorded(
        "metno", "metno/complete-northern-germany-2022-08-02.json");
    const struct series_source *source = series_source(d.answer.series, 0);

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(219, series_count(d.answer.series, AIR_TEMP_C));
    assert_int_equal(time_of("2022-08-02T15:41:37Z"), source->issued);
    assert_near(source->elevation_m, 61, 0);
    assert_string_equal("Data from MET Norway", source->credit);
    assert_int_equal(0, d.answer.refused.count);
    decoded_free(&d);
}

/* The steps of the same answer reach their highest and lowest:
 * next_6_hours of 2022-08-06T18Z says 18.0 and 12.6 (instants 17.3, 12.8),
 * of 2022-08-07T00Z 15.0 and 11.6 (12.8, 15.3). */
static void test_recorded_extremes(void **state)
{
    struct decoded d = decode_recorded(
        "metno", "metno/complete-northern-germany-2022-08-02.json");
    int row = series_row(d.answer.series, time_of("2022-08-06T18:00Z"));
    double low = 99, high = -99, lowest = 99;

    (void)state;
    for (int hour = row; hour <= row + 12; hour++) {
        double value = 99;

        assert_true(series_get(d.answer.series, AIR_TEMP_C, hour, &value));
        if (hour <= row + 6) {
            low = fmin(low, value);
            high = fmax(high, value);
        }
        lowest = fmin(lowest, value);
        assert_int_equal((hour - row) % 6 == 0 ? ORIGIN_FORECAST
                                               : ORIGIN_SHAPED,
                         series_origin(d.answer.series, AIR_TEMP_C, hour));
    }
    assert_near(low, 12.6, 1e-9);
    assert_near(high, 18.0, 1e-9);
    assert_near(lowest, 11.6, 1e-9);
    decoded_free(&d);
}

/* Recorded `compact`, with its headers around it: no extremes, so nothing
 * between the steps. */
static void test_recorded_compact(void **state)
{
    static const struct expected rows[] = {
        {"2020-07-20T11:00Z", AIR_TEMP_C, 26.5},
        {"2020-07-20T21:00Z", AIR_TEMP_C, 35.9},
        {"2020-07-21T17:00Z", AIR_TEMP_C, 31.9},
        {"2020-07-23T00:00Z", AIR_TEMP_C, 26.7},
        {"2020-07-29T06:00Z", AIR_TEMP_C, 24.7},
        {"2020-07-23T00:00Z", PRECIP_MM, 0.5},
    };
    struct decoded d = decode_recorded(
        "metno", "metno/wrapped-compact-new-york-2020-07-20.json");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "2020-07-23T01:00Z", AIR_TEMP_C);
    expect_told(&d, "without their highest and lowest");
    decoded_free(&d);
}

static void test_steps(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T00:00Z", AIR_TEMP_C, -6},
        {"2026-03-05T05:00Z", AIR_TEMP_C, -8.3},
        {"2026-03-05T06:00Z", AIR_TEMP_C, -8.8},
        /* lowest near 6 h of the sun at 71.9 W, 10:48Z: at 11Z */
        {"2026-03-05T11:00Z", AIR_TEMP_C, -12.1},
        {"2026-03-05T12:00Z", AIR_TEMP_C, -11},
        /* 15 h of the sun, 19:48Z */
        {"2026-03-05T20:00Z", AIR_TEMP_C, 4.2},
        {"2026-03-06T06:00Z", AIR_TEMP_C, -8.6},
        {"2026-03-05T02:00Z", PRECIP_MM, 0.3},
        {"2026-03-05T18:00Z", PRECIP_MM, 0.5},
        {"2026-03-05T23:00Z", PRECIP_MM, 0.5},
        {"2026-03-06T05:00Z", PRECIP_MM, 0.1},
        {"2026-03-05T08:00Z", WIND_M_S, 5},
    };
    struct decoded d = decode_fixture("metno", "metno.json");

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(31, series_count(d.answer.series, AIR_TEMP_C));
    expect_missing(d.answer.series, "2026-03-06T06:00Z", PRECIP_MM);
    decoded_free(&d);
}

#define ROW(time, details)                                                     \
    "{\"time\":\"" time "\",\"data\":{\"instant\":{\"details\":{" details "}}" \
    "}}"
#define ANSWER(units, rows)                                                    \
    "{\"geometry\":{\"coordinates\":[-71.9,45.06,450]},\"properties\":{"       \
    "\"meta\":{\"updated_at\":\"2026-03-05T00:00:00Z\",\"units\":{" units      \
    "}},\"timeseries\":[" rows "]}}"
#define CELSIUS "\"air_temperature\":\"celsius\""
#define EXTREMES                                                               \
    CELSIUS ",\"air_temperature_max\":\"celsius\","                            \
            "\"air_temperature_min\":\"celsius\""
#define STEP(time, temp)                                                       \
    "{\"time\":\"" time "\",\"data\":{\"instant\":{\"details\":{"              \
    "\"air_temperature\":" temp "}},\"next_6_hours\":{\"details\":{"           \
    "\"air_temperature_max\":9,\"air_temperature_min\":1,"                     \
    "\"precipitation_amount\":6}}}}"

/* Unordered, one twice, one gap of six hours that is no step of six: the
 * row before it says what the next hour brings. */
static void test_rows_in_disorder(void **state)
{
    static const char json[] = ANSWER(
        EXTREMES ",\"wind_speed\":\"knots\"",
        ROW("2026-03-05T01:00:00Z",
            "\"air_temperature\":2,\"wind_"
            "speed\":4") "," ROW("2026-03-05T00:00:00+00:00",
                                 "\"air_temperature\":1") "," ROW("2026-03-"
                                                                  "05T01:00:"
                                                                  "00Z",
                                                                  "\"air_"
                                                                  "temperature"
                                                                  "\":"
                                                                  "3") ",{"
                                                                       "\"time"
                                                                       "\":"
                                                                       "\"yeste"
                                                                       "rday\","
                                                                       "\"data"
                                                                       "\":{}},"
                                                                       "{"
                                                                       "\"time"
                                                                       "\":"
                                                                       "\"2026-"
                                                                       "03-"
                                                                       "05T02:"
                                                                       "00Z\"}"
                                                                       ",{"
                                                                       "\"time"
                                                                       "\":"
                                                                       "\"2026-"
                                                                       "03-"
                                                                       "05T02:"
                                                                       "00Z\","
                                                                       "\"data"
                                                                       "\":{"
                                                                       "\"insta"
                                                                       "nt\":{"
                                                                       "\"detai"
                                                                       "ls\":"
                                                                       "{\"air_"
                                                                       "tempera"
                                                                       "ture\":"
                                                                       "4}"
                                                                       "},"
                                                                       "\"next_"
                                                                       "1_"
                                                                       "hours\""
                                                                       ":{"
                                                                       "\"detai"
                                                                       "ls\":{}"
                                                                       "},"
                                                                       "\"next_"
                                                                       "6_"
                                                                       "hours\""
                                                                       ":{"
                                                                       "\"detai"
                                                                       "ls\":{"
                                                                       "\"air_"
                                                                       "tempera"
                                                                       "ture_"
                                                                       "max\":"
                                                                       "9,"
                                                                       "\"air_"
                                                                       "tempera"
                                                                       "ture_"
                                                                       "min\":"
                                                                       "1}}}}"
                                                                       "," ROW(
                                                                           "202"
                                                                           "6-"
                                                                           "03-"
                                                                           "05T"
                                                                           "08:"
                                                                           "00:"
                                                                           "00"
                                                                           "Z",
                                                                           "\"a"
                                                                           "ir_"
                                                                           "tem"
                                                                           "per"
                                                                           "atu"
                                                                           "re"
                                                                           "\":"
                                                                           "5"));
    struct decoded d = decode_text("metno", json);
    static const struct expected rows[] = {
        {"2026-03-05T00:00Z", AIR_TEMP_C, 1},
        {"2026-03-05T01:00Z", AIR_TEMP_C, 2},
        {"2026-03-05T08:00Z", AIR_TEMP_C, 5},
    };

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(4, series_count(d.answer.series, AIR_TEMP_C));
    expect_told(&d, "first 2026-03-05T01:00:00Z; of each");
    expect_told(&d, "row 4, left out");
    expect_told(&d, "1 further rows");
    expect_told(&d, "wind_speed left out: its unit \"knots\"");
    decoded_free(&d);
}

/* A step whose far end is refused is no step any more. */
static void test_step_with_bad_end(void **state)
{
    static const char json[] =
        ANSWER(EXTREMES,
               STEP("2026-03-05T00:00:00Z", "1") "," ROW(
                   "2026-03-05T06:00:00Z",
                   "\"air_temperature\":-273.15") "," ROW("2026-03-05T12:00:"
                                                          "00Z",
                                                          "\"air_temperature\":"
                                                          "3") "," ROW("2026-"
                                                                       "03-"
                                                                       "05T13:"
                                                                       "00:00Z",
                                                                       "\"air_"
                                                                       "tempera"
                                                                       "ture\":"
                                                                       "\"2"
                                                                       "\""));
    struct decoded d = decode_text("metno", json);

    (void)state;
    assert_int_equal(0, d.result);
    assert_int_equal(2, series_count(d.answer.series, AIR_TEMP_C));
    expect_told(&d, "air_temperature at 2026-03-05T06:00:00Z left out");
    expect_told(&d, "-273.15 is outside");
    expect_told(&d, "air_temperature at 2026-03-05T13:00:00Z left out: it is "
                    "not a number");
    decoded_free(&d);
}

/* Only a row that is six hours from the next stands for six hours. */
static void test_six_hours_in_hourly_part(void **state)
{
    static const char json[] =
        ANSWER(EXTREMES ",\"precipitation_amount\":\"mm\"",
               STEP("2026-03-05T00:00:00Z", "1") "," STEP(
                   "2026-03-05T01:00:00Z",
                   "1") "," STEP("2026-03-05T02:00:00Z",
                                 "1") "," ROW("2026-03-05T08:00:00Z",
                                              "\"air_temperature\":1"));
    static const struct expected rows[] = {
        {"2026-03-05T02:00Z", PRECIP_MM, 1},
        {"2026-03-05T07:00Z", PRECIP_MM, 1},
    };
    struct decoded d = decode_text("metno", json);

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "2026-03-05T00:00Z", PRECIP_MM);
    expect_missing(d.answer.series, "2026-03-05T01:00Z", PRECIP_MM);
    decoded_free(&d);
}

static void test_declared_units(void **state)
{
    static const char json[] =
        ANSWER("\"air_temperature\":\"fahrenheit\",\"wind_speed\":\"kn\"",
               ROW("2026-03-05T00:00:00Z",
                   "\"air_temperature\":14,\"wind_speed\":36"));
    static const struct expected rows[] = {
        {"2026-03-05T00:00Z", AIR_TEMP_C, -10},
        {"2026-03-05T00:00Z", WIND_M_S, 18.52},
    };
    struct decoded d = decode_text("metno", json);

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    decoded_free(&d);
}

static void test_whole_refused(void **state)
{
    (void)state;
    expect_refused("metno", ANSWER(CELSIUS, ""), "no row that can be read");
    expect_refused("metno", "{\"properties\":{}}", "no properties.timeseries");
    expect_refused("metno", "{\"properties\":[]}", "no properties.timeseries");
    expect_refused(
        "metno",
        ANSWER("\"air_temperature\":\"warm\"",
               ROW("2026-03-05T00:00:00Z", "\"air_temperature\":14")),
        "its unit \"warm\" in meta.units is not known");
    expect_refused("metno", "{\"status_code\":403,\"headers\":{},\"data\":{}}",
                   "status 403");
}

static void test_url(void **state)
{
    struct source_query query = {45.0600049, -71.90006, 449.6, 30,
                                 10,         NULL,      NULL};
    const struct source *source = source_find("metno");
    struct text url;

    (void)state;
    text_init(&url, 2000);
    assert_int_equal(0, source->url(&query, NULL, 0, &url, NULL));
    assert_string_equal("https://api.met.no/weatherapi/locationforecast/2.0/"
                        "complete?lat=45.06&lon=-71.9001&altitude=450",
                        url.bytes);
    text_clear(&url);
    query.base_url = "http://127.0.0.1:8080";
    assert_int_equal(0, source->url(&query, NULL, 0, &url, NULL));
    assert_string_equal("http://127.0.0.1:8080/complete?lat=45.06&"
                        "lon=-71.9001&altitude=450",
                        url.bytes);
    text_free(&url);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recorded_complete),
        cmocka_unit_test(test_recorded_extremes),
        cmocka_unit_test(test_recorded_compact),
        cmocka_unit_test(test_steps),
        cmocka_unit_test(test_rows_in_disorder),
        cmocka_unit_test(test_step_with_bad_end),
        cmocka_unit_test(test_six_hours_in_hourly_part),
        cmocka_unit_test(test_declared_units),
        cmocka_unit_test(test_whole_refused),
        cmocka_unit_test(test_url),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
