/* The model's amounts collection by collection. */
#include "outlook/replay.h"

#include <stdlib.h>

#include "base/memory.h"
#include "base/words.h"
#include "outlook/outlook.h"
#include "weather/daily.h"
#include "weather/forcing.h"

static const double KNOWN_SHARE = 0.9;
static const int TAPPED_AT_S = 12 * SECONDS_PER_HOUR;

const char *replay_forecaster_word(enum replay_forecaster forecaster)
{
    static const char *const WORDS[REPLAY_FORECASTERS] = {
        "model", "rule_a", "rule_b", "climatology"};

    return forecaster < REPLAY_FORECASTERS ? WORDS[forecaster] : "";
}

static utc_s instant_of(const struct replay_setting *setting, int64_t day,
                        int seconds)
{
    return day * SECONDS_PER_DAY + seconds - setting->offset_s;
}

static utc_s tapped_at(const struct replay_setting *setting,
                       const struct replay_collection *first)
{
    int64_t day = setting->has_tapped ? civil_day_number(setting->tapped)
                                      : civil_day_number(first->date) - 1;

    return instant_of(setting, day, TAPPED_AT_S);
}

/* All that the amounts are summed from. */
struct course {
    const struct tree_model *model;
    const struct replay_setting *setting;
    struct forcing *forcing;
    struct tree_hour *hours;
    struct daily *daily;
};

/* The hour's share, 0..1, of [from, to). */
static double hour_share(const struct course *course, int hour, utc_s from,
                         utc_s to)
{
    utc_s start = course->forcing->start + (utc_s)hour * SECONDS_PER_HOUR;
    utc_s end = start + SECONDS_PER_HOUR;
    utc_s low = start > from ? start : from, high = end < to ? end : to;

    return high > low ? (double)(high - low) / SECONDS_PER_HOUR : 0.0;
}

static double model_l_per_tap(const struct course *course,
                              struct replay_row *row)
{
    double sum = 0.0, known_h = 0.0;

    for (int hour = 0; hour < course->forcing->hours; hour++) {
        double share = hour_share(course, hour, row->from, row->to);

        sum += share * course->hours[hour].sap_l_per_tap;
        known_h += course->forcing->known[hour] ? share : 0.0;
    }
    row->known = known_h * SECONDS_PER_HOUR >=
                 KNOWN_SHARE * (double)(row->to - row->from);
    return sum;
}

static void add_rules(const struct course *course, struct replay_row *row)
{
    const struct daily *daily = course->daily;

    for (int i = 0; i < daily->count; i++) {
        const struct daily_row *day = &daily->rows[i];
        utc_s start = instant_of(course->setting, daily->first_day + i, 0);
        utc_s end = start + SECONDS_PER_DAY;
        utc_s low = start > row->from ? start : row->from;
        utc_s high = end < row->to ? end : row->to;
        double share =
            high > low ? (double)(high - low) / SECONDS_PER_DAY : 0.0;

        if (share > 0.0 && day->has_min && day->has_max) {
            row->forecast_l[REPLAY_RULE_A] +=
                share * day_rule_a_l_per_tap(day->min_c, day->max_c);
            row->forecast_l[REPLAY_RULE_B] +=
                share * day_rule_b_l_per_tap(day->min_c, day->max_c);
        }
    }
}

static void make_row(const struct course *course, const struct tree_site *site,
                     struct replay_row *row, struct replay *replay)
{
    double run_l = model_l_per_tap(course, row);
    double held_l = tree_kept_l_per_tap(course->model, run_l, site->bucket_l);

    add_rules(course, row);
    row->forecast_l[REPLAY_MODEL] = held_l;
    for (int f = 0; f < REPLAY_CLIMATOLOGY; f++) {
        row->forecast_l[f] *= course->setting->taps;
    }
    if (row->known) {
        replay->overflow_l += (run_l - held_l) * course->setting->taps;
    }
}

static void make_rows(const struct course *course, const struct tree_site *site,
                      const struct replay_collection *collections, int count,
                      struct replay *replay)
{
    utc_s from = site->tapped_at;

    for (int i = 0; i < count; i++) {
        struct replay_row *row = &replay->rows[replay->count];

        *row = (struct replay_row){.date = collections[i].date,
                                   .sap_l = collections[i].sap_l};
        row->from = from;
        row->to =
            instant_of(course->setting, civil_day_number(collections[i].date),
                       course->setting->collected_at_s);
        from = row->to;
        if (row->to <= row->from || collections[i].unmeasured) {
            replay->left_out++;
            continue;
        }
        make_row(course, site, row, replay);
        replay->count += row->known;
        replay->left_out += !row->known;
    }
}

static void make_climatology(struct replay *replay)
{
    double sap_l = 0.0, seconds = 0.0;

    for (int i = 0; i < replay->count; i++) {
        sap_l += replay->rows[i].sap_l;
        seconds += (double)(replay->rows[i].to - replay->rows[i].from);
    }
    for (int i = 0; i < replay->count; i++) {
        struct replay_row *row = &replay->rows[i];
        double own = (double)(row->to - row->from);

        row->forecast_l[REPLAY_CLIMATOLOGY] =
            seconds > own ? (sap_l - row->sap_l) / (seconds - own) * own : 0.0;
    }
}

static void score_all(struct replay *replay, int taps)
{
    size_t size = (size_t)replay->count;
    double *forecast = mem_alloc(size, sizeof *forecast);
    double *collected = mem_alloc(size, sizeof *collected);

    for (int f = 0; f < REPLAY_FORECASTERS; f++) {
        for (int i = 0; i < replay->count; i++) {
            forecast[i] = replay->rows[i].forecast_l[f];
            collected[i] = replay->rows[i].sap_l;
        }
        replay_score(forecast, collected, replay->count,
                     OUTLOOK_RUN_L_PER_TAP * taps, &replay->skill[f]);
    }
    free(forecast);
    free(collected);
}

static void run_course(const struct tree_model *model,
                       const struct tree_site *site,
                       const struct series *series,
                       const struct replay_setting *setting,
                       struct course *course)
{
    course->model = model;
    course->setting = setting;
    course->forcing =
        forcing_from_series(series, site->latitude, site->longitude);
    course->hours =
        mem_alloc((size_t)course->forcing->hours, sizeof *course->hours);
    course->daily = daily_from_series(series, setting->offset_s);
    tree_run(model, site, course->forcing, course->hours);
}

int replay_make(const struct tree_model *model, const struct tree_site *site,
                const struct series *series,
                const struct replay_collection *collections, int count,
                const struct replay_setting *setting, struct replay **out,
                struct error *err)
{
    struct replay *replay = mem_alloc(1, sizeof *replay);
    struct tree_site tapped = *site;
    struct course course;

    tapped.tapped = true;
    tapped.tapped_at = tapped_at(setting, &collections[0]);
    replay->rows = mem_alloc((size_t)count, sizeof *replay->rows);
    run_course(model, &tapped, series, setting, &course);
    make_rows(&course, &tapped, collections, count, replay);
    free(course.hours);
    forcing_free(course.forcing);
    daily_free(course.daily);
    if (replay->count == 0) {
        replay_free(replay);
        return error_set(err, _("the weather covers none of the collections"));
    }
    make_climatology(replay);
    score_all(replay, setting->taps);
    *out = replay;
    return 0;
}

void replay_free(struct replay *replay)
{
    if (replay) {
        free(replay->rows);
        free(replay);
    }
}
