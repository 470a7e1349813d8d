/* A bulletin of the invented operation Tamarack Bend, made by hand: ten days
 * in March 2026 with a hard freeze, a big run, a warm spell without frost and
 * the change to summer time on the 8th. All figures are invented. */
#ifndef SUPPORT_FAKE_BULLETIN_H
#define SUPPORT_FAKE_BULLETIN_H

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "publish/bulletin.h"

/* Friday 6 March 2026, 18:10 in New York. */
#define FAKE_MADE ((utc_s)1772838600)

enum { FAKE_DAYS = 11 };

struct fake_day {
    int strength;
    double chance, p10, p50, p90; /* litres a tap */
    int from_h, to_h;             /* local; 0, 0: no window */
    double min_c, max_c;
};

/* 5 to 15 March. */
static const struct fake_day fake_days[FAKE_DAYS] = {
    {STRENGTH_NONE, 0.00, 0, 0, 0, 0, 0, -16, -3},
    {STRENGTH_NONE, 0.10, 0, 0, 0.3, 0, 0, -12, 1.2},
    {STRENGTH_GOOD_RUN, 0.87, 0.4, 2.5, 3.6, 10, 17, -7, 7.5},
    {STRENGTH_BIG_RUN, 0.97, 2.2, 4.9, 6.1, 9, 19, -5, 11},
    {STRENGTH_FAIR_RUN, 0.64, 0.1, 0.9, 2.2, 11, 16, -0.5, 12},
    {STRENGTH_WEEPING, 0.36, 0, 0.2, 1.1, 9, 12, 3, 14},
    {STRENGTH_NONE, 0.03, 0, 0, 0.2, 0, 0, 5, 16},
    {STRENGTH_NONE, 0.12, 0, 0.1, 0.5, 0, 0, 4, 12},
    {STRENGTH_FAIR_RUN, 0.55, 0, 0.6, 2.0, 10, 15, -3, 6},
    {STRENGTH_GOOD_RUN, 0.71, 0.1, 2.2, 3.9, 10, 17, -6, 8},
    {STRENGTH_NONE, 0.30, 0, 0.1, 1.8, 0, 0, -4, 9},
};

static inline double fake_air_c(const struct fake_day *day, int hour)
{
    /* Lowest at 6, highest at 15. */
    double span = day->max_c - day->min_c;

    if (hour >= 6 && hour < 15)
        return day->min_c + span * (hour - 6) / 9.0;
    return day->max_c - span * ((hour + 24 - 15) % 24) / 15.0;
}

static inline void fake_bush_day(const struct bulletin *bulletin, int index,
                                 double share, struct outlook_day *day)
{
    const struct fake_day *fake = &fake_days[index];
    utc_s noon;

    day->date = (struct civil_date){2026, 3, 5 + index};
    noon = bulletin_noon(bulletin, day->date);
    day->known = true;
    day->day_hours = index == 3 ? 23 : 24;
    day->known_hours = day->day_hours;
    day->sap_l_per_tap_p10 = fake->p10 * share;
    day->sap_l_per_tap_p50 = fake->p50 * share;
    day->sap_l_per_tap_p90 = fake->p90 * share;
    day->chance = fake->chance;
    day->strength = (enum strength)fake->strength;
    day->has_window = fake->to_h > 0;
    if (day->has_window) {
        day->run_start = noon + (fake->from_h - 12) * SECONDS_PER_HOUR;
        day->run_end = noon + (fake->to_h - 12) * SECONDS_PER_HOUR;
        day->run_peak = (day->run_start + day->run_end) / 2;
        day->run_peak -= day->run_peak % SECONDS_PER_HOUR;
        day->has_window_span = true;
        day->run_start_p10 = day->run_start - SECONDS_PER_HOUR;
        day->run_start_p90 = day->run_start + 2 * SECONDS_PER_HOUR;
        day->run_end_p10 = day->run_end - 3 * SECONDS_PER_HOUR;
        day->run_end_p90 = day->run_end + SECONDS_PER_HOUR;
    }
    day->min_c = fake->min_c;
    day->max_c = fake->max_c;
    day->mean_c = (fake->min_c + fake->max_c) / 2;
    day->freeze_degree_hours = fake->min_c < 0 ? -fake->min_c * 6 : 0;
    day->thaw_degree_hours = fake->max_c > 0 ? fake->max_c * 5 : 0;
    day->charge = 0.45;
    day->recharge = fake->min_c < 0 ? 0.35 : 0;
    day->branch_ice_max = fake->min_c < -2 ? 1 : 0;
    day->trunk_ice_max = fake->min_c < -4 ? 0.62 : 0;
    day->wood_min_c = fake->min_c / 2;
    day->wood_max_c = fake->max_c / 2;
    day->taphole = 0.92 - 0.02 * index;
    day->has_spread = true;
    day->source_spread_k = 1 + 0.2 * index;
    day->rule_a_l_per_tap = 1.0;
    day->rule_b_l_per_tap = 1.4;
    day->past = index == 0;
}

static inline struct outlook *fake_outlook(const struct bulletin *bulletin,
                                           double share)
{
    struct outlook *outlook = mem_alloc(1, sizeof *outlook);

    outlook->count = FAKE_DAYS;
    outlook->days = mem_alloc(FAKE_DAYS, sizeof *outlook->days);
    for (int i = 0; i < FAKE_DAYS; i++)
        fake_bush_day(bulletin, i, share, &outlook->days[i]);
    outlook->member_count = 31;
    outlook->start = bulletin_noon(bulletin, (struct civil_date){2026, 3, 5}) -
                     12 * SECONDS_PER_HOUR;
    outlook->hours = FAKE_DAYS * 24 - 1;
    outlook->sap_l_per_tap = mem_alloc((size_t)outlook->hours, sizeof(double));
    outlook->sap_l_per_tap_p10 =
        mem_alloc((size_t)outlook->hours, sizeof(double));
    outlook->sap_l_per_tap_p90 =
        mem_alloc((size_t)outlook->hours, sizeof(double));
    for (int hour = 0; hour < outlook->hours; hour++) {
        outlook->sap_l_per_tap[hour] = fmax(0, sin(hour / 4.0)) * 0.3;
        outlook->sap_l_per_tap_p10[hour] = outlook->sap_l_per_tap[hour] / 3;
        outlook->sap_l_per_tap_p90[hour] = outlook->sap_l_per_tap[hour] * 1.5;
    }
    outlook->air_temp_c_p10 = mem_alloc((size_t)outlook->hours, sizeof(double));
    outlook->air_temp_c_p90 = mem_alloc((size_t)outlook->hours, sizeof(double));
    snprintf(outlook->model_name, sizeof outlook->model_name, "two-node");
    snprintf(outlook->model_version, sizeof outlook->model_version, "1.0");
    snprintf(outlook->model_digest, sizeof outlook->model_digest, "%064d", 7);
    return outlook;
}

static inline void fake_weather(const struct bulletin *bulletin,
                                struct bulletin_bush *bush)
{
    const struct outlook *outlook = bush->outlook;

    bush->air_temp_c = mem_alloc((size_t)outlook->hours, sizeof(double));
    bush->air_known = mem_alloc((size_t)outlook->hours, sizeof(bool));
    for (int hour = 0; hour < outlook->hours; hour++) {
        struct civil_time civil = bulletin_civil(
            bulletin, outlook->start + (utc_s)hour * SECONDS_PER_HOUR);
        int day = civil.date.day - 5;

        /* After the highest hour the air falls to the next day's lowest. */
        struct fake_day fake = fake_days[day];
        if (civil.hour >= 15 && day + 1 < FAKE_DAYS)
            fake.min_c = fake_days[day + 1].min_c;
        if (civil.hour < 6 && day > 0)
            fake.max_c = fake_days[day - 1].max_c;
        bush->air_temp_c[hour] = fake_air_c(&fake, civil.hour);
        bush->air_known[hour] = true;
        outlook->air_temp_c_p10[hour] = bush->air_temp_c[hour] - hour / 60.0;
        outlook->air_temp_c_p90[hour] = bush->air_temp_c[hour] + hour / 60.0;
    }
}

static inline void fake_source(struct bulletin *bulletin)
{
    struct bulletin_source *source;

    bulletin->sources = mem_alloc(2, sizeof *bulletin->sources);
    bulletin->source_count = 2;
    source = &bulletin->sources[0];
    snprintf(source->name, sizeof source->name, "metno");
    snprintf(source->credit, sizeof source->credit, "Data from MET Norway");
    snprintf(source->credit_url, sizeof source->credit_url,
             "https://api.met.no/");
    source->in_use = true;
    source->issued = FAKE_MADE - 2 * SECONDS_PER_HOUR;
    source->fetched = FAKE_MADE - 1500;
    source = &bulletin->sources[1];
    snprintf(source->name, sizeof source->name, "nws");
    snprintf(source->credit, sizeof source->credit, "National Weather Service");
    snprintf(source->credit_url, sizeof source->credit_url,
             "https://www.weather.gov/");
}

/* The caller frees with bulletin_free. */
static inline struct bulletin *fake_bulletin(void)
{
    struct bulletin *bulletin = bulletin_new();
    struct error err;
    static const struct {
        const char *name;
        enum species species;
        enum gathering gathering;
        int taps;
        double share;
    } bushes[] = {
        {"north", SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS, 140, 1.0},
        {"brook", SPECIES_RED_MAPLE, GATHERING_GRAVITY_TUBING, 60, 0.8},
    };

    snprintf(bulletin->operation, sizeof bulletin->operation, "Tamarack Bend");
    snprintf(bulletin->slug, sizeof bulletin->slug, "tamarack-bend");
    snprintf(bulletin->zone_name, sizeof bulletin->zone_name,
             "America/New_York");
    snprintf(bulletin->language, sizeof bulletin->language, "en");
    bulletin->units = UNITS_US;
    bulletin->zone = zone_open(bulletin->zone_name, &err);
    if (bulletin->zone == NULL) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    bulletin->made = FAKE_MADE;
    bulletin->weather_from = FAKE_MADE - 1500;
    fake_source(bulletin);
    bulletin->bush_count = 2;
    bulletin->bushes = mem_alloc(2, sizeof *bulletin->bushes);
    for (int i = 0; i < 2; i++) {
        struct bulletin_bush *bush = &bulletin->bushes[i];

        snprintf(bush->name, sizeof bush->name, "%s", bushes[i].name);
        bush->species = bushes[i].species;
        bush->gathering = bushes[i].gathering;
        bush->taps = bushes[i].taps;
        bush->outlook = fake_outlook(bulletin, bushes[i].share);
        fake_weather(bulletin, bush);
    }
    bulletin_sum_days(bulletin);
    return bulletin;
}

/* A season for the bush, at its end: invented. */
static inline void fake_season(struct bulletin_bush *bush)
{
    struct bulletin_season *season = mem_alloc(1, sizeof *season);

    season->year = 2026;
    season->swell =
        (struct season_date){true, {2026, 3, 12}, {2026, 3, 17}, {2026, 3, 25}};
    season->bud_break =
        (struct season_date){true, {2026, 4, 1}, {2026, 4, 6}, {2026, 4, 11}};
    season->tapped = (struct civil_date){2026, 2, 20};
    season->tap_from = (struct civil_date){2026, 2, 18};
    season->pull_from = (struct civil_date){2026, 3, 15};
    season->pull_by = (struct civil_date){2026, 3, 19};
    season->last_run_first = (struct civil_date){2026, 3, 13};
    season->last_run_last = (struct civil_date){2026, 3, 14};
    season->chance_of_more = 0.25;
    season->has_taphole = true;
    season->taphole = 0.61;
    season->days_filled = 2;
    for (int i = 0; i < FAKE_DAYS; i++) {
        struct bulletin_season_day *day = &season->days[season->day_count++];

        day->date = (struct civil_date){2026, 3, 5 + i};
        day->off_flavour = 0.04 * i;
        day->stage = i < 8 ? SEASON_LATE : SEASON_BUDDING;
    }
    snprintf(season->model_name, sizeof season->model_name, "buds");
    snprintf(season->model_version, sizeof season->model_version, "1/1");
    snprintf(season->model_digest, sizeof season->model_digest, "%064d", 9);
    bush->season = season;
}

/* Civil time of the operation as an instant. */
static inline utc_s fake_time(const struct bulletin *bulletin, int day,
                              int hour, int minute)
{
    return zone_instant(bulletin->zone, (struct civil_date){2026, 3, day}, hour,
                        minute, 0);
}

/* One action more, at the end of those that are there: the caller fills in the
 * rest. */
static inline struct bulletin_action *fake_action(struct bulletin *bulletin,
                                                  enum action_kind kind,
                                                  int day, int from_h,
                                                  int hours)
{
    struct bulletin_action *action;

    bulletin->actions =
        mem_resize(bulletin->actions, (size_t)bulletin->action_count + 1,
                   sizeof *bulletin->actions);
    action = &bulletin->actions[bulletin->action_count++];
    memset(action, 0, sizeof *action);
    action->kind = kind;
    action->date = (struct civil_date){2026, 3, day};
    action->start = fake_time(bulletin, day, from_h, 0);
    action->end = action->start + (utc_s)hours * SECONDS_PER_HOUR;
    return action;
}

#endif
