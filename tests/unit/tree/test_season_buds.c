/* Buds: day length, thermal time, missing days, dates as distributions, the
 * open data of Petersham and the parameter files. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/memory.h"
#include "open_data.h"
#include "own_folder.h"
#include "texts.h"
#include "tree/season_private.h"

static const double PETERSHAM_N = 42.53, PETERSHAM_M = 340.0;

static struct season_model load(enum species species)
{
    struct season_model model;
    struct error err;

    if (season_model_load(PROJECT_DIR "/models", species, &model, &err)) {
        fail_msg("%s", err.text);
    }
    return model;
}

static int64_t day_number(int year, int month, int day)
{
    return civil_day_number((struct civil_date){year, month, day});
}

/* Meeus, Astronomical Algorithms (1998), and any almanac: twelve hours on the
 * equator all year; with sunrise at the sun's centre and no refraction, day
 * length at 40 N on the solstices is 24/pi acos(-tan 40 tan +-23.44). */
static void day_length_of_the_almanac(void **state)
{
    (void)state;
    assert_near(season_day_length_h(0.0, 34), 12.0, 1e-9);
    assert_near(season_day_length_h(40.0, 172), 14.85, 0.02);
    assert_near(season_day_length_h(40.0, 355), 9.15, 0.02);
    assert_near(season_day_length_h(44.0, 80), 12.0, 0.1);
    assert_near(season_day_length_h(80.0, 172), 24.0, 1e-9);
    assert_near(season_day_length_h(80.0, 355), 0.0, 1e-9);
}

static struct season_weather *even_weather(int year, double min_c, double max_c)
{
    struct season_weather *weather = mem_alloc(1, sizeof *weather);

    weather->year = year;
    weather->days = (int)(day_number(year, 8, 1) - season_first_day(year));
    weather->known = weather->days;
    for (int day = 0; day < weather->days; day++) {
        weather->min_c[day] = min_c;
        weather->max_c[day] = max_c;
    }
    season_make_hours(weather, 0);
    return weather;
}

static void seasons_run_from_november_to_july(void **state)
{
    (void)state;
    assert_true(season_first_day(2026) == day_number(2025, 11, 1));
    assert_int_equal(season_of_day(day_number(2025, 10, 31)), 2025);
    assert_int_equal(season_of_day(day_number(2025, 11, 1)), 2026);
    assert_int_equal(season_of_day(day_number(2026, 7, 31)), 2026);
}

/* By hand: no gate, no share, no chill, 15 C all day over a base of 5 C: ten
 * degree-days a day from 1 January, so 100 are full at the end of 10 January,
 * position 61 + 10. */
static void degree_days_by_hand(void **state)
{
    struct season_buds buds = {.base_temp_c = 5.0,
                               .daylength_half_h = -100.0,
                               .daylength_width_h = 0.3,
                               .chill_temp_c = 8.0,
                               .chill_width_k = 1.0};
    struct season_weather *weather = even_weather(2026, 15.0, 15.0);
    struct season_course course;

    (void)state;
    season_course_run(&buds, weather, 44.0, &course);
    assert_near(season_course_reach(&course, 100.0), 71.0, 1e-6);
    assert_near(season_course_reach(&course, 105.0), 71.5, 1e-6);
    assert_near(season_course_reach(&course, 1e6), -1.0, 0.0);
    buds.day_share = 1.0; /* the bud is at the day's maximum all day */
    free(weather);
    weather = even_weather(2026, 5.0, 25.0);
    season_course_run(&buds, weather, 44.0, &course);
    assert_near(season_course_reach(&course, 100.0), 66.0, 1e-6);
    free(weather);
}

/* 12 h of light at the equator: a gate half open there halves the warmth; a
 * day at the chill temperature chills by half. */
static void gate_and_chill_by_hand(void **state)
{
    struct season_buds buds = {.base_temp_c = 5.0,
                               .daylength_half_h = 12.0,
                               .daylength_width_h = 0.3,
                               .chill_temp_c = 15.0,
                               .chill_width_k = 1.0};
    struct season_weather *weather = even_weather(2026, 15.0, 15.0);
    struct season_course course;

    (void)state;
    season_course_run(&buds, weather, 0.0, &course);
    assert_near(season_course_reach(&course, 100.0), 81.0, 1e-6);
    assert_near(course.chill_d[60], 30.5, 1e-9);  /* November, December */
    assert_near(course.chill_d[200], 75.5, 1e-9); /* to 31 March */
    buds.chill_effect = 1.0;
    buds.chill_reference_d = 25.5; /* fifty days more than that: exp(0.5) */
    season_course_run(&buds, weather, 0.0, &course);
    assert_near(course.warmth_kd[200], 5.0 * (200 - 60) * exp(0.5), 1e-6);
    free(weather);
}

static void curve_meets_its_extremes(void **state)
{
    (void)state;
    assert_near(season_curve_c(-5, 7, 3, -1, 6.0), -5.0, 1e-9);
    assert_near(season_curve_c(-5, 7, 3, -1, 15.0), 7.0, 1e-9);
    assert_near(season_curve_c(-5, 7, 3, -1, 10.5), 1.0, 1e-9);
    assert_near(season_curve_c(-5, 7, 3, -1, 22.5), 3.0, 1e-9);
    assert_near(season_curve_c(-5, 7, 3, -1, 0.0),
                -5.0 + 8.0 * 0.5 * (1.0 + cos(acos(-1.0) * 0.6)), 1e-9);
}

/* A record with everything equal to the climate but two days. */
static struct daily *flat_record(int year, int days)
{
    struct daily *daily = mem_alloc(1, sizeof *daily);

    daily->first_day = season_first_day(year);
    daily->count = days;
    daily->rows = mem_alloc((size_t)days, sizeof *daily->rows);
    for (int day = 0; day < days; day++) {
        daily->rows[day] = (struct daily_row){true, true, 0.0, 10.0};
    }
    return daily;
}

static struct season_climate flat_climate(void)
{
    struct season_climate climate;

    for (int day = 0; day < 366; day++) {
        climate.min_c[day] = 0.0;
        climate.max_c[day] = 10.0;
    }
    return climate;
}

static void blank(struct daily *daily, int from, int to)
{
    for (int day = from; day <= to; day++) {
        daily->rows[day].has_min = daily->rows[day].has_max = false;
    }
}

static void missing_days_by_the_rule(void **state)
{
    struct season_general general = {.anomaly_memory = 0.5};
    struct season_climate climate = flat_climate();
    struct season_weather *weather = mem_alloc(1, sizeof *weather);
    struct daily *daily = flat_record(2026, 200);
    struct error err;

    (void)state;
    daily->rows[99].min_c = 4.0;
    blank(daily, 100, 102); /* short: a straight line from 4 to 0 */
    daily->rows[149].max_c = 18.0;
    blank(daily, 150, 160); /* long: fades by half a day */
    daily->rows[170].has_min = false;
    assert_int_equal(season_weather_from_daily(daily, 2026, &general, &climate,
                                               weather, &err),
                     0);
    assert_near(weather->min_c[100], 3.0, 1e-9);
    assert_near(weather->min_c[102], 1.0, 1e-9);
    assert_near(weather->max_c[150], 14.0, 1e-9);
    assert_near(weather->max_c[152], 11.0, 1e-9);
    assert_int_equal(weather->known, 200);
    assert_int_equal(weather->filled, 3 + 11 + 1);
    assert_near(weather->max_c[230], 10.0, 1e-6);
    daily_free(daily);
    free(weather);
}

static void a_record_of_another_year_is_refused(void **state)
{
    struct season_general general = {.anomaly_memory = 0.5};
    struct season_climate climate = flat_climate();
    struct season_weather *weather = mem_alloc(1, sizeof *weather);
    struct daily *daily = flat_record(2026, 200);
    struct error err = {""};

    (void)state;
    assert_int_equal(season_weather_from_daily(daily, 2024, &general, &climate,
                                               weather, &err),
                     -1);
    assert_non_null(strstr(err.text, "2024"));
    daily_free(daily);
    free(weather);
}

/* Normal quantiles: 1.2816 standard deviations at 10 and 90 %. */
static void one_course_gives_a_normal_date(void **state)
{
    const double positions[] = {100.5};
    struct season_date date = season_date_from(positions, 1, 4.0, 20000, 273);

    (void)state;
    assert_true(date.known);
    assert_int_equal(civil_day_number(date.p10), 20000 + 95); /* 95.37 */
    assert_int_equal(civil_day_number(date.p50), 20000 + 100);
    assert_int_equal(civil_day_number(date.p90), 20000 + 105); /* 105.63 */
}

static void a_date_that_most_courses_miss_is_not_told(void **state)
{
    const double positions[] = {100.5, -1.0, 99.0};

    (void)state;
    assert_false(season_date_from(positions, 3, 4.0, 20000, 273).known);
}

/* --- The open data --- */

struct petersham {
    struct daily *daily;
    struct csv *breaks;
};

/* The station in use up to the end of 2001 reads colder; the step is what
 * contrib/calibrate-buds.sh finds. */
static void bridge_stations(struct daily *daily)
{
    int64_t joint = day_number(2002, 1, 1);

    for (int day = 0; daily->first_day + day < joint; day++) {
        daily->rows[day].min_c += 1.64;
        daily->rows[day].max_c += 1.64;
    }
}

/* The test ends here where the data are missing. */
static void petersham_read(struct petersham *out)
{
    char *path =
        mem_format("%s/data/petersham-daily-1989-2006.csv", OPEN_DATA_DIR);
    struct error err;
    char *bytes;
    size_t length;

    out->breaks = open_data_csv("petersham-budbreak-1990-2005.csv");
    csv_free(open_data_csv("petersham-daily-1989-2006.csv"));
    assert_int_equal(file_read(path, 1 << 24, &bytes, &length, &err), 0);
    assert_int_equal(daily_from_csv(bytes, length, &out->daily, &err), 0);
    free(bytes);
    free(path);
    bridge_stations(out->daily);
}

static void petersham_free(struct petersham *data)
{
    daily_free(data->daily);
    csv_free(data->breaks);
}

static struct season *petersham_season(const struct petersham *data,
                                       const struct season_model *model,
                                       int year)
{
    struct season_site site = {.latitude = PETERSHAM_N,
                               .elevation_m = PETERSHAM_M};
    struct season_climate climate;
    struct season_weather *weather = mem_alloc(1, sizeof *weather);
    const struct season_weather *one = weather;
    struct season *season;
    struct error err;

    season_climate_at(&model->general, PETERSHAM_N, PETERSHAM_M, &climate);
    assert_int_equal(season_weather_from_daily(data->daily, year,
                                               &model->general, &climate,
                                               weather, &err),
                     0);
    season = season_make(model, &site, &climate, &one, 1,
                         (struct civil_date){year, 7, 31}, 1, 1);
    free(weather);
    return season;
}

struct score {
    double error_d, late_error_d; /* summed */
    int years, late_years, held;
};

static void score_year(const struct season *season, int year, double observed,
                       struct score *score)
{
    double low = civil_day_of_year(season->bud_break.p10) - 0.5;
    double high = civil_day_of_year(season->bud_break.p90) + 0.5;
    double error = fabs(civil_day_of_year(season->bud_break.p50) - observed);

    assert_true(season->bud_break.known);
    score->error_d += error;
    score->years++;
    score->held += observed >= low && observed <= high;
    if (year >= 2002) {
        score->late_error_d += error;
        score->late_years++;
    }
}

/* O'Keefe, Harvard Forest HF003: within the years fitted, so a check that
 * code and files belong together; years left out are judged by
 * contrib/calibrate-buds.sh (1.7 and 1.8 days). The mean of the dates errs by
 * 4.2 and 4.3 days. */
static void bud_break_at_petersham(const char *latin, enum species species)
{
    struct petersham data;
    struct season_model model = load(species);
    struct score score = {0};

    petersham_read(&data);
    for (int row = 0; row < csv_rows(data.breaks); row++) {
        double year, observed;
        struct season *season;
        struct error err;

        if (strcmp(csv_cell(data.breaks, row, 1), latin) != 0) {
            continue;
        }
        csv_number(data.breaks, row, 0, &year, &err);
        csv_number(data.breaks, row, 3, &observed, &err);
        season = petersham_season(&data, &model, (int)year);
        score_year(season, (int)year, observed, &score);
        season_free(season);
    }
    petersham_free(&data);
    assert_int_equal(score.years, 16);
    printf("%s: mean absolute error %.2f d, 2002-2005 %.2f d, held %d/16\n",
           latin, score.error_d / 16, score.late_error_d / 4, score.held);
    assert_true(score.error_d / score.years < 2.2);
    assert_true(score.late_error_d / score.late_years < 2.5);
    assert_true(score.held >= 11 && score.held <= 15);
}

static void sugar_maple_at_petersham(void **state)
{
    (void)state;
    bud_break_at_petersham("Acer saccharum", SPECIES_SUGAR_MAPLE);
}

static void red_maple_at_petersham(void **state)
{
    (void)state;
    bud_break_at_petersham("Acer rubrum", SPECIES_RED_MAPLE);
}

static void every_species_has_its_file(void **state)
{
    (void)state;
    for (int species = 0; species < SPECIES_COUNT; species++) {
        struct season_model model = load((enum species)species);

        assert_true(model.buds.swell_warmth_kd < model.buds.break_warmth_kd);
        assert_true(strlen(model.digest) == DIGEST_SIZE - 1);
    }
    assert_true(load(SPECIES_SILVER_MAPLE).buds.break_sd_d >
                load(SPECIES_RED_MAPLE).buds.break_sd_d);
    assert_true(load(SPECIES_BOX_ELDER).buds.break_sd_d >
                load(SPECIES_SUGAR_MAPLE).buds.break_sd_d);
}

/* --- Files that are refused --- */

static void refuse_model(const char *old, const char *new, const char *word)
{
    char folder[OWN_FOLDER_SIZE];
    char *buds = file_text(PROJECT_DIR "/models", "buds-sugar-maple.json");
    char *general = file_text(PROJECT_DIR "/models", "season.json");
    char *changed = text_with(buds, old, new);
    struct season_model model;
    struct error err = {""};

    own_folder_make(folder, "season");
    file_put_text(folder, "season.json", general);
    file_put_text(folder, "buds-sugar-maple.json", changed);
    assert_int_equal(
        season_model_load(folder, SPECIES_SUGAR_MAPLE, &model, &err), -1);
    if (!strstr(err.text, word) || !strstr(err.text, "buds-sugar-maple")) {
        fail_msg("\"%s\" lacks \"%s\" or the file", err.text, word);
    }
    own_folder_remove(folder);
    free(buds);
    free(general);
    free(changed);
}

static void bad_files_are_refused_by_file_and_key(void **state)
{
    (void)state;
    refuse_model("\"base_temp_c\"", "\"base_temp\"", "base_temp");
    refuse_model("\"unit\": \"C\"", "\"unit\": \"F\"", "base_temp_c");
    refuse_model("\"value\": 0.3,", "\"value\": 9,", "daylength_width_h");
    refuse_model("\"source\"", "\"origin\"", "origin");
    refuse_model("\"numbers\"", "\"figures\"", "figures");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(day_length_of_the_almanac),
        cmocka_unit_test(seasons_run_from_november_to_july),
        cmocka_unit_test(degree_days_by_hand),
        cmocka_unit_test(gate_and_chill_by_hand),
        cmocka_unit_test(curve_meets_its_extremes),
        cmocka_unit_test(missing_days_by_the_rule),
        cmocka_unit_test(a_record_of_another_year_is_refused),
        cmocka_unit_test(one_course_gives_a_normal_date),
        cmocka_unit_test(a_date_that_most_courses_miss_is_not_told),
        cmocka_unit_test(sugar_maple_at_petersham),
        cmocka_unit_test(red_maple_at_petersham),
        cmocka_unit_test(every_species_has_its_file),
        cmocka_unit_test(bad_files_are_refused_by_file_and_key),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
