#include "source_test.h"

#define COUNT(rows) (sizeof(rows) / sizeof(rows)[0])

/* Recorded grid of Minnesota. Whole degrees F turned into C by the service
 * (2.222 is 36 F); wind km/h over 3.6; amounts spread over their hours:
 * 2.286 mm from 23Z in six hours. */
static void test_recorded_minnesota(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-12T05:00Z", AIR_TEMP_C, 2.2222},
        {"2026-03-12T06:00Z", AIR_TEMP_C, 2.2222},
        {"2026-03-12T07:00Z", AIR_TEMP_C, 3.3333},
        {"2026-03-12T08:00Z", AIR_TEMP_C, 2.7778},
        {"2026-03-13T06:00Z", AIR_TEMP_C, 2.2222},
        {"2026-03-15T17:00Z", AIR_TEMP_C, 5.5556},
        {"2026-03-19T12:00Z", AIR_TEMP_C, 0},
        {"2026-03-19T15:00Z", AIR_TEMP_C, 0},
        {"2026-03-19T16:00Z", AIR_TEMP_C, -0.5556},
        {"2026-03-19T17:00Z", AIR_TEMP_C, -0.5556},
        {"2026-03-12T05:00Z", WIND_M_S, 1.0289},
        {"2026-03-12T11:00Z", WIND_M_S, 2.0578},
        {"2026-03-15T02:00Z", WIND_M_S, 5.6589},
        {"2026-03-12T06:00Z", REL_HUMIDITY_PCT, 96},
        {"2026-03-16T07:00Z", REL_HUMIDITY_PCT, 57},
        {"2026-03-12T10:00Z", CLOUD_PCT, 57},
        {"2026-03-15T23:00Z", CLOUD_PCT, 46},
        {"2026-03-12T09:00Z", DEW_POINT_C, 1.6667},
        {"2026-03-16T05:00Z", DEW_POINT_C, -2.7778},
        {"2026-03-12T05:00Z", PRECIP_MM, 0},
        {"2026-03-13T23:00Z", PRECIP_MM, 0.381},
        {"2026-03-14T04:00Z", PRECIP_MM, 0.381},
        {"2026-03-14T05:00Z", PRECIP_MM, 0.97367},
    };
    struct decoded d =
        decode_recorded("nws", "nws/absolute-gridpoint-MPX-1-1.json");
    const struct series_source *source = series_source(d.answer.series, 0);

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(181, series_count(d.answer.series, AIR_TEMP_C));
    assert_int_equal(0, series_count(d.answer.series, PRESSURE_HPA));
    assert_int_equal(time_of("2026-03-12T11:48:03Z"), source->issued);
    assert_near(source->elevation_m, 289.8648, 1e-9);
    assert_int_equal(0, d.answer.refused.count);
    decoded_free(&d);
}

/* Recorded in 2019: old prefixes, m/s, a pressure without a unit. */
static void test_recorded_old_units(void **state)
{
    static const struct expected rows[] = {
        {"2019-01-23T17:00Z", AIR_TEMP_C, 12.7778},
        {"2019-01-23T18:00Z", AIR_TEMP_C, 14.4444},
        {"2019-01-23T19:00Z", AIR_TEMP_C, 16.1111},
        {"2019-01-24T23:00Z", AIR_TEMP_C, 9.4444},
        {"2019-01-31T09:00Z", AIR_TEMP_C, -1.1111},
        {"2019-01-31T11:00Z", AIR_TEMP_C, -1.1111},
        {"2019-01-31T12:00Z", AIR_TEMP_C, -1.6667},
        {"2019-01-23T17:00Z", WIND_M_S, 1.5433},
        {"2019-01-31T00:00Z", WIND_M_S, 1.0289},
        {"2019-01-23T22:00Z", REL_HUMIDITY_PCT, 73},
        {"2019-01-23T18:00Z", PRECIP_MM, 0.127},
        {"2019-01-24T06:00Z", PRECIP_MM, 1.651},
        {"2019-01-27T04:00Z", CLOUD_PCT, 45},
        {"2019-01-26T18:00Z", DEW_POINT_C, -8.3333},
    };
    struct decoded d = decode_recorded(
        "nws", "nws/gridpoint-RAH-67-53-2019-01-23-old-units.json");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(0, series_count(d.answer.series, PRESSURE_HPA));
    assert_near(series_source(d.answer.series, 0)->elevation_m, 121.92, 1e-9);
    decoded_free(&d);
}

/* Recorded 7 minutes before the hour it stands for. Its METAR says A3008,
 * an altimeter setting of 30.08 inHg (1018.6 hPa), at 3 m. */
static void test_recorded_observation(void **state)
{
    static const struct expected rows[] = {
        {"2022-03-03T00:00Z", AIR_TEMP_C, 22.8},
        {"2022-03-03T00:00Z", DEW_POINT_C, 18.3},
        {"2022-03-03T00:00Z", WIND_M_S, 2.1},
        {"2022-03-03T00:00Z", REL_HUMIDITY_PCT, 75.7709},
        {"2022-03-03T00:00Z", SEA_LEVEL_PRESSURE_HPA, 1018.7},
        {"2022-03-03T00:00Z", PRESSURE_HPA, 1018.2384},
    };
    struct decoded d =
        decode_recorded("nws", "nws/observation-KFLL-latest-2022-03-02.json");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(1, series_hours(d.answer.series));
    assert_int_equal(ORIGIN_OBSERVED,
                     series_origin(d.answer.series, AIR_TEMP_C, 0));
    assert_int_equal(time_of("2022-03-02T23:53Z"),
                     series_source(d.answer.series, 0)->issued);
    decoded_free(&d);
}

/* 10 degF are -12.22 C, 10 km/h 2.778 m/s; numbers in quotation marks, nulls
 * and look-ups are refused. */
static void test_recorded_odd(void **state)
{
    static const struct expected rows[] = {
        {"2019-06-27T11:00Z", AIR_TEMP_C, -12.2222},
        {"2019-06-27T11:00Z", WIND_M_S, 2.7778},
    };
    static const char *const useless[][2] = {
        {"nws/edited-observation-numbers-as-strings.json", "not a number"},
        {"nws/edited-observation-all-null.json", "no observation"},
        {"nws/observation-KCMR-null-temperature-2024-02-20.json",
         "no air temperature"},
        {"nws/points-45,-93-minnesota.json", "/points"},
        {"nws/points-RAH-2019.json", "/points"},
        {"nws/cassette-points-nyc-2026-01-20.yaml", "not JSON"},
    };
    struct decoded d =
        decode_recorded("nws", "nws/edited-observation-degF.json");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    decoded_free(&d);
    for (size_t i = 0; i < COUNT(useless); i++) {
        d = decode_recorded("nws", useless[i][0]);
        assert_int_equal(-1, d.result);
        if (!strstr(d.err.text, useless[i][1]))
            fail_msg("%s: %s", useless[i][0], d.err.text);
        decoded_free(&d);
    }
}

static void test_grid(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T00:00Z", AIR_TEMP_C, -2.2222},
        {"2026-03-05T02:00Z", AIR_TEMP_C, -2.2222},
        {"2026-03-05T03:00Z", AIR_TEMP_C, -3.3333},
        {"2026-03-05T04:00Z", AIR_TEMP_C, -6.1111},
        {"2026-03-05T11:00Z", AIR_TEMP_C, -6.1111},
        {"2026-03-05T12:00Z", AIR_TEMP_C, 0},
        {"2026-03-06T11:00Z", AIR_TEMP_C, 0},
        {"2026-03-05T04:00Z", WIND_M_S, 5.1},
        {"2026-03-05T05:00Z", WIND_M_S, 1.5433},
        {"2026-03-05T00:00Z", PRECIP_MM, 0.5},
        {"2026-03-05T12:00Z", PRECIP_MM, 1.5},
    };
    struct decoded d = decode_fixture("nws", "nws-grid.json");

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(36, series_hours(d.answer.series));
    expect_missing(d.answer.series, "2026-03-05T06:00Z", CLOUD_PCT);
    expect_missing(d.answer.series, "2026-03-05T13:00Z", PRECIP_MM);
    assert_int_equal(0, d.answer.refused.count);
    decoded_free(&d);
}

/* 23 F, -6 C as an object, -7 C by unit; "5 to 10 mph" is 7.5 mph; the
 * period of twelve hours is no hour. */
static void test_hourly(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T06:00Z", AIR_TEMP_C, -5},
        {"2026-03-05T07:00Z", AIR_TEMP_C, -6},
        {"2026-03-05T08:00Z", AIR_TEMP_C, -7},
        {"2026-03-05T06:00Z", WIND_M_S, 4.4704},
        {"2026-03-05T07:00Z", WIND_M_S, 3.3528},
        {"2026-03-05T06:00Z", DEW_POINT_C, -8.3333},
        {"2026-03-05T07:00Z", REL_HUMIDITY_PCT, 80},
    };
    struct decoded d = decode_fixture("nws", "nws-hourly.json");
    const struct series_source *source = series_source(d.answer.series, 0);

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(3, series_hours(d.answer.series));
    expect_told(&d, "\"calm\" is no wind speed");
    expect_told(&d, "period 4");
    assert_int_equal(time_of("2026-03-05T04:10Z"), source->issued);
    assert_near(source->elevation_m, 1476 * 0.3048, 1e-9);
    decoded_free(&d);
}

/* 1013.25 hPa at sea level is 960.4 hPa at 450 m in ISO 2533. */
static void test_observation(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T12:00Z", AIR_TEMP_C, -4.4},
        {"2026-03-05T12:00Z", WIND_M_S, 2.5},
    };
    struct decoded d = decode_fixture("nws", "nws-observation.json");
    double pressure;

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_true(value_at(d.answer.series, "2026-03-05T12:00Z", PRESSURE_HPA,
                         &pressure));
    assert_near(pressure, 960.4, 0.1);
    decoded_free(&d);
}

/* Newest first, some minutes before the hour: lines between neighbours. One
 * of 148.89 C is left out, and one that the service itself questions. */
static void test_observations(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T09:00Z", AIR_TEMP_C, -7.9},
        {"2026-03-05T10:00Z", AIR_TEMP_C, -7},
        {"2026-03-05T12:00Z", AIR_TEMP_C, -3.7},
        {"2026-03-05T13:00Z", AIR_TEMP_C, -1},
    };
    struct decoded d = decode_fixture("nws", "nws-observations.json");

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(4, series_count(d.answer.series, AIR_TEMP_C));
    expect_missing(d.answer.series, "2026-03-05T11:00Z", AIR_TEMP_C);
    expect_told(&d, "148.89 is outside");
    expect_told(&d, "questions it (qualityControl X)");
    decoded_free(&d);
}

#define VALUE(valid, value) "{\"validTime\":\"" valid "\",\"value\":" value "}"
#define GRID(uom, values, more)                                                \
    "{\"properties\":{\"updateTime\":\"2026-03-05T00:00:00Z\","                \
    "\"temperature\":{\"uom\":\"" uom "\",\"values\":[" values "]}" more "}}"
#define AT(hour, length) "2026-03-05T" hour ":00:00+00:00/" length

/* Unordered; the shorter of two that begin together counts, the longer goes
 * on after it; the same twice with another value: the first. */
static void test_overlaps(void **state)
{
    static const char json[] = GRID(
        "wmoUnit:degC",
        VALUE(AT("06", "PT2H"), "3") "," VALUE(AT("00", "PT6H"), "1") "," VALUE(
            AT("02", "PT1H"),
            "2") "," VALUE(AT("06", "PT2H"),
                           "4") "," VALUE(AT("06", "PT1H"),
                                          "5") "," VALUE(AT("10", "PT1H"), "6"),
        "");
    static const struct expected rows[] = {
        {"2026-03-05T00:00Z", AIR_TEMP_C, 1},
        {"2026-03-05T01:00Z", AIR_TEMP_C, 1},
        {"2026-03-05T02:00Z", AIR_TEMP_C, 2},
        {"2026-03-05T03:00Z", AIR_TEMP_C, 1},
        {"2026-03-05T05:00Z", AIR_TEMP_C, 1},
        {"2026-03-05T06:00Z", AIR_TEMP_C, 5},
        {"2026-03-05T07:00Z", AIR_TEMP_C, 3},
        {"2026-03-05T10:00Z", AIR_TEMP_C, 6},
    };
    struct decoded d = decode_text("nws", json);

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "2026-03-05T08:00Z", AIR_TEMP_C);
    expect_told(&d, "intervals that overlap, first at 2026-03-05T02:00:00Z");
    expect_told(&d, "two values for 2026-03-05T06:00:00Z, 3 and 4");
    decoded_free(&d);
}

/* An amount from half past is in its hours by its minutes; hours that are
 * half known are not known. */
static void test_amount_off_the_hour(void **state)
{
    static const char json[] =
        GRID("wmoUnit:degC", VALUE(AT("00", "PT6H"), "1"),
             ",\"quantitativePrecipitation\":{\"uom\":\"wmoUnit:mm\","
             "\"values\":[{\"validTime\":\"2026-03-05T00:30:00Z/PT3H\","
             "\"value\":3},{\"validTime\":\"2026-03-05T03:30:00Z/PT30M\","
             "\"value\":0.2}]}");
    static const struct expected rows[] = {
        {"2026-03-05T01:00Z", PRECIP_MM, 1},
        {"2026-03-05T02:00Z", PRECIP_MM, 1},
        {"2026-03-05T03:00Z", PRECIP_MM, 0.7},
    };
    struct decoded d = decode_text("nws", json);

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "2026-03-05T00:00Z", PRECIP_MM);
    decoded_free(&d);
}

#define DURATIONS(more)                                                                                                  \
    GRID(                                                                                                                \
        "unit:degF",                                                                                                     \
        VALUE(AT("00", "PT0S"), "32") "," VALUE(AT("01", "-PT1H"), "32") "," VALUE(                                      \
            AT("02", "P1M"),                                                                                             \
            "32") "," VALUE(AT("03", "PT1H"),                                                                            \
                            "32") "," VALUE("2026-03-05T04:00:00-05:30/PT72H",                                           \
                                            "14") "," VALUE("2026-03-08T09:"                                             \
                                                            "30:00Z/P1DT1H",                                             \
                                                            "23") "," VALUE("2026-03-09T10:30:00Z/2026-03-09T12:30:00Z", \
                                                                            "50")                                        \
            more,                                                                                                        \
        "")

static void test_durations(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T03:00Z", AIR_TEMP_C, 0},
        {"2026-03-05T10:00Z", AIR_TEMP_C, -10},
        {"2026-03-08T09:00Z", AIR_TEMP_C, -10},
        {"2026-03-08T10:00Z", AIR_TEMP_C, -5},
        {"2026-03-09T10:00Z", AIR_TEMP_C, -5},
        {"2026-03-09T12:00Z", AIR_TEMP_C, 10},
    };
    struct decoded d = decode_text("nws", DURATIONS(""));

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "2026-03-05T09:00Z", AIR_TEMP_C);
    expect_told(&d, "\"2026-03-05T00:00:00+00:00/PT0S\" is no interval");
    expect_told(&d, "/-PT1H\" is no interval");
    expect_told(&d, "/P1M\" is no interval");
    decoded_free(&d);
    /* five of nine of no use */
    expect_refused("nws", DURATIONS(",7,{\"value\":1}"),
                   "5 values left out, 4 good");
}

static void test_values_refused(void **state)
{
    static const char json[] = GRID(
        "https://codes.wmo.int/common/unit/degC",
        VALUE(AT("00", "PT1H"), "1") "," VALUE(
            AT("01", "PT1H"),
            "148.89") "," VALUE(AT("02", "PT1H"),
                                "null") "," VALUE(AT("03", "PT1H"),
                                                  "\"2\"") "," VALUE(AT("0"
                                                                        "4",
                                                                        "PT"
                                                                        "2"
                                                                        "H"),
                                                                     "3"),
        ",\"windSpeed\":{\"uom\":\"wmoUnit:kn_h\",\"values\":[" VALUE(
            AT("00", "PT1H"),
            "1") "]},\"dewpoint\":{\"values\":[" VALUE(AT("00", "PT1H"),
                                                       "1") "]},"
                                                            "\"skyCover\":{"
                                                            "\"uom\":\"uc:"
                                                            "percent\","
                                                            "\"values\":"
                                                            "[" VALUE(
                                                                AT("00",
                                                                   "PT9H"),
                                                                "[{\"a\":1}"
                                                                "]") "]},"
                                                                     "\"rel"
                                                                     "ative"
                                                                     "Humid"
                                                                     "ity\""
                                                                     ":{"
                                                                     "\"val"
                                                                     "ues\""
                                                                     ":[]},"
                                                                     "\"qua"
                                                                     "ntita"
                                                                     "tiveP"
                                                                     "recip"
                                                                     "itati"
                                                                     "on\":"
                                                                     "7");
    struct decoded d = decode_text("nws", json);

    (void)state;
    assert_int_equal(0, d.result);
    assert_int_equal(3, series_count(d.answer.series, AIR_TEMP_C));
    expect_told(&d, "temperature at 2026-03-05T01:00:00Z left out: air_temp_c "
                    "148.89 is outside -60..60");
    expect_told(&d, "temperature at 2026-03-05T03:00:00Z");
    expect_told(&d, "windSpeed left out: its unit \"wmoUnit:kn_h\"");
    expect_told(&d, "dewpoint left out: its unit \"\"");
    expect_told(&d, "skyCover at 2026-03-05T00:00:00Z left out");
    decoded_free(&d);
}

static void test_whole_refused(void **state)
{
    (void)state;
    expect_refused("nws", GRID("degRankine", VALUE(AT("00", "PT1H"), "1"), ""),
                   "\"degRankine\" (uom) is not known");
    expect_refused("nws", GRID("degC", VALUE(AT("00", "PT1H"), "null"), ""),
                   "no air temperature");
    expect_refused("nws", GRID("degC", "", ""), "no air temperature");
    expect_refused("nws",
                   GRID("degC",
                        VALUE(AT("00", "PT1H"),
                              "1") "," VALUE("2036-03-05T00:00:00Z/PT1H", "1"),
                        ""),
                   "more than two years");
    expect_refused("nws",
                   GRID("degC", VALUE("2026-03-05T00:10:00Z/PT20M", "1"), ""),
                   "whole hour");
    expect_refused("nws", "{\"type\":\"FeatureCollection\",\"features\":[]}",
                   "no data");
    expect_refused("nws", "{\"type\":\"FeatureCollection\",\"features\":null}",
                   "neither");
    expect_refused("nws", "{\"properties\":{\"temperature\":{}}}", "neither");
    expect_refused("nws",
                   "{\"title\":\"Forecast Grid Expired\",\"status\":503,"
                   "\"detail\":\"issued 2026-03-05 and has expired\"}",
                   "issued 2026-03-05 and has expired");
}

/* The address is our own, with the grid's name and numbers in it, which may
 * be texts. */
static void test_urls(void **state)
{
    struct source_query query = {45.06, -74.0060, 450, 30, 10, NULL, NULL};
    const struct source *source = source_find("nws");
    static const char evil[] =
        "{\"properties\":{\"gridId\":\"../x\",\"gridX\":1,\"gridY\":1}}";
    struct text url;
    size_t length;
    char *points = fixture_read("nws-points.json", &length);
    struct error err;

    (void)state;
    text_init(&url, 2000);
    source->lookup_url(&query, &url);
    assert_string_equal("https://api.weather.gov/points/45.06,-74.006",
                        url.bytes);
    text_clear(&url);
    query.base_url = "http://127.0.0.1:8080";
    assert_int_equal(0, source->url(&query, points, length, &url, NULL));
    assert_string_equal("http://127.0.0.1:8080/gridpoints/XYZ/31,17",
                        url.bytes);
    text_clear(&url);
    assert_int_equal(-1,
                     source->url(&query, evil, sizeof evil - 1, &url, &err));
    assert_string_equal("", url.bytes);
    assert_non_null(strstr(err.text, "gridId"));
    assert_int_equal(-1, source->url(&query, "<html>", 6, &url, &err));
    text_free(&url);
    free(points);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recorded_minnesota),
        cmocka_unit_test(test_recorded_old_units),
        cmocka_unit_test(test_recorded_observation),
        cmocka_unit_test(test_recorded_odd),
        cmocka_unit_test(test_grid),
        cmocka_unit_test(test_hourly),
        cmocka_unit_test(test_observation),
        cmocka_unit_test(test_observations),
        cmocka_unit_test(test_overlaps),
        cmocka_unit_test(test_amount_off_the_hour),
        cmocka_unit_test(test_durations),
        cmocka_unit_test(test_values_refused),
        cmocka_unit_test(test_whole_refused),
        cmocka_unit_test(test_urls),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
