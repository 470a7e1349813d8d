/* `thawbell replay`: options, files, and the JSON of seasons and of sap. */
#include "unit_test.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/json.h"
#include "base/text.h"
#include "command/replay.h"
#include "command/replay_plan.h"

static int read_options(const char *const *words, struct replay_options *out,
                        struct error *err)
{
    struct options options = {0};
    char *argv[16] = {NULL};
    int argc = 0, status;

    for (; words[argc]; argc++) {
        argv[argc] = strdup(words[argc]);
    }
    status = options_parse(argc, argv, replay_rows, &options, err);
    assert_int_equal(status, 0);
    status = replay_options_read(&options, out, err);
    for (int i = 0; i < argc; i++) {
        free(argv[i]);
    }
    return status;
}

static void refuse(const char *name, const char *value, const char *words)
{
    const char *const argv[] = {"replay", "--weather", "w.csv",
                                name,     value,       NULL};
    struct replay_options options;
    struct error err = {""};

    assert_int_equal(read_options(argv, &options, &err), -1);
    if (!strstr(err.text, words)) {
        fail_msg("%s %s: \"%s\" lacks \"%s\"", name, value, err.text, words);
    }
}

static void wrong_options_are_refused_by_name(void **state)
{
    (void)state;
    refuse("--species", "birch", "root pressure");
    refuse("--species", "walnut", "root pressure");
    refuse("--species", "suger maple", "sugar maple");
    refuse("--gathering", "hats", "buckets");
    refuse("--latitude", "95", "--latitude");
    refuse("--longitude", "west", "--longitude");
    refuse("--elevation", "1480", "--elevation");
    refuse("--utc-offset", "-5", "-05:00");
    refuse("--collected-at", "5pm", "17:00");
    refuse("--collected-at", "24:00", "17:00");
    refuse("--tapped", "2013-02-30", "--tapped");
    refuse("--taps", "0", "--taps");
    refuse("--sap", "s.csv", "--taps");
}

static void a_plan_needs_an_operation(void **state)
{
    const char *const alone[] = {"replay", "--weather", "w.csv", "--plan",
                                 NULL};
    const char *const both[] = {"replay", "--weather",     "w.csv",  "--plan",
                                "--sap",  "s.csv",         "--taps", "5",
                                "-o",     "tamarack.conf", NULL};
    const char *const good[] = {"replay", "--weather",   "w.csv",
                                "--plan", "--operation", "tamarack.conf",
                                NULL};
    struct replay_options options;
    struct error err = {""};

    (void)state;
    assert_int_equal(read_options(alone, &options, &err), -1);
    assert_non_null(strstr(err.text, "--operation FILE"));
    assert_int_equal(read_options(both, &options, &err), -1);
    assert_non_null(strstr(err.text, "--sap"));
    assert_int_equal(read_options(good, &options, &err), 0);
    assert_true(options.plan);
    assert_int_equal(options.forecasts, 5);
}

static void forecasts_are_counted(void **state)
{
    static const char *const bad[] = {"0", "101", "-1", "2.5", "some", ""};
    const char *argv[] = {"replay",      "--weather",     "w.csv",
                          "--forecasts", "100",           "--plan",
                          "-o",          "tamarack.conf", NULL};
    const char *const alone[] = {"replay",      "--weather", "w.csv",
                                 "--forecasts", "3",         NULL};
    struct replay_options options;
    struct error err = {""};

    (void)state;
    assert_int_equal(read_options(argv, &options, &err), 0);
    assert_int_equal(options.forecasts, 100);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        argv[4] = bad[i];
        assert_int_equal(read_options(argv, &options, &err), -1);
        assert_non_null(strstr(err.text, "--forecasts"));
    }
    assert_int_equal(read_options(alone, &options, &err), -1);
    assert_non_null(strstr(err.text, "--plan"));
}

/* The keys that docs/replay.md names. */
static void the_plan_as_json(void **state)
{
    static const char *const keys[] = {"year",
                                       "tapped",
                                       "pulled",
                                       "days_unknown",
                                       "forecasts",
                                       "ran_l",
                                       "kept_l",
                                       "kept_least_l",
                                       "kept_most_l",
                                       "perfect_l",
                                       "habit_l",
                                       "overflow_l",
                                       "spoiled_l",
                                       "held_l",
                                       "lit_days",
                                       "lit_days_most",
                                       "perfect_lit_days",
                                       "habit_lit_days",
                                       "night_hours",
                                       "habit_night_hours",
                                       "unattended_hours",
                                       "trips",
                                       "habit_trips"};
    struct replay_plan plan = {.year = 2013,
                               .tapped = {2013, 2, 22},
                               .pulled = {2013, 4, 16},
                               .days_unknown = 4,
                               .planned = {.kept_l = 900,
                                           .kept_least_l = 880,
                                           .lit_days = 7.26,
                                           .lit_days_most = 8},
                               .perfect = {.kept_l = 950},
                               .habit = {.kept_l = 700, .lit_days = 9}};
    cJSON *json = replay_plan_json(&plan);
    double value;

    (void)state;
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++)
        if (cJSON_GetObjectItemCaseSensitive(json, keys[i]) == NULL)
            fail_msg("no %s", keys[i]);
    assert_true(json_number(json, "days_unknown", &value) && value == 4);
    assert_true(json_number(json, "habit_l", &value) && value == 700);
    assert_true(json_number(json, "perfect_l", &value) && value == 950);
    assert_true(json_number(json, "lit_days", &value) && value == 7.3);
    assert_true(json_number(json, "lit_days_most", &value) && value == 8);
    assert_true(json_number(json, "kept_least_l", &value) && value == 880);
    assert_string_equal(json_string(json, "tapped"), "2013-02-22");
    cJSON_Delete(json);
}

static void options_are_read(void **state)
{
    const char *const argv[] = {
        "replay",     "--weather",      "w.csv",   "--species",
        "red maple",  "--latitude",     "42.53",   "--utc-offset",
        "-03:30",     "--elevation",    "1000 ft", "--tapped",
        "2013-02-22", "--collected-at", "09:15",   NULL};
    struct replay_options options;
    struct error err;

    (void)state;
    assert_int_equal(read_options(argv, &options, &err), 0);
    assert_int_equal(options.species, SPECIES_RED_MAPLE);
    assert_near(options.latitude, 42.53, 1e-12);
    assert_near(options.elevation_m, 304.8, 1e-9);
    assert_int_equal(options.setting.offset_s, -12600);
    assert_int_equal(options.setting.collected_at_s, 9 * 3600 + 900);
    assert_true(options.setting.has_tapped);
    assert_int_equal(options.setting.tapped.day, 22);
}

/* A record of days from one date to another, at the curve of the climate
 * moved by shift_k; a file that is removed by the caller. */
static void write_days(char path[32], const char *from, const char *to,
                       double shift_k)
{
    struct civil_date first, last;
    struct text text;
    int fd;

    (void)snprintf(path, 32, "/tmp/thawbell-replay-XXXXXX");
    fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    assert_int_equal(iso_date_parse(from, &first, NULL), 0);
    assert_int_equal(iso_date_parse(to, &last, NULL), 0);
    text_init(&text, 1 << 22);
    text_add(&text, "date,tmin_c,tmax_c\n");
    for (int64_t day = civil_day_number(first); day <= civil_day_number(last);
         day++) {
        struct civil_date date = civil_date_from_day_number(day);
        double mean_c = 7.0 + shift_k -
                        13.0 * cos(2.0 * acos(-1.0) *
                                   (civil_day_of_year(date) - 20) / 365.25) +
                        3.0 * sin((double)day);
        char words[ISO_DATE_SIZE];

        iso_date(date, words);
        text_addf(&text, "%s,%.1f,%.1f\n", words, mean_c - 6.0, mean_c + 6.0);
    }
    assert_int_equal(
        file_write_whole(path, text.bytes, text.length, 0600, NULL), 0);
    text_free(&text);
}

static cJSON *seasons_of(const char *from, const char *to, double shift_k,
                         enum species species)
{
    struct replay_options options = {.latitude = 44.0,
                                     .longitude = -72.0,
                                     .elevation_m = 300.0,
                                     .species = species};
    struct replay_weather weather;
    struct replay_seasons seasons;
    struct error err;
    char path[32];
    cJSON *json;

    options.setting.offset_s = -5 * SECONDS_PER_HOUR;
    write_days(path, from, to, shift_k);
    options.weather_path = path;
    if (replay_weather_read(&options, &weather, &err) ||
        replay_seasons_make(&weather, &options, &seasons, &err)) {
        fail_msg("%s", err.text);
    }
    json = replay_seasons_json(&seasons, species);
    replay_seasons_free(&seasons);
    replay_weather_free(&weather);
    assert_int_equal(unlink(path), 0);
    return json;
}

static long year_of(const cJSON *json)
{
    long year = 0;

    assert_true(
        json_integer(json_object(json, "season"), "year", 1, 9999, &year));
    return year;
}

static struct civil_date break_of(const cJSON *season, const char *quantile)
{
    struct civil_date date;
    const char *words = json_string(json_object(season, "bud_break"), quantile);

    assert_non_null(words);
    assert_int_equal(iso_date_parse(words, &date, NULL), 0);
    return date;
}

/* A calendar year, a year from the September before, and the same running on
 * to the next December all give the season of that spring. */
static void the_season_is_that_of_the_spring(void **state)
{
    cJSON *calendar =
        seasons_of("2012-01-01", "2012-12-31", 0.0, SPECIES_SUGAR_MAPLE);
    cJSON *whole =
        seasons_of("2011-09-01", "2012-08-31", 0.0, SPECIES_SUGAR_MAPLE);
    cJSON *longer =
        seasons_of("2011-09-01", "2012-12-31", 0.0, SPECIES_SUGAR_MAPLE);

    (void)state;
    assert_int_equal(year_of(calendar), 2012);
    assert_int_equal(year_of(whole), 2012);
    assert_int_equal(year_of(longer), 2012);
    assert_int_equal(cJSON_GetArraySize(json_array(calendar, "seasons")), 1);
    for (int i = 0; i < 3; i++) {
        static const char *const QUANTILES[] = {"p10", "p50", "p90"};
        struct civil_date date =
            break_of(json_object(calendar, "season"), QUANTILES[i]);

        assert_int_equal(
            civil_date_compare(
                date, break_of(json_object(whole, "season"), QUANTILES[i])),
            0);
    }
    cJSON_Delete(calendar);
    cJSON_Delete(whole);
    cJSON_Delete(longer);
}

static void many_years_give_many_seasons(void **state)
{
    cJSON *json =
        seasons_of("1990-01-01", "1999-12-31", 0.0, SPECIES_RED_MAPLE);
    const cJSON *season = json_object(json, "season");
    const cJSON *red = json_object(json_object(season, "species"), "red maple");
    const cJSON *sugar =
        json_object(json_object(season, "species"), "sugar maple");

    (void)state;
    assert_int_equal(cJSON_GetArraySize(json_array(json, "seasons")), 10);
    assert_int_equal(year_of(json), 1999);
    assert_int_equal(
        civil_date_compare(break_of(season, "p50"), break_of(red, "p50")), 0);
    assert_true(
        civil_date_compare(break_of(sugar, "p50"), break_of(red, "p50")) < 0);
    assert_true(civil_date_compare(break_of(season, "p10"),
                                   break_of(season, "p90")) < 0);
    assert_string_equal(json_string(season, "chosen"), "red maple");
    assert_non_null(json_string(season, "tap_from"));
    assert_non_null(json_string(json_object(season, "pull_taps"), "by"));
    cJSON_Delete(json);
}

static void warmer_weather_gives_an_earlier_break(void **state)
{
    cJSON *cool =
        seasons_of("2012-01-01", "2012-12-31", -2.0, SPECIES_SUGAR_MAPLE);
    cJSON *warm =
        seasons_of("2012-01-01", "2012-12-31", 2.0, SPECIES_SUGAR_MAPLE);

    (void)state;
    assert_true(
        civil_date_compare(break_of(json_object(warm, "season"), "p50"),
                           break_of(json_object(cool, "season"), "p50")) < 0);
    cJSON_Delete(cool);
    cJSON_Delete(warm);
}

/* Weather to 20 March: the break is still told, wider. */
static void a_season_under_way_is_told_wider(void **state)
{
    cJSON *whole =
        seasons_of("2012-01-01", "2012-07-31", 0.0, SPECIES_SUGAR_MAPLE);
    cJSON *cut =
        seasons_of("2012-01-01", "2012-03-20", 0.0, SPECIES_SUGAR_MAPLE);
    const cJSON *a = json_object(whole, "season");
    const cJSON *b = json_object(cut, "season");

    (void)state;
    assert_true(civil_day_number(break_of(b, "p90")) -
                    civil_day_number(break_of(b, "p10")) >
                civil_day_number(break_of(a, "p90")) -
                    civil_day_number(break_of(a, "p10")));
    assert_string_equal(json_string(b, "weather_until"), "2012-03-20");
    cJSON_Delete(whole);
    cJSON_Delete(cut);
}

static void sap_is_told_by_the_keys_agreed(void **state)
{
    static const char *const FORECASTERS[] = {"model", "rule_a", "rule_b",
                                              "climatology"};
    struct replay_row row = {.date = {2013, 2, 24}, .sap_l = 5.0};
    struct replay replay = {.rows = &row, .count = 1};
    cJSON *json;
    double value;

    (void)state;
    for (int f = 0; f < REPLAY_FORECASTERS; f++) {
        replay.skill[f].pearson = (struct replay_figure){true, 0.5 + f};
        replay.skill[f].mae_l = (struct replay_figure){true, 7.0};
    }
    json = replay_sap_json(&replay);
    for (int f = 0; f < 4; f++) {
        const cJSON *skill = json_object(json, FORECASTERS[f]);

        assert_true(json_number(skill, "pearson", &value));
        assert_near(value, 0.5 + f, 1e-9);
        assert_true(json_number(skill, "mae_l", &value));
        assert_true(cJSON_HasObjectItem(skill, "spearman"));
        assert_false(json_number(skill, "spearman", &value)); /* null */
        assert_true(cJSON_HasObjectItem(skill, "bias_l"));
    }
    assert_true(json_number(json, "n", &value));
    assert_near(value, 1.0, 0.0);
    cJSON_Delete(json);
}

static void charts_are_whole(void **state)
{
    struct replay_row row = {.date = {2013, 2, 24}, .sap_l = 5.0};
    struct replay replay = {.rows = &row, .count = 1};
    char *svg = replay_sap_svg(&replay);

    (void)state;
    assert_int_equal(strncmp(svg, "<svg ", 5), 0);
    assert_string_equal(svg + strlen(svg) - 7, "</svg>\n");
    assert_non_null(strstr(svg, "2013-02-24"));
    free(svg);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wrong_options_are_refused_by_name),
        cmocka_unit_test(options_are_read),
        cmocka_unit_test(a_plan_needs_an_operation),
        cmocka_unit_test(forecasts_are_counted),
        cmocka_unit_test(the_plan_as_json),
        cmocka_unit_test(the_season_is_that_of_the_spring),
        cmocka_unit_test(many_years_give_many_seasons),
        cmocka_unit_test(warmer_weather_gives_an_earlier_break),
        cmocka_unit_test(a_season_under_way_is_told_wider),
        cmocka_unit_test(sap_is_told_by_the_keys_agreed),
        cmocka_unit_test(charts_are_whole),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
