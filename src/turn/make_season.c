#include "turn/make_season.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "turn/log_intake.h"

/* What one bush's season is made from. */
struct making {
    const struct config *config;
    int bush;
    const struct bush_made *made;
    const struct log_view *log;
    const struct zone *zone;
    utc_s now;
    struct civil_date today;
    int year;
    int offset_s;                     /* standard time: that of 1 January */
    const struct season_model *model; /* borrowed */
    struct season_climate climate;
    struct season_note notes[SEASON_MAX_NOTES];
    struct season_site site;
};

static utc_s new_year(const struct making *making)
{
    struct civil_date first = {making->year, 1, 1};

    return civil_day_number(first) * SECONDS_PER_DAY - making->offset_s;
}

static void copy_air(struct series *to, const struct series *from, int source)
{
    double temp_c;

    for (int row = 0; row < series_hours(from); row++)
        if (series_get(from, AIR_TEMP_C, row, &temp_c))
            series_set(to, AIR_TEMP_C, series_row(to, series_time(from, row)),
                       temp_c, series_origin(from, AIR_TEMP_C, row), source);
}

/* The merged air temperature, and from 1 January up to it that of the store.
 * Owned by the caller; NULL where the merged one reaches back so far itself. */
static struct series *air_since_new_year(const struct making *making,
                                         struct store *store,
                                         struct error *doubt)
{
    const struct series *merged = making->made->weather;
    const struct config *config = making->config;
    struct series_source here = {.name = "history"};
    struct series *before = NULL, *whole;
    utc_s start = new_year(making);
    int hours = (int)((series_start(merged) - start) / SECONDS_PER_HOUR);
    int source;

    if (hours <= 0)
        return NULL;
    if (store_get_air(store, config->slug, config->bushes[making->bush].name,
                      start, hours, &before, doubt) != 0)
        before = NULL;
    whole = series_new(start, hours + series_hours(merged));
    source = series_add_source(whole, &here);
    if (before != NULL)
        copy_air(whole, before, source);
    copy_air(whole, merged, source);
    series_free(before);
    return whole;
}

/* Days from 1 January up to yesterday that no record has. */
static int days_lacking(const struct making *making,
                        const struct season_weather *weather)
{
    struct civil_date first = {making->year, 1, 1};
    int64_t start = season_first_day(making->year);
    int64_t end = civil_day_number(making->today) - start;
    int lacking = 0;

    for (int64_t day = civil_day_number(first) - start;
         day < end && day < weather->days; day++)
        lacking += !weather->own[day];
    return lacking;
}

/* The least and greatest of a day whose hours a member has moved. */
static void settle_day(struct season_weather *weather, int day)
{
    double least = weather->temp_c[day][0], greatest = least;

    for (int hour = 1; hour < 24; hour++) {
        double temp_c = weather->temp_c[day][hour];

        least = temp_c < least ? temp_c : least;
        greatest = temp_c > greatest ? temp_c : greatest;
    }
    weather->min_c[day] = least;
    weather->max_c[day] = greatest;
}

/* An hour that the members tell: which of the season's, and their row. */
struct told_hour {
    int hour, row;
};

/* The weather so far, and what comes after it in a member. */
struct base_course {
    const struct members *members;
    const struct season_weather *base;
    int first;              /* day that a member may move */
    struct told_hour *told; /* owned */
    int told_count;
};

/* Those from now on where the weather is known. */
static void find_told(const struct making *making, struct base_course *course)
{
    const struct members *members = making->made->members;
    const struct series *weather = making->made->weather;
    utc_s start =
        season_first_day(making->year) * SECONDS_PER_DAY - making->offset_s;
    int end = course->base->known * 24;

    course->told = mem_alloc((size_t)end, sizeof *course->told);
    for (int hour = course->first * 24; hour < end; hour++) {
        utc_s instant = start + (utc_s)hour * SECONDS_PER_HOUR;
        utc_s row = (instant - members->start) / SECONDS_PER_HOUR;

        if (instant >= making->now && row >= 0 && row < members->hours &&
            series_origin(weather, AIR_TEMP_C, series_row(weather, instant)) !=
                ORIGIN_NONE)
            course->told[course->told_count++] =
                (struct told_hour){hour, (int)row};
    }
}

static struct base_course base_course(const struct making *making,
                                      const struct season_weather *base)
{
    struct base_course course = {.members = making->made->members,
                                 .base = base};
    utc_s start =
        season_first_day(making->year) * SECONDS_PER_DAY - making->offset_s;

    course.first = (int)((making->now - start) / SECONDS_PER_DAY);
    if (course.first < 0)
        course.first = 0;
    if (course.first > base->known)
        course.first = base->known;
    find_told(making, &course);
    return course;
}

/* All members tell the same hours: each is laid over the one before. */
static int lay_member(const void *self, int member, struct season_weather *out)
{
    const struct base_course *course = self;
    const double *air_c = course->members->air_temp_c +
                          (size_t)member * (size_t)course->members->hours;

    if (member == 0)
        *out = *course->base;
    for (int i = 0; i < course->told_count; i++) {
        int hour = course->told[i].hour;

        out->temp_c[hour / 24][hour % 24] = air_c[course->told[i].row];
    }
    for (int day = course->first; day < out->known; day++)
        settle_day(out, day);
    return course->first;
}

static struct season *run(const struct making *making,
                          const struct season_weather *base)
{
    struct base_course course = base_course(making, base);
    struct season_courses courses = {making->made->members->count, lay_member,
                                     &course};
    struct season *season = season_make_of(
        making->model, &making->site, &making->climate, &courses,
        civil_date_add(making->today, -1), SEASON_DEFAULT_MEMBERS,
        bush_seed(making->config, making->bush));

    free(course.told);
    return season;
}

/* What the sap model says of the hole at the end of the last day past. */
static void take_taphole(const struct outlook *outlook,
                         struct season_site *site)
{
    for (int i = 0; i < outlook->count; i++) {
        const struct outlook_day *day = &outlook->days[i];

        if (!day->past || !day->known || !site->tapped ||
            civil_date_compare(day->date, site->tapped_on) <= 0)
            continue;
        site->has_taphole = true;
        site->taphole_on = day->date;
        site->taphole_left = day->taphole;
    }
}

static void fill_site(struct making *making)
{
    const struct tree_site *tree = &making->made->site;
    struct season_site *site = &making->site;

    *site = (struct season_site){.latitude = tree->latitude,
                                 .longitude = tree->longitude,
                                 .elevation_m = tree->elevation_m,
                                 .tapped = tree->tapped,
                                 .notes = making->notes};
    if (tree->tapped)
        site->tapped_on = zone_date(making->zone, tree->tapped_at);
    site->note_count = log_season_notes(
        making->log, making->zone, making->config->bushes[making->bush].name,
        making->now, making->notes);
    take_taphole(making->made->outlook, site);
}

/* The last pulling that is logged and not undone by a later tapping. */
static struct civil_date pulled_on(const struct making *making)
{
    struct civil_date pulled = {0, 0, 0};
    const char *bush = making->config->bushes[making->bush].name;

    for (int i = 0; i < making->log->count; i++) {
        const struct log_entry *entry = &making->log->entries[i];

        if (entry->removed || entry->note.at > making->now ||
            !log_of_bush(&entry->note, bush) ||
            log_season_of(making->zone, entry->note.at) != making->year)
            continue;
        if (entry->note.kind == LOG_PULLED)
            pulled = zone_date(making->zone, entry->note.at);
        if (entry->note.kind == LOG_TAPPED)
            pulled.year = 0;
    }
    return pulled;
}

static void take_days(const struct outlook *outlook,
                      const struct season *season, struct bulletin_season *out)
{
    for (int i = 0; i < outlook->count; i++) {
        int64_t index =
            civil_day_number(outlook->days[i].date) - season->first_day;
        struct bulletin_season_day *day = &out->days[out->day_count];

        if (index < 0 || index >= season->day_count ||
            out->day_count == BULLETIN_SEASON_DAYS)
            continue;
        day->date = outlook->days[i].date;
        day->stage = season->days[index].stage;
        day->off_flavour = season->days[index].off_flavour;
        if (out->pulled.year != 0 &&
            civil_date_compare(day->date, out->pulled) >= 0)
            day->stage = SEASON_OVER;
        else if (out->tap_from.year != 0 && day->stage == SEASON_DORMANT &&
                 civil_date_compare(day->date, out->tap_from) >= 0)
            day->stage = SEASON_EARLY;
        out->day_count++;
    }
}

struct civil_date season_tap_by(const struct outlook *outlook,
                                struct civil_date today)
{
    for (int i = 0; i < outlook->count; i++) {
        const struct outlook_day *day = &outlook->days[i];
        struct civil_date eve = civil_date_add(day->date, -1);

        if (!day->known || civil_date_compare(day->date, today) < 0 ||
            day->strength < STRENGTH_FAIR_RUN || day->chance < 0.5)
            continue;
        return civil_date_compare(eve, today) < 0 ? today : eve;
    }
    return (struct civil_date){0, 0, 0};
}

/* The weather in sight goes before what the climate of the season says. */
static void take_tap_from(const struct making *making,
                          const struct season *season,
                          struct bulletin_season *out)
{
    struct civil_date by = season_tap_by(making->made->outlook, making->today);
    int64_t early;

    out->tap_from = season->tap_from;
    if (by.year == 0 || making->site.tapped)
        return;
    early = civil_day_number(season->tap_from) - civil_day_number(by);
    if (early > 0 && early <= SEASON_EARLY_DAYS)
        out->tap_from = by;
}

static void take_dates(const struct making *making, const struct season *season,
                       struct bulletin_season *out)
{
    int64_t today = civil_day_number(making->today) - season->first_day;

    out->swell = season->swell;
    out->bud_break = season->bud_break;
    if (season->has_tap_from)
        take_tap_from(making, season, out);
    if (season->has_pull && out->pulled.year == 0) {
        out->pull_from = season->pull_from;
        out->pull_by = season->pull_by;
    }
    if (season->has_last_good_run && out->pulled.year == 0) {
        out->last_run_first = season->last_good_run.first;
        out->last_run_last = season->last_good_run.last;
    }
    if (season->has_taphole_end)
        out->taphole_spent = season->taphole_end;
    out->has_taphole =
        making->site.tapped && today >= 0 && today < season->day_count;
    if (out->has_taphole)
        out->taphole = season->days[today].taphole;
}

static void fill(const struct making *making, const struct season *season,
                 struct bulletin_season *out)
{
    out->year = season->year;
    out->pulled = pulled_on(making);
    if (making->site.tapped)
        out->tapped = making->site.tapped_on;
    out->chance_of_more = season->chance_of_more;
    take_dates(making, season, out);
    take_days(making->made->outlook, season, out);
    snprintf(out->model_name, sizeof out->model_name, "%s",
             making->model->name);
    snprintf(out->model_version, sizeof out->model_version, "%s",
             making->model->version);
    snprintf(out->model_digest, sizeof out->model_digest, "%s",
             making->model->digest);
}

static int prepare(struct making *making, struct turn_models *models,
                   struct error *err)
{
    const struct config_bush *bush = &making->config->bushes[making->bush];
    struct civil_date first = {making->year, 1, 1};

    making->model = turn_models_season(
        models, making->now, making->config->models, bush->species, err);
    if (making->model == NULL)
        return -1;
    season_climate_of(making->model, bush->latitude, bush->elevation_m,
                      &making->climate);
    making->offset_s = zone_offset_s(
        making->zone, zone_instant(making->zone, first, 12, 0, 0));
    fill_site(making);
    return 0;
}

static bool out_of_season(struct civil_date date)
{
    return date.month >= 8 && date.month <= 10;
}

static int make(struct making *making, struct store *store,
                struct bulletin_bush *row, struct error *doubt,
                struct error *err)
{
    struct season_weather *weather = mem_alloc(1, sizeof *weather);
    struct series *longer = air_since_new_year(making, store, doubt);
    int result = season_weather_from_series(
        longer != NULL ? longer : making->made->weather, making->offset_s,
        making->year, &making->model->general, &making->climate, weather, err);

    if (result == 0) {
        struct season *season = run(making, weather);

        row->season = mem_alloc(1, sizeof *row->season);
        fill(making, season, row->season);
        row->season->days_filled = days_lacking(making, weather);
        season_free(season);
    }
    series_free(longer);
    free(weather);
    return result;
}

int make_season(const struct config *config, int bush,
                const struct bush_made *made, const struct log_view *log,
                struct store *store, struct turn_models *models,
                const struct bulletin *bulletin, struct bulletin_bush *row,
                struct error *doubt, struct error *err)
{
    struct civil_date today = bulletin_date(bulletin, bulletin->made);
    struct making *making;
    int result;

    if (out_of_season(today))
        return 0;
    making = mem_alloc(1, sizeof *making);
    *making = (struct making){.config = config,
                              .bush = bush,
                              .made = made,
                              .log = log,
                              .zone = bulletin->zone,
                              .now = bulletin->made,
                              .today = today,
                              .year = season_of_day(civil_day_number(today))};
    result = prepare(making, models, err);
    if (result == 0)
        result = make(making, store, row, doubt, err);
    free(making);
    return result;
}
