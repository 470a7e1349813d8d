#include "command/replay_plan.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "base/memory.h"
#include "base/words.h"
#include "plan/forecaster.h"
#include "turn/bush_outlook.h"
#include "turn/plan_rules.h"

enum { MEMBERS = 15, DAYS_AFTER = 4, SILENT_S = 1 };

/* What one replay holds while it runs. */
struct run {
    const struct config *config;
    struct replay_plan *out;
    struct zone *zone;     /* owned */
    struct series *series; /* owned */
    int file_offset_s;     /* of the clock in the weather's file, from UTC */
    struct plan_rules rules;
    struct forecaster forecaster; /* its models are owned here */
    struct plan_season season;
    int forecast; /* the course of forecasts under way, from 1 on */
    time_t begun;
    bool told; /* progress stands on the terminal */
};

static struct civil_date in_year(struct civil_date date, int year)
{
    date.year = year;
    if (date.month == 2 && date.day == 29)
        date.day = 28;
    return date;
}

static const struct season *season_of(const struct replay_seasons *seasons,
                                      enum species species)
{
    return seasons->rows[seasons->count - 1].of[species];
}

/* The day this bush is tapped; false if neither file nor season tell one. */
static bool tapping_day(const struct config_bush *bush,
                        const struct season *season, struct civil_date *out)
{
    *out = bush->has_tapped ? in_year(bush->tapped, season->year)
                            : season->tap_from;
    return bush->has_tapped || season->has_tap_from;
}

static utc_s pulling_time(const struct zone *zone, const struct season *season)
{
    int64_t from = civil_day_number(season->pull_from);
    int64_t by = civil_day_number(season->pull_by);

    if (!season->has_pull)
        return 0;
    return zone_day_start(zone, civil_date_from_day_number((from + by) / 2));
}

static int add_bush(struct run *run, int number, const struct season *season,
                    struct error *err)
{
    const struct config_bush *bush = &run->config->bushes[number];
    struct forecaster_bush *to =
        &run->forecaster.bushes[run->forecaster.bush_count];
    struct civil_date tapped;

    if (!tapping_day(bush, season, &tapped))
        return error_set(err, _("%s: the weather makes no season to tap for"),
                         bush->name);
    to->site = bush_site(bush);
    to->site.tapped = true;
    to->site.tapped_at = zone_instant(run->zone, tapped, 12, 0, 0);
    to->taps = bush->taps;
    to->stream = plan_stream_of(run->config, number);
    to->pulled_at = pulling_time(run->zone, season);
    if (tree_model_load(run->config->models, bush->species, bush->gathering,
                        &to->model, err) != 0)
        return -1;
    run->forecaster.bush_count++;
    if (number == 0 || civil_date_compare(tapped, run->out->tapped) < 0)
        run->out->tapped = tapped;
    return 0;
}

static int add_bushes(struct run *run, const struct replay_seasons *seasons,
                      struct error *err)
{
    for (int i = 0; i < run->config->bush_count; i++)
        if (add_bush(run, i, season_of(seasons, run->config->bushes[i].species),
                     err) != 0)
            return -1;
    return 0;
}

/* Days with an hour whose air temperature is not known: by the clock of the
 * weather's file, so that a day cut from it counts as one. */
static int days_unknown(const struct run *run, utc_s from, utc_s to)
{
    int64_t last = INT64_MIN;
    int days = 0;

    for (utc_s at = from; at < to; at += SECONDS_PER_HOUR) {
        int64_t day = (at + run->file_offset_s) / SECONDS_PER_DAY;
        int row = series_row(run->series, at);
        double temp_c;

        if (day == last ||
            (row >= 0 && series_get(run->series, AIR_TEMP_C, row, &temp_c)))
            continue;
        last = day;
        days++;
    }
    return days;
}

/* From the first tapping to some days after the last pulling. */
static int lay_season(struct run *run, struct error *err)
{
    utc_s from = zone_day_start(run->zone, run->out->tapped);
    utc_s end = series_start(run->series) +
                (utc_s)series_hours(run->series) * SECONDS_PER_HOUR;
    utc_s pulled = from;

    for (int i = 0; i < run->forecaster.bush_count; i++) {
        utc_s at = run->forecaster.bushes[i].pulled_at;

        at = at == 0 ? end : at;
        pulled = at > pulled ? at : pulled;
    }
    pulled = pulled < end ? pulled : end;
    run->out->pulled = zone_date(run->zone, pulled - 1);
    run->out->days_unknown = days_unknown(run, from, pulled);
    if (forecaster_season(&run->forecaster, run->zone, from,
                          pulled + (utc_s)DAYS_AFTER * SECONDS_PER_DAY,
                          &run->season) != 0)
        return error_set(err, "%s",
                         _("the weather does not cover the time from tapping "
                           "to pulling"));
    return 0;
}

static void tell_progress(struct run *run, utc_s now)
{
    char date[ISO_DATE_SIZE];

    if (!isatty(STDERR_FILENO) || time(NULL) - run->begun <= SILENT_S)
        return;
    iso_date(zone_date(run->zone, now), date);
    fprintf(stderr, "\r");
    fprintf(stderr, _("planning %s (%d of %d)"), date, run->forecast,
            run->out->planned.forecasts);
    run->told = true;
}

static void forecast(void *self, utc_s now, int hours, int members,
                     double *air_temp_c, double *shortwave_w_m2, double *sap_l)
{
    struct run *run = self;

    tell_progress(run, now);
    forecaster_forecast(&run->forecaster, now, hours, members, air_temp_c,
                        shortwave_w_m2, sap_l);
}

static void add_trial(struct replay_planned *sum,
                      const struct plan_trial_result *trial, bool first)
{
    double share = 1.0 / sum->forecasts;

    sum->ran_l += share * trial->ran_l;
    sum->kept_l += share * trial->kept_l;
    sum->overflow_l += share * trial->overflow_l;
    sum->spoiled_l += share * trial->spoiled_l;
    sum->held_l += share * trial->held_l;
    sum->lit_days += share * trial->lit_days;
    sum->night_hours += share * trial->night_hours;
    sum->trips += share * trial->trips;
    if (first || trial->kept_l < sum->kept_least_l)
        sum->kept_least_l = trial->kept_l;
    if (trial->kept_l > sum->kept_most_l)
        sum->kept_most_l = trial->kept_l;
    if (trial->lit_days > sum->lit_days_most)
        sum->lit_days_most = trial->lit_days;
    if (trial->unattended_hours > sum->unattended_hours)
        sum->unattended_hours = trial->unattended_hours;
}

/* Each course of forecasts has a number of its own for its seed. */
static void run_planned(struct run *run, const struct plan_costs *costs)
{
    struct replay_planned *planned = &run->out->planned;

    for (run->forecast = 1; run->forecast <= planned->forecasts;
         run->forecast++) {
        struct plan_trial_result trial;

        run->forecaster.seed = (uint64_t)run->forecast;
        trial = plan_trial(&run->rules, costs, &run->season, PLAN_ON_FORECAST,
                           forecast, run, MEMBERS);
        add_trial(planned, &trial, run->forecast == 1);
    }
}

static void run_trials(struct run *run)
{
    struct plan_costs costs = plan_costs_for(&run->rules);
    struct replay_plan *out = run->out;

    run->begun = time(NULL);
    out->habit = plan_trial(&run->rules, &costs, &run->season, PLAN_HABIT, NULL,
                            NULL, 1);
    out->perfect = plan_trial(&run->rules, &costs, &run->season, PLAN_PERFECT,
                              NULL, NULL, 1);
    run_planned(run, &costs);
    if (run->told)
        fprintf(stderr, "\r%40s\r", "");
}

static void run_end(struct run *run)
{
    plan_season_free(&run->season);
    forecaster_end(&run->forecaster); /* stands on the models */
    for (int i = 0; i < run->forecaster.bush_count; i++)
        tree_model_free(run->forecaster.bushes[i].model);
    series_free(run->series);
    zone_free(run->zone);
    free(run);
}

static int run_make(struct run *run, const struct replay_options *options,
                    const struct replay_weather *weather,
                    const struct replay_seasons *seasons, struct error *err)
{
    int64_t first = season_first_day(run->out->year);

    run->zone = zone_open(run->config->zone_name, err);
    if (run->zone == NULL)
        return -1;
    if (!plan_rules_from_config(run->config, &run->rules))
        return error_set(err,
                         _("%s: --plan needs a [sugarhouse] with storage or "
                           "tanks, and evaporation or pan"),
                         run->config->path);
    run->series = replay_weather_series(weather, options, first,
                                        first + SEASON_MAX_DAYS, err);
    if (run->series == NULL)
        return -1;
    run->forecaster.weather = run->series;
    run->forecaster.streams = run->rules.group_count + 1;
    if (add_bushes(run, seasons, err) != 0 || lay_season(run, err) != 0)
        return -1;
    run_trials(run);
    return 0;
}

int replay_plan_make(const struct config *config,
                     const struct replay_options *options,
                     const struct replay_weather *weather,
                     const struct replay_seasons *seasons,
                     struct replay_plan *out, struct error *err)
{
    struct run *run = mem_alloc(1, sizeof *run);
    int status;

    memset(out, 0, sizeof *out);
    out->year = season_of(seasons, SPECIES_SUGAR_MAPLE)->year;
    out->planned.forecasts = options->forecasts;
    run->config = config;
    run->out = out;
    run->file_offset_s = options->setting.offset_s;
    status = run_make(run, options, weather, seasons, err);
    run_end(run);
    return status;
}
