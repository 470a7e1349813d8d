/* The turn of the crank on the demo's invented answers, and what it does when
 * they go wrong. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "publish/calendar.h"
#include "turn/bush_outlook.h"
#include "turn_bench.h"

#define NOW DEMO_NOW
#define HOUR 3600

static int set_up(void **state)
{
    struct turn_bench *bench = turn_bench_by_hand("turn");

    demo_use(bench->config, "nws");
    demo_use(bench->config, "metno");
    demo_use(bench->config, "open-meteo");
    *state = bench;
    return 0;
}

/* A turn that must succeed; the caller frees the bulletin. */
static struct bulletin *good_turn(struct turn_bench *bench, utc_s now,
                                  int *published)
{
    struct turn_result result;
    struct bulletin *bulletin = turn_bench_good(bench, now, &result);

    *published = result.published;
    assert_true(result.next > now && result.next <= now + HOUR);
    turn_result_free(&result);
    return bulletin;
}

static struct bulletin_source *find_source(struct bulletin *bulletin,
                                           const char *name)
{
    for (int i = 0; i < bulletin->source_count; i++)
        if (strcmp(bulletin->sources[i].name, name) == 0)
            return &bulletin->sources[i];
    fail_msg("no source %s in the bulletin", name);
    return NULL;
}

static void use_body(struct turn_bench *bench, const char *url_part, char *body,
                     int status)
{
    for (int i = 0; i < bench->script.row_count; i++)
        if (strcmp(bench->script.rows[i].url_part, url_part) == 0) {
            bench->script.rows[i].body = body;
            bench->script.rows[i].status = status;
        }
}

static void use_body_everywhere(struct turn_bench *bench, char *body)
{
    for (int i = 0; i < bench->script.row_count; i++)
        bench->script.rows[i].body = body;
}

/* The scenario: cold on the 3rd, a big thaw on the 7th, no frost on the 10th
 * (fixtures/make_tamarack_bend.py, invented). */
static void test_demo_days(void **state)
{
    struct turn_bench *bench = *state;
    int files;
    struct bulletin *bulletin = good_turn(bench, NOW, &files);
    const struct bulletin_day *big =
        bulletin_day(bulletin, (struct civil_date){2026, 3, 7});
    const struct bulletin_day *cold =
        bulletin_day(bulletin, (struct civil_date){2026, 3, 3});
    char *ics = turn_bench_read(bench, "calendar.ics");
    struct error err = {""};

    assert_int_equal(files, 3);
    assert_non_null(big);
    assert_true(big->known && big->sap_l_p50 > 140 * 0.4);
    assert_true(big->chance > 0.9);
    assert_true(cold == NULL || cold->sap_l_p50 < 140 * 0.1);
    assert_true(bulletin->day_count >= 10);
    assert_non_null(bulletin->bushes[0].season);
    assert_int_equal(bulletin->bushes[0].season->tapped.day, 1);
    for (int i = 0; i < bulletin->source_count; i++)
        assert_string_equal(bulletin->sources[i].trouble, "");
    if (calendar_check(ics, strlen(ics), &err) != 0)
        fail_msg("%s", err.text);
    free(ics);
    bulletin_free(bulletin);
}

/* The page and the mail tell what the shell reads in the file. */
static void test_figures_are_those_of_the_file(void **state)
{
    struct turn_bench *bench = *state;
    int files;
    struct bulletin *bulletin = good_turn(bench, NOW, &files), *file;
    char *json = turn_bench_read(bench, "bulletin.json");
    struct error err = {""};

    if (bulletin_from_json(json, strlen(json), &file, &err) != 0)
        fail_msg("%s", err.text);
    assert_int_equal(file->day_count, bulletin->day_count);
    for (int i = 0; i < file->day_count; i++) {
        assert_false(file->days[i].max_c < bulletin->days[i].max_c ||
                     file->days[i].max_c > bulletin->days[i].max_c);
        assert_false(file->days[i].sap_l_p50 < bulletin->days[i].sap_l_p50 ||
                     file->days[i].sap_l_p50 > bulletin->days[i].sap_l_p50);
    }
    free(json);
    bulletin_free(file);
    bulletin_free(bulletin);
}

static void test_nothing_changed_same_bytes(void **state)
{
    struct turn_bench *bench = *state;
    int files;
    char *before[2], *after[2];

    bulletin_free(good_turn(bench, NOW, &files));
    before[0] = turn_bench_read(bench, "bulletin.json");
    before[1] = turn_bench_read(bench, "calendar.ics");
    bulletin_free(good_turn(bench, NOW, &files));
    assert_int_equal(files, 0);
    after[0] = turn_bench_read(bench, "bulletin.json");
    after[1] = turn_bench_read(bench, "calendar.ics");
    for (int i = 0; i < 2; i++) {
        assert_string_equal(before[i], after[i]);
        free(before[i]);
        free(after[i]);
    }
}

/* An hour on, with the same answers: the calendar's bytes stay. */
static void test_calendar_stays_while_plan_does(void **state)
{
    struct turn_bench *bench = *state;
    char *before, *after;
    int files;

    bulletin_free(good_turn(bench, NOW, &files));
    before = turn_bench_read(bench, "calendar.ics");
    bulletin_free(good_turn(bench, NOW + 60, &files));
    after = turn_bench_read(bench, "calendar.ics");
    assert_string_equal(before, after);
    free(before);
    free(after);
}

static void test_garbage_keeps_the_held(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *bulletin;
    int files;

    bulletin_free(good_turn(bench, NOW, &files));
    use_body_everywhere(bench, (char *)"<html>Log in to the hotel</html>");
    bulletin = good_turn(bench, NOW + HOUR, &files);
    for (int i = 0; i < bulletin->source_count; i++) {
        assert_true(bulletin->sources[i].in_use);
        assert_int_equal(bulletin->sources[i].fetched, NOW);
    }
    assert_int_equal(bulletin->weather_from, NOW);
    assert_true(bench->script.bad >= 4);
    assert_non_null(strstr(find_source(bulletin, "metno")->trouble, "metno"));
    assert_int_equal(find_source(bulletin, "metno")->trouble_since, NOW + HOUR);
    bulletin_free(bulletin);
    /* Still wrong two hours later: since when is remembered … */
    bulletin = good_turn(bench, NOW + 3 * HOUR, &files);
    assert_int_equal(find_source(bulletin, "metno")->trouble_since, NOW + HOUR);
    bulletin_free(bulletin);
    /* … and forgotten once it is well. */
    for (int i = 0; i < TURN_BENCH_ANSWERS; i++)
        bench->script.rows[i].body = bench->answers[i];
    bulletin = good_turn(bench, NOW + 4 * HOUR, &files);
    assert_int_equal(find_source(bulletin, "metno")->trouble_since, 0);
    assert_string_equal(find_source(bulletin, "metno")->trouble, "");
    bulletin_free(bulletin);
}

static void test_nothing_from_the_start(void **state)
{
    struct turn_bench *bench = *state;
    char *path = file_join(bench->published, "bulletin.json");
    struct turn_result result;
    struct error err;

    use_body_everywhere(bench, NULL);
    assert_int_equal(turn_bench_turn(bench, NOW, &result, NULL, &err), -1);
    assert_non_null(strstr(err.text, "nothing is published yet"));
    assert_true(result.no_forecast);
    assert_false(result.fresh);
    assert_true(result.troubles.count > 0);
    assert_non_null(strstr(result.troubles.items[0], "example.org"));
    assert_false(file_exists(path));
    turn_result_free(&result);
    free(path);
}

static void test_lost_cache_keeps_last_bulletin(void **state)
{
    struct turn_bench *bench = *state;
    struct turn_result result;
    struct error err;
    char *before, *after;
    int files;

    bulletin_free(good_turn(bench, NOW, &files));
    before = turn_bench_read(bench, "bulletin.json");
    script_forget_held(&bench->script);
    use_body_everywhere(bench, NULL);
    assert_int_equal(turn_bench_turn(bench, NOW + HOUR, &result, NULL, &err),
                     -1);
    assert_non_null(strstr(err.text, "published before stays"));
    after = turn_bench_read(bench, "bulletin.json");
    assert_string_equal(before, after);
    turn_result_free(&result);
    free(before);
    free(after);
}

static void test_older_issue_refused(void **state)
{
    struct turn_bench *bench = *state;
    char *older = text_with(bench->answers[4], "2026-03-05T09:12:44Z",
                            "2026-03-05T03:12:44Z");
    struct bulletin *bulletin;
    int files;

    bulletin_free(good_turn(bench, NOW, &files));
    use_body(bench, "/locationforecast/", older, 200);
    bulletin = good_turn(bench, NOW + HOUR, &files);
    assert_non_null(strstr(find_source(bulletin, "metno")->trouble, "older"));
    assert_int_equal(find_source(bulletin, "metno")->fetched, NOW);
    assert_non_null(strstr(bench->script.reason, "older"));
    bulletin_free(bulletin);
    free(older);
}

/* The same answer, nine days later: it ends before tomorrow. */
static void test_short_horizon_refused(void **state)
{
    struct turn_bench *bench = *state;
    struct turn_result result;
    struct error err;

    assert_int_equal(
        turn_bench_turn(bench, NOW + 11 * 24 * HOUR, &result, NULL, &err), -1);
    assert_non_null(strstr(bench->script.reason, "tomorrow"));
    turn_result_free(&result);
}

/* Asked at the end of an hour, a service may answer in the next one. */
static void test_answers_may_begin_with_the_next_hour(void **state)
{
    struct turn_bench *bench = *state;
    utc_s first = NOW - NOW % HOUR; /* of the demo's answers */
    struct bulletin *bulletin;
    int published;

    bench->config->source_count = 0;
    demo_use(bench->config, "metno");
    bulletin = good_turn(bench, first - 1, &published);
    assert_int_equal(bulletin->bush_count, bench->config->bush_count);
    assert_true(published > 0);
    bulletin_free(bulletin);
}

static int times_asked(const struct script *script, const char *url_part,
                       bool renewed)
{
    int times = 0;

    for (int i = 0; i < script->asked_count; i++)
        if (strstr(script->asked[i], url_part) != NULL &&
            script->renewed[i] == renewed)
            times++;
    return times;
}

static void test_lost_grid_is_looked_up_anew(void **state)
{
    struct turn_bench *bench = *state;
    int files;

    bulletin_free(good_turn(bench, NOW, &files));
    assert_int_equal(times_asked(&bench->script, "/points/", true), 0);
    script_forget_asked(&bench->script);
    use_body(bench, "/gridpoints/", NULL, 404);
    bulletin_free(good_turn(bench, NOW + HOUR, &files));
    assert_int_equal(times_asked(&bench->script, "/points/", true), 1);
    assert_int_equal(times_asked(&bench->script, "/gridpoints/", false) +
                         times_asked(&bench->script, "/gridpoints/", true),
                     2);
}

static void test_one_place_is_asked_once(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *bulletin;
    int files;

    bench->config->bush_count = 2;
    bulletin = good_turn(bench, NOW, &files);
    assert_int_equal(bulletin->bush_count, bench->config->bush_count);
    assert_int_equal(times_asked(&bench->script, "/locationforecast/", false),
                     1);
    /* As told: a tap's to 0.001 L, the sum to 0.1 L. */
    assert_near(bulletin->days[4].sap_l_p50,
                280 * bulletin->bushes[0].outlook->days[4].sap_l_per_tap_p50,
                280 * 0.0005 + 0.05);
    bulletin_free(bulletin);
}

/* … and apart: the forecast's address stays, and with it what is held. */
static void test_past_is_asked_once(void **state)
{
    struct turn_bench *bench = *state;
    int files;

    bulletin_free(good_turn(bench, NOW, &files));
    assert_int_equal(times_asked(&bench->script, "past_days=92", false), 1);
    assert_int_equal(times_asked(&bench->script, "past_days=2&", false), 1);
}

/* Last year's date that nobody changed is no tapping of this year's. */
static void test_a_tapping_of_another_season_is_none(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *bulletin;
    int files;

    bench->bushes[0].tapped = (struct civil_date){2025, 3, 1};
    bulletin = good_turn(bench, NOW, &files);
    assert_int_equal(bulletin->bushes[0].season->tapped.year, 0);
    assert_int_not_equal(bulletin->bushes[0].season->tap_from.year, 0);
    bulletin_free(bulletin);
}

/* The spread of each day's volume, over the days to come. */
static double spread_l(const struct bulletin *bulletin)
{
    double sum = 0;

    for (int i = 0; i < bulletin->day_count; i++)
        sum += bulletin->days[i].sap_l_p90 - bulletin->days[i].sap_l_p10;
    return sum;
}

/* A service's ensemble where there is one (31 members in the demo's answer),
 * else members by error growth; each gives the same twice. */
static void test_members_of_a_service_come_first(void **state)
{
    struct turn_bench *bench = *state;
    double ensemble_l, grown_l;
    struct bulletin *bulletin;
    char *few;
    int files;

    bulletin = good_turn(bench, NOW, &files);
    assert_int_equal(bulletin->bushes[0].outlook->member_count, 31);
    ensemble_l = spread_l(bulletin);
    bulletin_free(bulletin);
    /* One member that the service sends no more: 30 are left. */
    few = text_with(bench->answers[0], "\"temperature_2m_member07\":[",
                    "\"soil_member07\":[");
    script_forget_held(&bench->script);
    use_body(bench, "/v1/ensemble", few, 200);
    bulletin = good_turn(bench, NOW, &files);
    assert_int_equal(bulletin->bushes[0].outlook->member_count, 30);
    bulletin_free(bulletin);
    script_forget_held(&bench->script);
    use_body(bench, "/v1/ensemble", NULL, 200);
    bulletin = good_turn(bench, NOW, &files);
    assert_int_equal(bulletin->bushes[0].outlook->member_count, TURN_MEMBERS);
    grown_l = spread_l(bulletin);
    bulletin_free(bulletin);
    assert_true(grown_l > 0 && ensemble_l > 0);
    assert_true(fabs(grown_l - ensemble_l) > 1);
    bulletin = good_turn(bench, NOW, &files);
    assert_near(spread_l(bulletin), grown_l, 0);
    bulletin_free(bulletin);
    free(few);
}

/* A file stands where the folder should: what was made is handed out, and said
 * not to be in place. */
static void test_what_cannot_be_written_is_handed_out(void **state)
{
    struct turn_bench *bench = *state;
    struct bulletin *bulletin = NULL;
    struct turn_result result;
    struct error err;

    assert_int_equal(file_write_whole(bench->published, "", 0, 0600, NULL), 0);
    assert_int_equal(turn_bench_turn(bench, NOW, &result, &bulletin, &err), -1);
    assert_non_null(strstr(err.text, bench->published));
    assert_true(result.unpublished && !result.in_place && !result.no_forecast);
    turn_result_free(&result);
    assert_non_null(bulletin);
    assert_true(bulletin->day_count >= 10);
    bulletin_free(bulletin);
}

static void test_station_comes_first(void **state)
{
    struct turn_bench *bench = *state;
    char *path = file_join(bench->folder, "bush.csv");
    static const char csv[] = "time,air_temp_c\n2026-03-05T11:00:00Z,-20.5\n";
    struct error err = {""};
    struct bulletin *bulletin;
    int files;

    assert_int_equal(file_write_whole(path, csv, sizeof csv - 1, 0644, &err),
                     0);
    bench->config->station = path;
    bulletin = good_turn(bench, NOW, &files);
    assert_near(bulletin_day(bulletin, (struct civil_date){2026, 3, 5})->min_c,
                -20.5, 0.001);
    bulletin_free(bulletin);
    bench->config->station = (char *)"/nowhere/bush.csv";
    bulletin = good_turn(bench, NOW + 60, &files);
    bulletin_free(bulletin);
    bench->config->station = NULL;
    free(path);
}

#define ROW(test)                                                              \
    cmocka_unit_test_setup_teardown(test, set_up, turn_bench_tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        ROW(test_demo_days),
        ROW(test_figures_are_those_of_the_file),
        ROW(test_nothing_changed_same_bytes),
        ROW(test_calendar_stays_while_plan_does),
        ROW(test_garbage_keeps_the_held),
        ROW(test_nothing_from_the_start),
        ROW(test_lost_cache_keeps_last_bulletin),
        ROW(test_older_issue_refused),
        ROW(test_short_horizon_refused),
        ROW(test_answers_may_begin_with_the_next_hour),
        ROW(test_lost_grid_is_looked_up_anew),
        ROW(test_one_place_is_asked_once),
        ROW(test_past_is_asked_once),
        ROW(test_a_tapping_of_another_season_is_none),
        ROW(test_members_of_a_service_come_first),
        ROW(test_what_cannot_be_written_is_handed_out),
        ROW(test_station_comes_first),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
