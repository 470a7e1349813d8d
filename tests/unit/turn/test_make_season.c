/* The season of a bush in the turn: where its weather comes from, and what is
 * to be done. All weather is invented. */
#include "unit_test.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "own_folder.h"
#include "turn/make_season.h"
#include "turn_bench.h"

enum { AHEAD_DAYS = 10, MEMBERS = 4 };

struct bench {
    char folder[OWN_FOLDER_SIZE];
    struct config_bush bush;
    struct config config;
    struct store *store;
    struct turn_models *models;
    struct bulletin *bulletin;
    struct bush_made made;
    struct logbook book;
    struct log_view log;
};

/* A year's course at 45 N: coldest in January, with frost by night. */
static double air_c(const struct bench *bench, utc_s instant, double warmer_k)
{
    struct civil_time civil = zone_civil(bench->bulletin->zone, instant);
    double year = 2 * acos(-1) * civil_day_of_year(civil.date) / 365.25;
    double day = 2 * acos(-1) * (civil.hour - 15) / 24.0;

    return 6 - 16 * cos(year - 0.3) + 7 * cos(day) + warmer_k;
}

static struct series *course(const struct bench *bench, utc_s start, int hours,
                             double warmer_k)
{
    struct series_source source = {.name = "invented", .fetched = start};
    struct series *series = series_new(start, hours);
    int number = series_add_source(series, &source);

    for (int row = 0; row < hours; row++)
        series_set(series, AIR_TEMP_C, row,
                   air_c(bench, series_time(series, row), warmer_k),
                   ORIGIN_OBSERVED, number);
    return series;
}

static struct outlook *days_around(const struct bench *bench)
{
    struct civil_date today =
        bulletin_date(bench->bulletin, bench->bulletin->made);
    struct outlook *outlook = mem_alloc(1, sizeof *outlook);

    outlook->count = TURN_DAYS_BACK + TURN_DAYS_AHEAD;
    outlook->days = mem_alloc((size_t)outlook->count, sizeof *outlook->days);
    for (int i = 0; i < outlook->count; i++) {
        outlook->days[i].date = civil_date_add(today, i - TURN_DAYS_BACK);
        outlook->days[i].known = true;
        outlook->days[i].past = i < TURN_DAYS_BACK;
        outlook->days[i].taphole = 0.7;
    }
    return outlook;
}

static struct members *four_alike(const struct series *series)
{
    int hours = series_hours(series);
    struct members *members = members_new(series_start(series), hours, MEMBERS);

    for (int i = 0; i < MEMBERS * hours; i++)
        series_get(series, AIR_TEMP_C, i % hours, &members->air_temp_c[i]);
    return members;
}

/* A turn at noon of the date, tapped on 1 March or not at all. */
static void begin(struct bench *bench, struct civil_date today, bool tapped)
{
    utc_s now = zone_instant(bench->bulletin->zone, today, 12, 0, 0);
    utc_s start = now - (utc_s)TURN_HISTORY_DAYS * SECONDS_PER_DAY;

    bush_made_free(&bench->made);
    bench->bulletin->made = now;
    bench->made.weather =
        course(bench, start, (TURN_HISTORY_DAYS + AHEAD_DAYS) * 24, 0);
    bench->made.members = four_alike(bench->made.weather);
    bench->made.outlook = days_around(bench);
    bench->bulletin->bushes[0].outlook = bench->made.outlook;
    bench->made.site = (struct tree_site){
        .latitude = 45.06,
        .longitude = -71.9,
        .elevation_m = 450,
        .tapped = tapped,
        .tapped_at =
            zone_instant(bench->bulletin->zone,
                         (struct civil_date){today.year, 3, 1}, 12, 0, 0)};
    log_view_free(&bench->log);
    log_view_make(&bench->book, false, &bench->log);
}

/* The season of the turn; NULL out of season. Borrowed. */
static const struct bulletin_season *make(struct bench *bench)
{
    struct bulletin_bush *row = bench->bulletin->bushes;
    struct error doubt = {""}, err = {""};

    free(row->season);
    row->season = NULL;
    bench->bulletin->action_count = 0;
    error_list_free(&bench->bulletin->notes);
    if (make_season(&bench->config, 0, &bench->made, &bench->log, bench->store,
                    bench->models, bench->bulletin, row, &doubt, &err) != 0)
        fail_msg("%s", err.text);
    assert_string_equal(doubt.text, "");
    make_season_actions(&bench->config, bench->store, bench->bulletin);
    make_season_notes(bench->bulletin);
    return row->season;
}

static int set_up(void **state)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);
    struct error err = {""};
    char *path;

    own_folder_make(bench->folder, "season");
    path = file_join(bench->folder, "thawbell.db");
    bench->store = turn_bench_store(path);
    free(path);
    bench->models = turn_models_new();
    bench->bush = (struct config_bush){.name = (char *)"north",
                                       .latitude = 45.06,
                                       .longitude = -71.9,
                                       .elevation_m = 450};
    bench->config.slug = (char *)"tamarack-bend";
    bench->config.bushes = &bench->bush;
    bench->config.bush_count = 1;
    bench->bulletin = bulletin_new();
    bench->bulletin->zone = zone_open("America/New_York", &err);
    assert_non_null(bench->bulletin->zone);
    bench->bulletin->bushes = mem_alloc(1, sizeof *bench->bulletin->bushes);
    bench->bulletin->bush_count = 1;
    snprintf(bench->bulletin->bushes[0].name, 64, "north");
    *state = bench;
    return 0;
}

static int tear_down(void **state)
{
    struct bench *bench = *state;

    bush_made_free(&bench->made);
    bench->bulletin->bushes[0].outlook = NULL;
    log_view_free(&bench->log);
    logbook_free(&bench->book);
    bulletin_free(bench->bulletin);
    store_close(bench->store);
    turn_models_free(bench->models);
    own_folder_remove(bench->folder);
    free(bench);
    return 0;
}

static void keep_in_store(struct bench *bench, struct civil_date from, int days,
                          double warmer_k)
{
    utc_s start = zone_day_start(bench->bulletin->zone, from);
    struct series *series = course(bench, start, days * 24, warmer_k);
    struct error err = {""};

    if (store_put_weather(bench->store, "tamarack-bend", "north", series,
                          start + (utc_s)days * SECONDS_PER_DAY, &err) != 0)
        fail_msg("%s", err.text);
    series_free(series);
}

static int days_apart(struct civil_date a, struct civil_date b)
{
    return (int)(civil_day_number(b) - civil_day_number(a));
}

/* On 5 March 92 days reach past New Year: nothing is missing. On 25 April they
 * reach to 23 January: what the store lacks is told. */
static void what_is_missing_is_filled_and_told(void **state)
{
    struct bench *bench = *state;
    struct bulletin *bulletin = bench->bulletin;

    begin(bench, (struct civil_date){2026, 3, 5}, true);
    assert_int_equal(make(bench)->days_filled, 0);
    assert_int_equal(bulletin->notes.count, 0);
    begin(bench, (struct civil_date){2026, 4, 25}, true);
    /* 1 to 23 January: the 23rd is known from noon on only. */
    assert_int_equal(make(bench)->days_filled, 23);
    assert_int_equal(bulletin->notes.count, 1);
    assert_non_null(strstr(bulletin->notes.items[0], "23 days"));
    keep_in_store(bench, (struct civil_date){2026, 1, 1}, 23, 0);
    assert_int_equal(make(bench)->days_filled, 0);
    assert_int_equal(bulletin->notes.count, 0);
}

/* Warmth that lies further back than the tree is run over counts. */
static void warmth_of_the_store_counts(void **state)
{
    struct bench *bench = *state;
    struct civil_date plain, warm;

    begin(bench, (struct civil_date){2026, 6, 20}, true);
    plain = make(bench)->bud_break.p50;
    keep_in_store(bench, (struct civil_date){2026, 2, 20}, 27, 20);
    warm = make(bench)->bud_break.p50;
    if (days_apart(warm, plain) < 1)
        fail_msg("%d-%d against %d-%d", warm.month, warm.day, plain.month,
                 plain.day);
}

static int break_span_d(struct bench *bench)
{
    const struct season_date *date = &make(bench)->bud_break;

    assert_true(date->known);
    return days_apart(date->p10, date->p90);
}

/* Members that part make the date uncertain, and only from now on. */
static void members_widen_the_dates(void **state)
{
    struct bench *bench = *state;
    struct members *members;
    int alike, apart;

    begin(bench, (struct civil_date){2026, 4, 25}, true);
    alike = break_span_d(bench);
    members = bench->made.members;
    for (int row = 0; row < members->hours; row++) {
        members->air_temp_c[row] += 9;
        members->air_temp_c[members->hours + row] -= 9;
    }
    apart = break_span_d(bench);
    assert_true(apart > alike);
    /* The past is what it was. */
    for (int row = 0; row < TURN_HISTORY_DAYS * 24; row++)
        members->air_temp_c[row] += 30;
    assert_int_equal(break_span_d(bench), apart);
}

static void add_note(struct bench *bench, enum log_kind kind,
                     enum log_sign sign, struct civil_date date)
{
    struct log_record record = {.written = 1};

    log_uid_make(1, (uint64_t)bench->book.count + 1, record.uid);
    record.note.kind = kind;
    record.note.sign = sign;
    record.note.at = zone_instant(bench->bulletin->zone, date, 8, 0, 0);
    snprintf(record.note.bush, sizeof record.note.bush, "north");
    assert_true(logbook_add(&bench->book, &record));
    logbook_settle(&bench->book);
}

static void the_log_is_heard(void **state)
{
    struct bench *bench = *state;
    const struct bulletin_season *season;
    double before;

    begin(bench, (struct civil_date){2026, 4, 6}, true);
    before = make(bench)->days[TURN_DAYS_BACK].off_flavour;
    add_note(bench, LOG_OFF_FLAVOUR, LOG_SIGN_OFF_TASTE,
             (struct civil_date){2026, 4, 5});
    begin(bench, (struct civil_date){2026, 4, 6}, true);
    season = make(bench);
    assert_true(season->days[TURN_DAYS_BACK].off_flavour > before + 0.2);
    assert_int_equal(season->pulled.year, 0);
    add_note(bench, LOG_PULLED, LOG_SIGN_NONE, (struct civil_date){2026, 4, 6});
    begin(bench, (struct civil_date){2026, 4, 6}, true);
    season = make(bench);
    assert_int_equal(season->pulled.day, 6);
    assert_int_equal(season->days[TURN_DAYS_BACK].stage, SEASON_OVER);
    assert_int_not_equal(season->days[TURN_DAYS_BACK - 1].stage, SEASON_OVER);
    assert_int_equal(season->pull_from.year, 0);
    assert_int_equal(bench->bulletin->action_count, 0);
}

/* The tree's own reckoning of the hole holds. */
static void the_taphole_is_the_trees(void **state)
{
    struct bench *bench = *state;
    const struct bulletin_season *season;

    begin(bench, (struct civil_date){2026, 3, 20}, true);
    season = make(bench);
    assert_true(season->has_taphole);
    /* Yesterday's 0.7, aged by one day. */
    assert_true(season->taphole <= 0.7 && season->taphole > 0.6);
    begin(bench, (struct civil_date){2026, 3, 20}, false);
    assert_false(make(bench)->has_taphole);
}

static const struct bulletin_action *only_action(const struct bench *bench)
{
    assert_int_equal(bench->bulletin->action_count, 1);
    return &bench->bulletin->actions[0];
}

static void retap(struct bench *bench, struct civil_date from)
{
    bench->bulletin->bushes[0].season->tap_from = from;
    bench->bulletin->action_count = 0;
    make_season_actions(&bench->config, bench->store, bench->bulletin);
}

static void tapping_is_told_once_and_stays(void **state)
{
    struct bench *bench = *state;
    struct civil_date today = {2026, 2, 10};

    begin(bench, today, false);
    assert_int_not_equal(make(bench)->tap_from.year, 0);
    retap(bench, civil_date_add(today, SEASON_TOLD_AHEAD_DAYS + 1));
    assert_int_equal(bench->bulletin->action_count, 0);
    retap(bench, civil_date_add(today, 5));
    assert_int_equal(only_action(bench)->kind, ACTION_TAP);
    assert_true(only_action(bench)->all_day);
    assert_int_equal(days_apart(today, only_action(bench)->date), 5);
    /* A small move of the season moves nothing. */
    retap(bench, civil_date_add(today, 5 + SEASON_STEADY_DAYS));
    assert_int_equal(days_apart(today, only_action(bench)->date), 5);
    retap(bench, civil_date_add(today, 6 + SEASON_STEADY_DAYS));
    assert_int_equal(days_apart(today, only_action(bench)->date), 9);
    /* Never told in the past. */
    retap(bench, civil_date_add(today, -20));
    assert_int_equal(days_apart(today, only_action(bench)->date), 0);
    bench->bulletin->bushes[0].season->tapped = today;
    retap(bench, civil_date_add(today, 5));
    assert_int_equal(bench->bulletin->action_count, 0);
}

/* A run that is likely, so many days from today. */
static void run_in(struct bench *bench, int days, double chance)
{
    struct outlook_day *day = &bench->made.outlook->days[TURN_DAYS_BACK + days];

    day->strength = STRENGTH_FAIR_RUN;
    day->chance = chance;
}

static struct civil_date today_of(const struct bench *bench)
{
    return bulletin_date(bench->bulletin, bench->bulletin->made);
}

/* Begins so many days, about, before the day from which the season's weather
 * alone makes tapping pay, and says how many it is. */
static int begin_before(struct bench *bench, int days)
{
    struct civil_date from;

    begin(bench, (struct civil_date){2026, 2, 20}, false);
    from = make(bench)->tap_from;
    begin(bench, civil_date_add(from, -days), false);
    return days_apart(today_of(bench), make(bench)->tap_from);
}

static void expect_tap(struct bench *bench, int days)
{
    const struct bulletin_season *season = make(bench);

    assert_int_equal(days_apart(today_of(bench), season->tap_from), days);
    assert_int_equal(only_action(bench)->kind, ACTION_TAP);
    assert_int_equal(days_apart(today_of(bench), only_action(bench)->date),
                     days);
}

/* Tapped by the day before the first run in sight, or today. */
static void a_run_in_sight_goes_before_the_climate(void **state)
{
    struct bench *bench = *state;
    int days = begin_before(bench, SEASON_TOLD_AHEAD_DAYS + 5);
    const struct bulletin_season *season;

    assert_true(days > SEASON_TOLD_AHEAD_DAYS);
    run_in(bench, 2, 0.4);
    assert_int_equal(days_apart(today_of(bench), make(bench)->tap_from), days);
    assert_int_equal(bench->bulletin->action_count, 0);
    run_in(bench, 5, 0.9);
    expect_tap(bench, 4);
    season = bench->bulletin->bushes[0].season;
    assert_int_equal(season->days[TURN_DAYS_BACK + 3].stage, SEASON_DORMANT);
    assert_int_equal(season->days[TURN_DAYS_BACK + 4].stage, SEASON_EARLY);
    run_in(bench, 1, 0.9);
    expect_tap(bench, 0);
    run_in(bench, 0, 0.9);
    expect_tap(bench, 0);
}

/* A thaw long before the season calls for nothing, nor does a run after the
 * day of tapping move that. */
static void runs_far_from_the_season_move_nothing(void **state)
{
    struct bench *bench = *state;
    int days = begin_before(bench, SEASON_EARLY_DAYS + 6);

    assert_true(days > SEASON_EARLY_DAYS + 1);
    run_in(bench, 2, 0.9);
    assert_int_equal(days_apart(today_of(bench), make(bench)->tap_from), days);
    assert_int_equal(bench->bulletin->action_count, 0);
    days = begin_before(bench, 4);
    run_in(bench, days + 2, 0.9);
    expect_tap(bench, days);
}

/* A told day stays only while it stands before the first run. */
static void no_told_day_stands_after_the_first_run(void **state)
{
    struct bench *bench = *state;
    int days = begin_before(bench, 7);
    struct civil_date told;

    expect_tap(bench, days);
    run_in(bench, days - 1, 0.9);
    expect_tap(bench, days - 2);
    told = only_action(bench)->date;
    /* Its day gone by, it is told again where a run is at hand, not daily. */
    begin(bench, civil_date_add(told, 1), false);
    run_in(bench, 0, 0.9);
    make(bench);
    assert_int_equal(bench->bulletin->action_count, 0);
    begin(bench, civil_date_add(told, SEASON_STEADY_DAYS + 1), false);
    make(bench);
    assert_int_equal(bench->bulletin->action_count, 0);
    run_in(bench, 1, 0.9);
    make(bench);
    assert_int_equal(days_apart(told, only_action(bench)->date),
                     SEASON_STEADY_DAYS + 1);
    assert_non_null(strstr(only_action(bench)->unless, "note tapped"));
}

/* Once it is time to pull, nobody is told to tap. */
static void nobody_taps_into_the_buds(void **state)
{
    struct bench *bench = *state;

    begin(bench, (struct civil_date){2026, 4, 28}, false);
    run_in(bench, 1, 0.9);
    assert_true(make(bench)->pull_from.year != 0);
    assert_int_equal(bench->bulletin->action_count, 0);
}

static void retell(struct bench *bench, struct civil_date from, int days)
{
    struct bulletin_season *season = bench->bulletin->bushes[0].season;

    season->pull_from = from;
    season->pull_by = civil_date_add(from, days);
    bench->bulletin->action_count = 0;
    make_season_actions(&bench->config, bench->store, bench->bulletin);
}

static void pulling_stays_within_its_days(void **state)
{
    struct bench *bench = *state;
    struct civil_date today = {2026, 4, 10};

    begin(bench, today, true);
    assert_non_null(make(bench));
    retell(bench, civil_date_add(today, 4), 6);
    assert_int_equal(only_action(bench)->kind, ACTION_PULL);
    assert_int_equal(days_apart(today, only_action(bench)->date), 7);
    assert_non_null(strstr(only_action(bench)->reason, "off-flavour"));
    retell(bench, civil_date_add(today, 7), 6);
    assert_int_equal(days_apart(today, only_action(bench)->date), 7);
    retell(bench, civil_date_add(today, 8), 2);
    assert_int_equal(days_apart(today, only_action(bench)->date), 9);
    /* Its day gone by, it is told no more, till the season has moved on. */
    bench->bulletin->made += 12 * SECONDS_PER_DAY;
    retell(bench, civil_date_add(today, 9), 9);
    assert_int_equal(bench->bulletin->action_count, 0);
    retell(bench, civil_date_add(today, 14), 4);
    assert_int_equal(bench->bulletin->action_count, 0);
    retell(bench, civil_date_add(today, 16), 4);
    assert_int_equal(days_apart(today, only_action(bench)->date), 18);
    /* Far off, or spent holes. */
    retell(bench, civil_date_add(today, 23), 4);
    assert_int_equal(bench->bulletin->action_count, 0);
    bench->bulletin->bushes[0].season->taphole_spent = today;
    retell(bench, civil_date_add(today, 17), 4);
    assert_non_null(strstr(only_action(bench)->reason, "worn out"));
}

static void there_is_none_in_autumn(void **state)
{
    struct bench *bench = *state;

    begin(bench, (struct civil_date){2026, 9, 15}, false);
    assert_null(make(bench));
    begin(bench, (struct civil_date){2026, 11, 1}, false);
    assert_int_equal(make(bench)->year, 2027);
}

#define ROW(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(what_is_missing_is_filled_and_told),
        ROW(warmth_of_the_store_counts),
        ROW(members_widen_the_dates),
        ROW(the_log_is_heard),
        ROW(the_taphole_is_the_trees),
        ROW(tapping_is_told_once_and_stays),
        ROW(a_run_in_sight_goes_before_the_climate),
        ROW(runs_far_from_the_season_move_nothing),
        ROW(no_told_day_stands_after_the_first_run),
        ROW(nobody_taps_into_the_buds),
        ROW(pulling_stays_within_its_days),
        ROW(there_is_none_in_autumn),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
