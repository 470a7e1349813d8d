#include "source_test.h"

#define COUNT(rows) (sizeof(rows) / sizeof(rows)[0])

/* Recorded answer of New York, local times at -05:00: the row "2026-02-06
 * T00:00" is 05:00 UTC; km/h over 3.6; precipitation of "04:00" is that of
 * the hour from 03:00 (08:00 UTC). */
static void test_recorded_new_york(void **state)
{
    static const struct expected rows[] = {
        {"2026-02-06T05:00Z", AIR_TEMP_C, -7.1},
        {"2026-02-06T06:00Z", AIR_TEMP_C, -7.1},
        {"2026-02-07T04:00Z", AIR_TEMP_C, -6.8},
        {"2026-02-08T05:00Z", AIR_TEMP_C, -18.1},
        {"2026-02-08T10:00Z", AIR_TEMP_C, -20.5},
        {"2026-02-10T09:00Z", AIR_TEMP_C, -10.5},
        {"2026-02-12T04:00Z", AIR_TEMP_C, -1.3},
        {"2026-02-12T05:00Z", AIR_TEMP_C, -1.6},
        {"2026-02-13T03:00Z", AIR_TEMP_C, -5.0},
        {"2026-02-13T04:00Z", AIR_TEMP_C, -5.3},
        {"2026-02-06T05:00Z", WIND_M_S, 1.1944},
        {"2026-02-06T06:00Z", WIND_M_S, 2.5833},
        {"2026-02-08T05:00Z", WIND_M_S, 5.1944},
        {"2026-02-13T04:00Z", WIND_M_S, 5.0278},
        {"2026-02-07T08:00Z", PRECIP_MM, 0.1},
        {"2026-02-07T09:00Z", PRECIP_MM, 0.2},
        {"2026-02-07T15:00Z", PRECIP_MM, 0.1},
        {"2026-02-11T10:00Z", PRECIP_MM, 0.4},
        {"2026-02-11T11:00Z", PRECIP_MM, 1.3},
        {"2026-02-11T18:00Z", PRECIP_MM, 0.3},
        {"2026-02-06T05:00Z", PRECIP_MM, 0},
    };
    struct decoded d = decode_recorded(
        "open-meteo", "openmeteo/forecast-new-york-2026-02-06.json");
    const struct series_source *source = series_source(d.answer.series, 0);

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(168, series_hours(d.answer.series));
    expect_missing(d.answer.series, "2026-02-13T04:00Z", PRECIP_MM);
    assert_true(source->has_elevation);
    assert_near(source->elevation_m, 20, 0);
    assert_string_equal("open-meteo", source->name);
    assert_string_equal("Weather data by Open-Meteo.com", source->credit);
    decoded_free(&d);
}

/* Recorded in unixtime with the old names: stamps are UTC although the
 * answer names an offset of an hour. 1770418800 is 2026-02-06T23:00Z. */
static void test_recorded_munich(void **state)
{
    static const struct expected rows[] = {
        {"2026-02-06T23:00Z", AIR_TEMP_C, 6.4},
        {"2026-02-07T00:00Z", AIR_TEMP_C, 6.6},
        {"2026-02-07T22:00Z", AIR_TEMP_C, 4.9},
        {"2026-02-08T23:00Z", AIR_TEMP_C, 3.6},
        {"2026-02-09T04:00Z", AIR_TEMP_C, 2.8},
        {"2026-02-11T03:00Z", AIR_TEMP_C, 2.9},
        {"2026-02-12T22:00Z", AIR_TEMP_C, 5.0},
        {"2026-02-13T22:00Z", AIR_TEMP_C, 4.9},
        {"2026-02-06T23:00Z", WIND_M_S, 2.6111},
        {"2026-02-07T22:00Z", WIND_M_S, 0.4167},
        {"2026-02-13T22:00Z", WIND_M_S, 4.1111},
        {"2026-02-06T23:00Z", REL_HUMIDITY_PCT, 83},
        {"2026-02-13T22:00Z", REL_HUMIDITY_PCT, 85},
    };
    struct decoded d = decode_recorded(
        "open-meteo",
        "openmeteo/forecast-munich-unixtime-old-names-2026-02-07.json");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    decoded_free(&d);
}

/* Recorded: 14 days, cloud_cover null in 24 hours near the end. */
static void test_recorded_nulls(void **state)
{
    static const struct expected rows[] = {
        {"2025-12-28T00:00Z", AIR_TEMP_C, -2.0},
        {"2025-12-28T23:00Z", AIR_TEMP_C, -1.8},
        {"2025-12-30T05:00Z", AIR_TEMP_C, -1.0},
        {"2026-01-01T04:00Z", AIR_TEMP_C, 0.0},
        {"2026-01-10T23:00Z", AIR_TEMP_C, 7.8},
        {"2025-12-28T01:00Z", CLOUD_PCT, 44},
        {"2026-01-10T00:00Z", CLOUD_PCT, 2},
        {"2025-12-29T15:00Z", PRECIP_MM, 1.1},
        {"2026-01-10T22:00Z", PRECIP_MM, 2.0},
        {"2025-12-30T05:00Z", WIND_M_S, 8.6111},
        {"2025-12-28T00:00Z", REL_HUMIDITY_PCT, 80},
    };
    struct decoded d = decode_recorded(
        "open-meteo",
        "openmeteo/forecast-new-jersey-14d-nulls-2025-12-28.json");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "2026-01-09T23:00Z", CLOUD_PCT);
    assert_int_equal(336, series_count(d.answer.series, AIR_TEMP_C));
    assert_int_equal(336 - 24, series_count(d.answer.series, CLOUD_PCT));
    decoded_free(&d);
}

static void test_recorded_two_ensembles(void **state)
{
    struct decoded d = decode_recorded(
        "open-meteo-ensemble",
        "openmeteo/ensemble-two-models-91-series-2026-10-03.json");

    (void)state;
    assert_int_equal(0, d.result);
    assert_int_equal(40, d.answer.members->count);
    assert_int_equal(time_of("2026-10-03T18:00Z"), d.answer.members->start);
    assert_near(d.answer.members->air_temp_c[0], 14.9, 1e-9);
    assert_near(d.answer.members->air_temp_c[1], 15.7, 1e-9);
    assert_near(d.answer.members->air_temp_c[2], 15.4, 1e-9);
    expect_told(&d, "icon_seamless_eps");
    decoded_free(&d);
}

/* The same under open-meteo: the control is the series. */
static void test_recorded_ensemble(void **state)
{
    static const struct expected rows[] = {
        {"2026-07-10T22:00Z", AIR_TEMP_C, 18.9},
    };
    struct decoded d = decode_recorded(
        "open-meteo", "openmeteo/ensemble-31-members-one-hour-2026-07-11.json");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(31, d.answer.members->count);
    assert_near(d.answer.members->air_temp_c[1], 19, 1e-9);
    assert_near(d.answer.members->air_temp_c[3], 18.8, 1e-9);
    decoded_free(&d);
}

/* Radiation and precipitation stamped 06:00 are those from 05:00. */
static void test_hour_shift(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T05:00Z", PRECIP_MM, 0.4},
        {"2026-03-05T06:00Z", PRECIP_MM, 0},
        {"2026-03-05T00:00Z", AIR_TEMP_C, -0.5},
        {"2026-03-05T00:00Z", PRESSURE_HPA, 958.2},
        {"2026-03-05T00:00Z", WIND_M_S, 1.0},
        {"2026-03-05T16:00Z", SHORTWAVE_W_M2, 420},
    };
    struct decoded d = decode_fixture("open-meteo", "open-meteo.json");

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(time_of("2026-03-05T00:00Z"),
                     series_start(d.answer.series));
    expect_missing(d.answer.series, "2026-03-06T05:00Z", SHORTWAVE_W_M2);
    expect_missing(d.answer.series, "2026-03-06T05:00Z", CLOUD_PCT);
    assert_null(d.answer.members);
    decoded_free(&d);
}

/* Hours that were over when the answer came are the model's past. */
static void test_origin_by_time(void **state)
{
    struct source_answer answer;
    size_t length;
    char *bytes = fixture_read("open-meteo.json", &length);
    utc_s fetched = time_of("2026-03-05T10:30Z");

    (void)state;
    assert_int_equal(0, source_find("open-meteo")
                            ->decode(bytes, length, fetched, &answer, NULL));
    assert_int_equal(ORIGIN_ANALYSED,
                     series_origin(answer.series, AIR_TEMP_C, 9));
    assert_int_equal(ORIGIN_FORECAST,
                     series_origin(answer.series, AIR_TEMP_C, 10));
    assert_int_equal(fetched, series_source(answer.series, 0)->fetched);
    source_answer_free(&answer);
    free(bytes);
}

/* Units as declared; the axis runs on at -05:00 through an hour that no
 * clock in New York shows on that day (02:00 on 8 March 2026). Exact: 10 mph
 * are 4.4704 m/s, 0.1 inch is 2.54 mm. */
static void test_declared_units(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-08T05:00Z", AIR_TEMP_C, 0},
        {"2026-03-08T06:00Z", AIR_TEMP_C, -1},
        {"2026-03-08T07:00Z", AIR_TEMP_C, -2},
        {"2026-03-08T10:00Z", AIR_TEMP_C, -5},
        {"2026-03-08T05:00Z", WIND_M_S, 4.4704},
        {"2026-03-08T05:00Z", PRECIP_MM, 2.54},
        {"2026-03-08T06:00Z", PRECIP_MM, 0.508},
        {"2026-03-08T06:00Z", REL_HUMIDITY_PCT, 81},
    };
    struct decoded d =
        decode_fixture("open-meteo", "open-meteo-local-us-units.json");

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    decoded_free(&d);
}

static void test_first_of_two_models(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T00:00Z", AIR_TEMP_C, -1},
        {"2026-03-05T00:00Z", WIND_M_S, 5.1444}, /* 10 kn, 1852 m/h each */
        {"2026-03-05T02:00Z", WIND_M_S, 0},
    };
    struct decoded d =
        decode_fixture("open-meteo", "open-meteo-two-models.json");

    (void)state;
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "2026-03-05T01:00Z", WIND_M_S);
    expect_told(&d, "best_match");
    decoded_free(&d);
}

/* Control and six members: member03 has a hole, member05 ends two hours
 * early, and the model's own end is no hole. */
static void test_members(void **state)
{
    struct decoded d =
        decode_fixture("open-meteo-ensemble", "open-meteo-ensemble.json");
    const struct members *members = d.answer.members;

    (void)state;
    assert_int_equal(5, members->count);
    assert_int_equal(10, members->hours);
    assert_int_equal(2, d.answer.members_dropped);
    assert_int_equal(time_of("2026-03-05T00:00Z"), members->start);
    assert_near(members->air_temp_c[0], -0.5, 1e-9);
    for (int i = 0; i < members->count * members->hours; i++)
        assert_true(isfinite(members->air_temp_c[i]));
    assert_int_equal(10, series_count(d.answer.series, AIR_TEMP_C));
    expect_told(&d, "2 of 7 members");
    decoded_free(&d);
}

static void test_members_without_control(void **state)
{
    static const char json[] =
        "{\"utc_offset_seconds\":0,\"hourly_units\":"
        "{\"temperature_2m_member01\":\"°C\",\"temperature_2m_member02\":"
        "\"°F\"},\"hourly\":{\"time\":[0,3600],\"temperature_2m_member01\":"
        "[1,2],\"temperature_2m_member02\":[32,null]}}";
    struct decoded d = decode_text("open-meteo-ensemble", json);
    double value;

    (void)state;
    assert_int_equal(0, d.result);
    assert_int_equal(1, d.answer.members->count);
    assert_true(
        value_at(d.answer.series, "1970-01-01T01:00Z", AIR_TEMP_C, &value));
    assert_near(value, 2, 1e-9);
    expect_told(&d, "no control");
    decoded_free(&d);
}

/* Hours of answers, unordered and double. */
#define ANSWER(time, temp)                                                     \
    "{\"utc_offset_seconds\":0,\"hourly_units\":{\"temperature_2m\":\"°C\"}," \
    "\"hourly\":{\"time\":[" time "],\"temperature_2m\":[" temp "]}}"

static void test_unordered_and_double(void **state)
{
    static const struct expected rows[] = {
        {"1970-01-01T00:00Z", AIR_TEMP_C, 1},
        {"1970-01-01T01:00Z", AIR_TEMP_C, 2},
        {"1970-01-01T03:00Z", AIR_TEMP_C, 4},
    };
    struct decoded d =
        decode_text("open-meteo", ANSWER("10800,0,3600,3600,0", "4,1,2,9,1"));

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    expect_missing(d.answer.series, "1970-01-01T02:00Z", AIR_TEMP_C);
    expect_told(&d, "two values for 1970-01-01T01:00:00Z, 2 and 9");
    assert_int_equal(1, d.answer.refused.count);
    decoded_free(&d);
}

/* India's half hours: the whole hour lies between two stamps. */
static void test_odd_offset(void **state)
{
    static const struct expected rows[] = {
        {"2026-03-05T00:00Z", AIR_TEMP_C, 10.5},
        {"2026-03-05T01:00Z", AIR_TEMP_C, 12},
    };
    struct decoded d = decode_text(
        "open-meteo",
        "{\"utc_offset_seconds\":19800,\"hourly_units\":{\"temperature_2m\":"
        "\"°C\"},\"hourly\":{\"time\":[\"2026-03-05T05:00\","
        "\"2026-03-05T06:00\",\"2026-03-05T07:00\"],"
        "\"temperature_2m\":[10,11,13]}}");

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    assert_int_equal(2, series_hours(d.answer.series));
    decoded_free(&d);
}

static void test_leap_second(void **state)
{
    static const struct expected rows[] = {
        {"2017-01-01T00:00Z", AIR_TEMP_C, -3},
    };
    struct decoded d =
        decode_text("open-meteo", ANSWER("\"2016-12-31T23:59:60\"", "-3"));

    (void)state;
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    decoded_free(&d);
}

static void test_implausible_value(void **state)
{
    struct decoded d =
        decode_text("open-meteo", ANSWER("0,3600,7200", "1,148.89,2"));

    (void)state;
    assert_int_equal(0, d.result);
    expect_missing(d.answer.series, "1970-01-01T01:00Z", AIR_TEMP_C);
    expect_told(&d, "temperature_2m at 1970-01-01T01:00:00Z");
    expect_told(&d, "148.89 is outside");
    decoded_free(&d);
}

/* 30 K up and down again within two hours; the rest is fine. */
static void test_jump(void **state)
{
    struct decoded d = decode_text(
        "open-meteo", ANSWER("0,3600,7200,10800,14400", "1,2,32,3,4"));

    (void)state;
    assert_int_equal(0, d.result);
    expect_missing(d.answer.series, "1970-01-01T02:00Z", AIR_TEMP_C);
    assert_int_equal(4, series_count(d.answer.series, AIR_TEMP_C));
    expect_told(&d, "air_temp_c 32 is more than 25 an hour");
    decoded_free(&d);
}

static void test_most_refused(void **state)
{
    (void)state;
    expect_refused("open-meteo", ANSWER("0,3600,7200", "1,70,71"),
                   "most of the air temperature");
}

static void test_text_for_number(void **state)
{
    struct decoded d =
        decode_text("open-meteo", ANSWER("0,3600,7200", "1,\"2\",3"));

    (void)state;
    assert_int_equal(0, d.result);
    expect_missing(d.answer.series, "1970-01-01T01:00Z", AIR_TEMP_C);
    expect_told(&d, "it is not a number");
    decoded_free(&d);
    expect_refused("open-meteo", ANSWER("0", "\"2\""), "not a number");
    expect_refused("open-meteo", ANSWER("0", "{}"), "not a number");
}

static void test_bad_times(void **state)
{
    struct decoded d = decode_text(
        "open-meteo", ANSWER("0,\"soon\",1e300,7200.5,true", "1,2,3,4,5"));

    (void)state;
    assert_int_equal(0, d.result);
    assert_int_equal(1, series_hours(d.answer.series));
    expect_told(&d, "value 2 of 5");
    expect_told(&d, "3 further times");
    decoded_free(&d);
    expect_refused("open-meteo", ANSWER("true", "1"), "no time");
    expect_refused("open-meteo", ANSWER("0,1e9", "1,2"), "two years");
}

static void test_layer_refused_alone(void **state)
{
    struct decoded d = decode_text(
        "open-meteo",
        "{\"utc_offset_seconds\":0,\"hourly_units\":{\"temperature_2m\":"
        "\"°C\",\"wind_speed_10m\":\"furlongs/h\",\"precipitation\":\"mm\"},"
        "\"hourly\":{\"time\":[0,3600],\"temperature_2m\":[1,2],"
        "\"wind_speed_10m\":[1,2],\"precipitation\":[1],"
        "\"cloud_cover\":{},\"dew_point_2m\":[1,2]}}");

    (void)state;
    assert_int_equal(0, d.result);
    expect_told(&d, "hourly.wind_speed_10m left out: its unit \"furlongs/h\"");
    expect_told(&d, "hourly.precipitation left out: it has 1 values for 2");
    expect_told(&d, "hourly.cloud_cover left out: it is not a list");
    expect_told(&d, "hourly.dew_point_2m left out: its unit \"\"");
    assert_int_equal(0, series_count(d.answer.series, WIND_M_S));
    assert_int_equal(0, series_count(d.answer.series, DEW_POINT_C));
    decoded_free(&d);
}

static void test_whole_refused(void **state)
{
    (void)state;
    expect_refused("open-meteo", ANSWER("0,3600", "1"),
                   "it has 1 values for 2 times");
    expect_refused("open-meteo", ANSWER("0,3600", "null,null"),
                   "missing, or without a value");
    expect_refused("open-meteo", ANSWER("", ""), "hourly.time");
    expect_refused("open-meteo",
                   "{\"hourly\":{\"time\":[\"2026-03-05T05:00\"]"
                   ",\"temperature_2m\":[1]}}",
                   "utc_offset_seconds");
    expect_refused("open-meteo", "{\"latitude\":1}", "no member \"hourly\"");
    expect_refused("open-meteo", "[" ANSWER("0", "1") "]", "one place");
    expect_refused("open-meteo",
                   "{\"error\":true,\"reason\":\"Latitude must be in range of "
                   "-90 to 90\\u00b0. Given: 200.0.\"}",
                   "Latitude must be in range of -90 to 90°");
    expect_refused("open-meteo-ensemble", ANSWER("0", "1"), "no members");
}

/* Just past a bound: what a packing scheme leaves behind, settled to it. */
static void test_settled(void **state)
{
    static const struct expected rows[] = {
        {"1970-01-01T00:00Z", PRECIP_MM, 0},
        {"1970-01-01T01:00Z", REL_HUMIDITY_PCT, 100},
    };
    struct decoded d = decode_text(
        "open-meteo",
        "{\"hourly_units\":{\"temperature_2m\":\"°C\",\"precipitation\":"
        "\"mm\",\"relative_humidity_2m\":\"%\"},\"hourly\":{\"time\":"
        "[0,3600],\"temperature_2m\":[1,2],\"precipitation\":[0,-0.05],"
        "\"relative_humidity_2m\":[90,101]}}");

    (void)state;
    /* no utc_offset_seconds: epoch seconds need none */
    assert_int_equal(0, d.result);
    expect_values(d.answer.series, rows, COUNT(rows));
    decoded_free(&d);
}

/* Each of very many bad values would be a sentence. */
static void test_few_sentences(void **state)
{
    struct decoded d = decode_text(
        "open-meteo",
        ANSWER("0,3600,7200,10800,14400,18000,21600,25200,28800,32400,36000",
               "1,99,98,97,96,95,2,3,4,5,6"));

    (void)state;
    assert_int_equal(0, d.result);
    assert_int_equal(4, d.answer.refused.count);
    expect_told(&d, "temperature_2m: 2 further values left out");
    decoded_free(&d);
}

static void test_member_out_of_range(void **state)
{
    struct decoded d = decode_text(
        "open-meteo-ensemble",
        "{\"hourly_units\":{\"temperature_2m\":\"°C\","
        "\"temperature_2m_member01\":\"°C\",\"temperature_2m_member02\":"
        "\"°C\"},\"hourly\":{\"time\":[0,3600],\"temperature_2m\":[1,2],"
        "\"temperature_2m_member01\":[1,148.89],"
        "\"temperature_2m_member02\":[3,4]}}");

    (void)state;
    assert_int_equal(0, d.result);
    assert_int_equal(2, d.answer.members->count);
    expect_told(&d, "first temperature_2m_member01: air_temp_c 148.89");
    decoded_free(&d);
}

static void test_too_many_members(void **state)
{
    struct text json;
    struct decoded d;

    (void)state;
    text_init(&json, 1000000);
    text_add(&json, "{\"hourly_units\":{\"temperature_2m\":\"°C\"},"
                    "\"hourly\":{\"time\":[0],\"temperature_2m\":[1]");
    for (int i = 1; i < 300; i++)
        text_addf(&json, ",\"temperature_2m_member%d\":[1]", i);
    text_add(&json, "}}");
    d = decode_text("open-meteo", json.bytes);
    assert_int_equal(0, d.result);
    assert_null(d.answer.members);
    expect_told(&d, "the members are left out: more than 256");
    decoded_free(&d);
    text_free(&json);
}

static void test_urls(void **state)
{
    struct source_query query = {45.06, -71.9, 450, 30, 16, NULL, NULL};
    struct text url;

    (void)state;
    text_init(&url, 2000);
    assert_int_equal(
        0, source_find("open-meteo")->url(&query, NULL, 0, &url, NULL));
    assert_string_equal(
        "https://api.open-meteo.com/v1/forecast?latitude=45.06&longitude=-71.9"
        "&elevation=450&hourly=temperature_2m,relative_humidity_2m,"
        "dew_point_2m,precipitation,surface_pressure,cloud_cover,"
        "wind_speed_10m,shortwave_radiation&wind_speed_unit=ms"
        "&timeformat=unixtime&timezone=GMT&past_days=30&forecast_days=16",
        url.bytes);
    text_clear(&url);
    query.key = "a b&c";
    query.past_days = 400;
    assert_int_equal(
        0,
        source_find("open-meteo-ensemble")->url(&query, NULL, 0, &url, NULL));
    assert_string_equal(
        "https://customer-ensemble-api.open-meteo.com/v1/ensemble"
        "?latitude=45.06&longitude=-71.9&elevation=450&hourly=temperature_2m"
        "&models=ecmwf_ifs025&timeformat=unixtime&timezone=GMT&past_days=0"
        "&forecast_days=16&apikey=a%20b%26c",
        url.bytes);
    text_free(&url);
}

/* Both seen in the service's answers. */
static void test_error_words(void **state)
{
    static const char glued[] =
        "{\"hourly\":{\"time\":[1,2,Unexpected error while streaming data: "
        "timeoutReached";
    static const char json[] = "{\"error\":true,\"reason\":\"too\\nfast\"}";
    const struct source *source = source_find("open-meteo");
    char words[200];

    (void)state;
    source->error_words(glued, sizeof glued - 1, words, sizeof words);
    assert_string_equal("Unexpected error while streaming data: timeoutReached",
                        words);
    source->error_words(json, sizeof json - 1, words, sizeof words);
    assert_string_equal("too\\x0Afast", words);
    source->error_words("<html>", 6, words, sizeof words);
    assert_string_equal("", words);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_recorded_new_york),
        cmocka_unit_test(test_recorded_munich),
        cmocka_unit_test(test_recorded_nulls),
        cmocka_unit_test(test_recorded_two_ensembles),
        cmocka_unit_test(test_recorded_ensemble),
        cmocka_unit_test(test_hour_shift),
        cmocka_unit_test(test_origin_by_time),
        cmocka_unit_test(test_declared_units),
        cmocka_unit_test(test_first_of_two_models),
        cmocka_unit_test(test_members),
        cmocka_unit_test(test_members_without_control),
        cmocka_unit_test(test_unordered_and_double),
        cmocka_unit_test(test_odd_offset),
        cmocka_unit_test(test_leap_second),
        cmocka_unit_test(test_implausible_value),
        cmocka_unit_test(test_jump),
        cmocka_unit_test(test_most_refused),
        cmocka_unit_test(test_text_for_number),
        cmocka_unit_test(test_bad_times),
        cmocka_unit_test(test_layer_refused_alone),
        cmocka_unit_test(test_whole_refused),
        cmocka_unit_test(test_settled),
        cmocka_unit_test(test_few_sentences),
        cmocka_unit_test(test_member_out_of_range),
        cmocka_unit_test(test_too_many_members),
        cmocka_unit_test(test_urls),
        cmocka_unit_test(test_error_words),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
