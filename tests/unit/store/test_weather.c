/* Weather in the store: days as bytes, places side by side, a store of before
 * the days, and the export. Figures are invented. */
#include <cjson/cJSON.h>
#include <math.h>
#include <string.h>

#include "base/json.h"
#include "store/care.h"
#include "store/weather_day.h"
#include "store_bench.h"

static const utc_s NOON = 1772712000;

static double value_of(enum quantity quantity, int hour)
{
    double least, most;

    quantity_range(quantity, &least, &most);
    return least + (most - least) * (hour + 1) / 29.0;
}

/* Every hour of every quantity, each with a source of its own. */
static struct weather_day *full_day(void)
{
    struct weather_day *day = mem_alloc(1, sizeof *day);

    for (int q = 0; q < QUANTITY_COUNT; q++)
        for (int hour = 0; hour < DAY_HOURS; hour++) {
            struct day_source source = {.issued = q, .fetched = NOW + hour};

            snprintf(source.name, sizeof source.name,
                     "source-with-a-long-name-%02d", hour % 100);
            day->values[q][hour] = (struct day_value){
                value_of((enum quantity)q, hour),
                (uint8_t)(1 + (q + hour) % (ORIGIN_COUNT - 1)),
                (uint8_t)weather_day_source(day, &source)};
        }
    return day;
}

static void assert_day_equal(const struct weather_day *a,
                             const struct weather_day *b)
{
    for (int q = 0; q < QUANTITY_COUNT; q++)
        for (int hour = 0; hour < DAY_HOURS; hour++) {
            const struct day_value *x = &a->values[q][hour];
            const struct day_value *y = &b->values[q][hour];

            assert_int_equal(x->origin, y->origin);
            if (x->origin == ORIGIN_NONE)
                continue;
            assert_near(x->value, y->value, 0);
            assert_string_equal(a->sources[x->source].name,
                                b->sources[y->source].name);
            assert_int_equal(a->sources[x->source].issued,
                             b->sources[y->source].issued);
            assert_int_equal(a->sources[x->source].fetched,
                             b->sources[y->source].fetched);
        }
}

static void test_a_day_comes_back(void **state)
{
    struct weather_day *day = full_day(), *back = mem_alloc(1, sizeof *back);
    unsigned char bytes[DAY_MAX_BYTES];
    size_t length;

    (void)state;
    length = weather_day_write(day, bytes);
    weather_day_read(back, bytes, length, -1);
    assert_day_equal(back, day);
    assert_int_equal(back->source_count, QUANTITY_COUNT * DAY_HOURS);
    weather_day_read(back, bytes, length, WIND_M_S);
    assert_near(back->values[WIND_M_S][7].value, day->values[WIND_M_S][7].value,
                0);
    assert_int_equal(back->values[AIR_TEMP_C][7].origin, ORIGIN_NONE);
    /* Gaps, and a source that nothing names any more. */
    memset(day->values[AIR_TEMP_C], 0, sizeof day->values[AIR_TEMP_C]);
    day->values[WIND_M_S][0].origin = ORIGIN_NONE;
    length = weather_day_write(day, bytes);
    weather_day_read(back, bytes, length, -1);
    assert_day_equal(back, day);
    assert_int_equal(back->source_count, QUANTITY_COUNT * DAY_HOURS - 25);
    free(back);
    free(day);
}

static void assert_day_sound(const struct weather_day *day)
{
    for (int q = 0; q < QUANTITY_COUNT; q++)
        for (int hour = 0; hour < DAY_HOURS; hour++) {
            const struct day_value *value = &day->values[q][hour];

            if (value->origin == ORIGIN_NONE)
                continue;
            assert_true(value->origin < ORIGIN_COUNT);
            assert_true(value->source < day->source_count);
            assert_true(isfinite(value->value));
            assert_int_equal(
                quantity_check((enum quantity)q, value->value, NULL), 0);
        }
}

/* Bytes cut at any place, and any byte changed. */
static void test_a_damaged_day_is_no_danger(void **state)
{
    struct weather_day *day = full_day(), *back = mem_alloc(1, sizeof *back);
    unsigned char bytes[DAY_MAX_BYTES];
    size_t length = weather_day_write(day, bytes);

    (void)state;
    for (size_t cut = 0; cut < length; cut += 3) {
        unsigned char *part =
            (unsigned char *)mem_copy_bytes((const char *)bytes, cut);

        weather_day_read(back, part, cut, -1);
        assert_day_sound(back);
        free(part);
    }
    for (size_t at = 0; at < length; at++) {
        bytes[at] ^= 0xff;
        weather_day_read(back, bytes, length, -1);
        assert_day_sound(back);
        bytes[at] ^= 0xff;
    }
    weather_day_read(back, NULL, 0, -1);
    assert_day_sound(back);
    free(back);
    free(day);
}

/* An old store, as version 3 left it: migrations 1 to 3 leave more than this,
 * the fourth asks for no more. */
static const char old_sql[] =
    "BEGIN;"
    "CREATE TABLE weather("
    " operation TEXT NOT NULL, bush TEXT NOT NULL, hour INTEGER NOT NULL,"
    " quantity TEXT NOT NULL, value REAL NOT NULL, origin INTEGER NOT NULL,"
    " source TEXT NOT NULL, issued INTEGER NOT NULL,"
    " fetched INTEGER NOT NULL,"
    " PRIMARY KEY(operation, bush, hour, quantity)) STRICT, WITHOUT ROWID;"
    "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i+1 FROM n WHERE i<99)"
    " INSERT INTO weather SELECT o, b, 1772712000+i*3600, q, v+i/10.0, g,"
    " 'metno', 1772700000, 1772710000+i FROM n,"
    " (SELECT 'bend' o, 'north' b, 'air_temp_c' q, -5 v, 3 g"
    "  UNION ALL SELECT 'bend', 'north', 'wind_m_s', 1, 2"
    "  UNION ALL SELECT 'bend', 'south', 'air_temp_c', 5, 1"
    "  UNION ALL SELECT 'crag', 'north', 'air_temp_c', 15, 3);"
    "INSERT INTO weather VALUES"
    "('bend', 'north', -3600, 'air_temp_c', 1, 1, 'metno', 0, 0),"
    "('bend', 'north', 1772712000, 'sunspots', 1, 1, 'metno', 0, 0),"
    "('bend', 'north', 1772712000, 'precip_mm', 1, 77, 'metno', 0, 0);"
    "PRAGMA user_version=3; PRAGMA application_id=1952997751; COMMIT;";

static void assert_place(struct store *store, const char *operation,
                         const char *bush, double first_c, enum origin origin)
{
    struct series *series;
    double value;

    assert_int_equal(
        store_get_air(store, operation, bush, NOON - 7200, 110, &series, NULL),
        0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 100);
    for (int i = 0; i < 100; i++) {
        assert_true(series_get(series, AIR_TEMP_C, i + 2, &value));
        assert_near(value, first_c + i / 10.0, 1e-12);
        assert_int_equal(series_origin(series, AIR_TEMP_C, i + 2), origin);
    }
    assert_int_equal(series_count(series, WIND_M_S), 0);
    series_free(series);
}

static void test_an_old_store_is_moved(void **state)
{
    struct bench *bench = *state;
    struct series *series;
    double value;

    bench_sql(bench, old_sql);
    bench_open(bench);
    assert_place(bench->store, "bend", "north", -5, ORIGIN_FORECAST);
    assert_place(bench->store, "bend", "south", 5, ORIGIN_OBSERVED);
    assert_place(bench->store, "crag", "north", 15, ORIGIN_FORECAST);
    assert_int_equal(store_get_weather(bench->store, "bend", "north", NOON, 5,
                                       &series, NULL),
                     0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 5);
    assert_int_equal(series_count(series, WIND_M_S), 5);
    assert_int_equal(series_count(series, PRECIP_MM), 0);
    assert_true(series_get(series, WIND_M_S, 3, &value));
    assert_near(value, 1.3, 1e-12);
    series_free(series);
    bench_open(bench);
    assert_place(bench->store, "bend", "north", -5, ORIGIN_FORECAST);
}

/* A row of the export that is weather of the hour; freed by the caller. */
static cJSON *exported(const char *path, utc_s hour, const char *quantity,
                       int *count)
{
    char line[1024];
    FILE *out = tmpfile();
    cJSON *found = NULL;

    assert_non_null(out);
    *count = 0;
    assert_int_equal(store_export(path, out, NULL), 0);
    rewind(out);
    while (fgets(line, sizeof line, out) != NULL) {
        cJSON *row = json_parse(line, strlen(line), NULL);
        long at;

        assert_non_null(row);
        *count += strcmp(json_string(row, "table"), "weather") == 0;
        if (found == NULL && json_integer(row, "hour", 0, 9999999999, &at) &&
            at == hour && strcmp(json_string(row, "quantity"), quantity) == 0)
            found = row;
        else
            cJSON_Delete(row);
    }
    fclose(out);
    return found;
}

static void test_export_tells_hours(void **state)
{
    struct bench *bench = *state;
    long number;
    int count;
    cJSON *row;

    bench_sql(bench, old_sql);
    bench_open(bench);
    row = exported(bench->path, NOON + 7200, "air_temp_c", &count);
    assert_int_equal(count, 400);
    assert_non_null(row);
    assert_string_equal(json_string(row, "operation"), "bend");
    assert_string_equal(json_string(row, "bush"), "north");
    assert_string_equal(json_string(row, "source"), "metno");
    assert_true(json_integer(row, "origin", 0, 9, &number));
    assert_int_equal(number, 3);
    assert_true(json_integer(row, "issued", 0, 9999999999, &number));
    assert_int_equal(number, 1772700000);
    assert_true(json_integer(row, "fetched", 0, 9999999999, &number));
    assert_int_equal(number, 1772710002);
    assert_near(cJSON_GetObjectItem(row, "value")->valuedouble, -4.8, 1e-12);
    cJSON_Delete(row);
}

static int try_hour(struct store *store, const char *bush, utc_s hour,
                    double temp_c, utc_s fetched)
{
    struct series *series = series_new(hour, 1);
    struct series_source source = {.name = "metno", .fetched = fetched};
    int number = series_add_source(series, &source), result;

    series_set(series, AIR_TEMP_C, 0, temp_c, ORIGIN_FORECAST, number);
    result = store_put_weather(store, "bend", bush, series, hour + 3600, NULL);
    series_free(series);
    return result;
}

static void put_hour(struct store *store, const char *bush, utc_s hour,
                     double temp_c, utc_s fetched)
{
    assert_int_equal(try_hour(store, bush, hour, temp_c, fetched), 0);
}

/* A year of hourly answers leaves a day no longer than it was. */
static void test_a_day_does_not_grow(void **state)
{
    struct bench *bench = *state;
    struct series *series;
    double value;

    for (int i = 0; i < 1000; i++)
        put_hour(bench->store, "north", NOON, i % 40, NOW + i);
    put_hour(bench->store, "south", NOON, 3, NOW);
    assert_int_equal(
        store_get_air(bench->store, "bend", "north", NOON, 1, &series, NULL),
        0);
    assert_true(series_get(series, AIR_TEMP_C, 0, &value));
    assert_near(value, 39, 0);
    series_free(series);
    assert_int_equal(bench_number(bench, "SELECT count(*) FROM weather_day"),
                     2);
    assert_true(
        bench_number(bench, "SELECT max(length(hours)) FROM weather_day") < 64);
}

/* Days before 1970 are no weather; a range over them ends at the place's own
 * days. */
static void test_a_place_keeps_to_itself(void **state)
{
    struct bench *bench = *state;
    struct series *series;

    put_hour(bench->store, "north", 7200, 1, NOW);
    put_hour(bench->store, "south", 7200, 2, NOW);
    put_hour(bench->store, "south", -7200, 2, NOW);
    assert_int_equal(store_get_air(bench->store, "bend", "south",
                                   -48 * SECONDS_PER_HOUR, 96, &series, NULL),
                     0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 1);
    series_free(series);
    assert_int_equal(store_get_air(bench->store, "bend", "north",
                                   -48 * SECONDS_PER_HOUR, 40, &series, NULL),
                     0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 0);
    series_free(series);
    assert_int_equal(
        store_get_air(bench->store, "bend", "nowhere", 0, 9, &series, NULL), 0);
    assert_int_equal(series_count(series, AIR_TEMP_C), 0);
    series_free(series);
}

/* A row whose number cannot be: its weather counts as none, and a new one takes
 * its place; under the highest number there is no further one. */
static void test_a_damaged_place_is_none(void **state)
{
    static const char *const damage[] = {
        "UPDATE weather_place SET place=7815266452385199208",
        "UPDATE weather_place SET place=-1"};
    struct bench *bench = *state;
    struct series *series;

    for (size_t i = 0; i < sizeof damage / sizeof damage[0]; i++) {
        put_hour(bench->store, "north", NOON, 1, NOW);
        bench_sql(bench, damage[i]);
        assert_int_equal(store_get_air(bench->store, "bend", "north", NOON, 1,
                                       &series, NULL),
                         0);
        assert_int_equal(series_count(series, AIR_TEMP_C), 0);
        series_free(series);
        put_hour(bench->store, "north", NOON, 2, NOW);
        assert_int_equal(store_get_air(bench->store, "bend", "north", NOON, 1,
                                       &series, NULL),
                         0);
        assert_int_equal(series_count(series, AIR_TEMP_C), 1);
        series_free(series);
    }
    bench_sql(bench, damage[0]);
    assert_int_equal(try_hour(bench->store, "south", NOON, 3, NOW), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_day_comes_back),
        cmocka_unit_test(test_a_damaged_day_is_no_danger),
        cmocka_unit_test_setup_teardown(test_an_old_store_is_moved,
                                        set_up_folder, tear_down),
        cmocka_unit_test_setup_teardown(test_export_tells_hours, set_up_folder,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_a_day_does_not_grow, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_a_place_keeps_to_itself, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(test_a_damaged_place_is_none, set_up,
                                        tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
