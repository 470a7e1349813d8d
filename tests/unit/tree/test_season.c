/* The season put together: risk, tapping, stages, pulling, what is ahead. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "tree/season_private.h"

static const double NORTH = 44.0, HIGH_M = 300.0;

/* An invented spring at the climate of the place, warmer by shift_k, with a
 * wave of nine days through it so that frosts and thaws alternate. */
struct spring {
    struct season_model model;
    struct season_climate climate;
    struct season_site site;
    struct season_weather *weather; /* owned */
};

static void spring_make(struct spring *out, double shift_k, int known)
{
    struct error err;

    *out = (struct spring){0};
    if (season_model_load(PROJECT_DIR "/models", SPECIES_SUGAR_MAPLE,
                          &out->model, &err)) {
        fail_msg("%s", err.text);
    }
    out->site.latitude = NORTH;
    out->site.elevation_m = HIGH_M;
    season_climate_at(&out->model.general, NORTH, HIGH_M, &out->climate);
    out->weather = mem_alloc(1, sizeof *out->weather);
    out->weather->year = 2025;
    out->weather->days = 273;
    out->weather->known = known;
    for (int day = 0; day < 273; day++) {
        int on = season_year_day(2025, day);
        double wave_k = 3.0 * sin(2.0 * acos(-1.0) * day / 9.0) + shift_k;

        out->weather->min_c[day] = out->climate.min_c[on] + wave_k;
        out->weather->max_c[day] = out->climate.max_c[on] + wave_k;
    }
    season_make_hours(out->weather, 0);
}

static struct season *spring_season(const struct spring *spring, uint64_t seed)
{
    const struct season_weather *one = spring->weather;
    struct civil_date now = civil_date_from_day_number(
        season_first_day(2025) + spring->weather->known - 1);

    return season_make(&spring->model, &spring->site, &spring->climate, &one, 1,
                       now, 40, seed);
}

static void spring_free(struct spring *spring)
{
    free(spring->weather);
}

static int64_t width_d(const struct season_date *date)
{
    return civil_day_number(date->p90) - civil_day_number(date->p10);
}

static void dates_stand_in_their_order(void **state)
{
    struct spring spring;
    struct season *season;

    (void)state;
    spring_make(&spring, 0.0, 273);
    season = spring_season(&spring, 1);
    assert_true(season->swell.known && season->bud_break.known);
    assert_true(civil_date_compare(season->swell.p50, season->bud_break.p50) <
                0);
    assert_true(season->has_tap_from && season->has_pull);
    assert_true(civil_date_compare(season->tap_from, season->pull_from) < 0);
    assert_true(civil_date_compare(season->pull_from, season->pull_by) <= 0);
    assert_true(season->spell_count > 0);
    season_free(season);
    spring_free(&spring);
}

/* Warmer by a kelvin: buds never later, here at least two days earlier
 * (about 3 to 4 days a kelvin in any thermal time of spring). */
static void warmth_brings_the_buds_on(void **state)
{
    int64_t before = INT64_MAX;

    (void)state;
    for (int k = -3; k <= 3; k++) {
        struct spring spring;
        struct season *season;
        int64_t day;

        spring_make(&spring, k, 273);
        season = spring_season(&spring, 1);
        day = civil_day_number(season->bud_break.p50);
        assert_true(day <= before - 2);
        before = day;
        season_free(season);
        spring_free(&spring);
    }
}

static bool same_date(const struct season_date *a, const struct season_date *b)
{
    return a->known == b->known && civil_date_compare(a->p10, b->p10) == 0 &&
           civil_date_compare(a->p50, b->p50) == 0 &&
           civil_date_compare(a->p90, b->p90) == 0;
}

/* Value by value: between them lies what nobody has set. */
static bool same_season(const struct season *a, const struct season *b)
{
    for (int day = 0; day < a->day_count; day++)
        if (a->days[day].stage != b->days[day].stage ||
            a->days[day].off_flavour != b->days[day].off_flavour)
            return false;
    return same_date(&a->swell, &b->swell) &&
           same_date(&a->bud_break, &b->bud_break) &&
           civil_date_compare(a->pull_by, b->pull_by) == 0 &&
           a->chance_of_more == b->chance_of_more &&
           a->spell_count == b->spell_count && a->day_count == b->day_count;
}

/* Middle of March: 45 days of weather are still to come. The date is told,
 * wider; the same seed gives the same season, value by value. */
static void what_is_ahead_widens_the_dates(void **state)
{
    struct spring whole, cut;
    struct season *known, *ahead, *again, *other;

    (void)state;
    spring_make(&whole, 0.0, 273);
    spring_make(&cut, 0.0, 135);
    known = spring_season(&whole, 7);
    ahead = spring_season(&cut, 7);
    again = spring_season(&cut, 7);
    other = spring_season(&cut, 8);
    assert_true(ahead->bud_break.known);
    assert_true(width_d(&ahead->bud_break) > width_d(&known->bud_break) + 3);
    assert_true(llabs(civil_day_number(ahead->bud_break.p50) -
                      civil_day_number(known->bud_break.p50)) < 8);
    assert_true(same_season(ahead, again));
    assert_false(same_season(ahead, other));
    assert_false(ahead->days[135].known);
    assert_true(ahead->days[134].known);
    season_free(known);
    season_free(ahead);
    season_free(again);
    season_free(other);
    spring_free(&whole);
    spring_free(&cut);
}

/* A member keeps the known days and differs after them. */
static void members_differ_only_ahead(void **state)
{
    struct spring spring;
    struct season_weather *a = mem_alloc(1, sizeof *a);
    struct season_weather *b = mem_alloc(1, sizeof *b);

    (void)state;
    spring_make(&spring, 0.0, 135);
    season_weather_member(spring.weather, &spring.model.general,
                          &spring.climate, 1, 0, a);
    season_weather_member(spring.weather, &spring.model.general,
                          &spring.climate, 1, 1, b);
    assert_memory_equal(a->min_c, spring.weather->min_c,
                        135 * sizeof a->min_c[0]);
    assert_memory_equal(a->temp_c, spring.weather->temp_c,
                        135 * sizeof a->temp_c[0]);
    assert_true(fabs(a->min_c[140] - b->min_c[140]) > 1e-6);
    free(a);
    free(b);
    spring_free(&spring);
}

/* The day's mean or range as it departs from the climate. */
static double departure_k(const struct spring *spring,
                          const struct season_weather *member, int day,
                          bool range)
{
    int on = season_year_day(2025, day);
    double low_k = member->min_c[day] - spring->climate.min_c[on];
    double high_k = member->max_c[day] - spring->climate.max_c[on];

    return range ? high_k - low_k : 0.5 * (low_k + high_k);
}

static void check_spread(const struct spring *spring, bool range, double sd_k,
                         double memory)
{
    struct season_weather *member = mem_alloc(1, sizeof *member);
    double squares = 0.0, products = 0.0;
    int count = 0;

    for (int i = 0; i < 100; i++) {
        season_weather_member(spring->weather, &spring->model.general,
                              &spring->climate, 99, i, member);
        for (int day = 100; day < 180; day++, count++) {
            double k = departure_k(spring, member, day, range);

            squares += k * k;
            products += k * departure_k(spring, member, day + 1, range);
        }
    }
    assert_near(sqrt(squares / count), sd_k, 0.3);
    assert_near(products / squares, memory, 0.05);
    free(member);
}

/* Over many members the departures have the spread and the memory that the
 * model file states; a range is never below nothing, which trims it. */
static void members_have_the_stated_spread(void **state)
{
    struct spring spring;
    const struct season_general *general = &spring.model.general;

    (void)state;
    spring_make(&spring, 0.0, 61);
    check_spread(&spring, false, general->anomaly_sd_k,
                 general->anomaly_memory);
    check_spread(&spring, true, general->range_sd_k, general->range_memory);
    spring_free(&spring);
}

static double risk_on(const struct season *season, struct civil_date date)
{
    return season->days[civil_day_number(date) - season->first_day].off_flavour;
}

static void risk_rises_from_swelling_on(void **state)
{
    struct spring spring;
    struct season *season;

    (void)state;
    spring_make(&spring, 0.0, 273);
    season = spring_season(&spring, 1);
    assert_true(season->days[100].off_flavour < 0.05);
    assert_true(risk_on(season, season->swell.p50) > 0.1);
    assert_true(risk_on(season, season->bud_break.p50) > 0.9);
    assert_true(risk_on(season, civil_date_add(season->swell.p90, 3)) >
                risk_on(season, season->swell.p10));
    season_free(season);
    spring_free(&spring);
}

/* Eight nights without frost in early March, then a frost. */
static void nights_without_frost_raise_the_risk(void **state)
{
    struct spring plain, warm;
    struct season *a, *b;

    (void)state;
    spring_make(&plain, 0.0, 273);
    spring_make(&warm, 0.0, 273);
    for (int day = 124; day < 132; day++) {
        warm.weather->min_c[day] = 1.0;
        warm.weather->max_c[day] = 5.0;
    }
    warm.weather->min_c[132] = -6.0;
    season_make_hours(warm.weather, 0);
    a = spring_season(&plain, 1);
    b = spring_season(&warm, 1);
    assert_true(b->days[131].off_flavour > a->days[131].off_flavour + 0.2);
    assert_true(b->days[132].off_flavour < 0.6 * b->days[131].off_flavour);
    season_free(a);
    season_free(b);
    spring_free(&plain);
    spring_free(&warm);
}

static double risk_with_note(enum season_note_kind kind, int day_after)
{
    struct spring spring;
    struct season_note note = {{2025, 4, 4}, kind};
    struct season *season;
    double risk;

    spring_make(&spring, 0.0, 273);
    spring.site.notes = &note;
    spring.site.note_count = 1;
    season = spring_season(&spring, 1);
    risk = risk_on(season, civil_date_add(note.date, day_after));
    season_free(season);
    spring_free(&spring);
    return risk;
}

static void the_log_moves_the_risk(void **state)
{
    struct spring spring;
    struct season *season;
    double plain, before;

    (void)state;
    spring_make(&spring, 0.0, 273);
    season = spring_season(&spring, 1);
    plain = risk_on(season, (struct civil_date){2025, 4, 4});
    before = risk_on(season, (struct civil_date){2025, 4, 3});
    season_free(season);
    spring_free(&spring);
    assert_true(risk_with_note(SEASON_NOTE_OFF_TASTE, 0) >
                risk_with_note(SEASON_NOTE_MILKY, 0));
    assert_true(risk_with_note(SEASON_NOTE_MILKY, 0) >
                risk_with_note(SEASON_NOTE_DARK, 0));
    assert_true(risk_with_note(SEASON_NOTE_DARK, 0) > plain);
    assert_true(risk_with_note(SEASON_NOTE_CLEAN, 0) <= plain);
    assert_near(risk_with_note(SEASON_NOTE_OFF_TASTE, -1), before, 1e-12);
}

static void stages_come_one_after_another(void **state)
{
    struct spring spring;
    struct season *season;
    bool seen[SEASON_STAGE_COUNT] = {false};

    (void)state;
    spring_make(&spring, 0.0, 273);
    season = spring_season(&spring, 1);
    for (int day = 0; day < season->day_count; day++) {
        seen[season->days[day].stage] = true;
    }
    for (int stage = 0; stage < SEASON_STAGE_COUNT; stage++) {
        if (stage != SEASON_BUDDING) { /* a spent hole may come first */
            assert_true(seen[stage]);
        }
    }
    assert_int_equal(season->days[0].stage, SEASON_DORMANT);
    assert_int_equal(season->days[272].stage, SEASON_OVER);
    assert_string_equal(season_stage_word(SEASON_LATE), "late");
    season_free(season);
    spring_free(&spring);
}

/* 4 C and more wears the hole; what the operator knows of it replaces what
 * the season reckons. */
static void a_spent_taphole_ends_the_season(void **state)
{
    struct spring spring;
    struct season *fresh, *told;

    (void)state;
    spring_make(&spring, 0.0, 273);
    spring.site.tapped = true;
    spring.site.tapped_on = (struct civil_date){2025, 2, 20};
    fresh = spring_season(&spring, 1);
    spring.site.has_taphole = true;
    spring.site.taphole_on = (struct civil_date){2025, 3, 20};
    spring.site.taphole_left = 0.1;
    told = spring_season(&spring, 1);
    assert_true(fresh->days[100].taphole == 1.0); /* before tapping */
    assert_true(fresh->days[200].taphole < fresh->days[150].taphole);
    assert_true(told->has_taphole_end);
    assert_int_equal(
        civil_date_compare(told->taphole_end, spring.site.taphole_on), 0);
    assert_true(civil_date_compare(told->pull_from, fresh->pull_from) < 0);
    season_free(fresh);
    season_free(told);
    spring_free(&spring);
}

static struct season *season_told_on(struct spring *spring, int now)
{
    const struct season_weather *one = spring->weather;

    return season_make(&spring->model, &spring->site, &spring->climate, &one, 1,
                       civil_date_from_day_number(season_first_day(2025) + now),
                       40, 3);
}

/* The forecast holds a run each time. In the middle of March others follow in
 * nearly every member; in the last days before the hole is spent and the sap
 * off, none. A run that is over is no longer ahead. */
static void the_last_good_run_is_flagged_while_ahead(void **state)
{
    struct spring early, late;
    struct season *a, *b, *c;

    (void)state;
    spring_make(&early, 0.0, 140);
    spring_make(&late, 0.0, 178);
    a = season_told_on(&early, 130);
    b = season_told_on(&late, 150);
    c = season_told_on(&late, 177);
    assert_true(a->chance_of_more > 0.9);
    assert_false(a->has_last_good_run);
    assert_true(b->chance_of_more < 0.5);
    assert_true(b->has_last_good_run);
    assert_false(c->has_last_good_run);
    season_free(a);
    season_free(b);
    season_free(c);
    spring_free(&early);
    spring_free(&late);
}

/* Two equally likely weathers give a date between and wider than either. */
static void an_ensemble_is_a_mixture(void **state)
{
    struct spring cold, warm;
    const struct season_weather *both[2];
    struct season *season, *a, *b;

    (void)state;
    spring_make(&cold, -1.5, 273);
    spring_make(&warm, 1.5, 273);
    both[0] = cold.weather;
    both[1] = warm.weather;
    a = spring_season(&cold, 1);
    b = spring_season(&warm, 1);
    season = season_make(&cold.model, &cold.site, &cold.climate, both, 2,
                         (struct civil_date){2025, 7, 31}, 40, 1);
    assert_true(civil_date_compare(season->bud_break.p50, a->bud_break.p50) <
                0);
    assert_true(civil_date_compare(season->bud_break.p50, b->bud_break.p50) >
                0);
    assert_true(width_d(&season->bud_break) > width_d(&a->bud_break) + 4);
    season_free(a);
    season_free(b);
    season_free(season);
    spring_free(&cold);
    spring_free(&warm);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dates_stand_in_their_order),
        cmocka_unit_test(warmth_brings_the_buds_on),
        cmocka_unit_test(what_is_ahead_widens_the_dates),
        cmocka_unit_test(members_differ_only_ahead),
        cmocka_unit_test(members_have_the_stated_spread),
        cmocka_unit_test(risk_rises_from_swelling_on),
        cmocka_unit_test(nights_without_frost_raise_the_risk),
        cmocka_unit_test(the_log_moves_the_risk),
        cmocka_unit_test(stages_come_one_after_another),
        cmocka_unit_test(a_spent_taphole_ends_the_season),
        cmocka_unit_test(the_last_good_run_is_flagged_while_ahead),
        cmocka_unit_test(an_ensemble_is_a_mixture),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
