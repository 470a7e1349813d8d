/* What one course of the weather makes of each day. */
#include <math.h>

#include "tree/season_curves.h"
#include "tree/season_private.h"

enum { WOOD_DAYS = 5 };

/* The mean of some days up to each. */
static void means_before_c(const struct season_weather *weather, int from,
                           double *out)
{
    double mid_c[SEASON_MAX_DAYS] = {0};
    int first = from > WOOD_DAYS - 1 ? from - (WOOD_DAYS - 1) : 0;

    for (int day = first; day < weather->days; day++)
        mid_c[day] = 0.5 * (weather->min_c[day] + weather->max_c[day]);
    for (int day = from; day < weather->days; day++) {
        int count = day < WOOD_DAYS ? day + 1 : WOOD_DAYS;
        double sum_c = 0.0;

        for (int d = day; d > day - count; d--)
            sum_c += mid_c[d];
        out[day - from] = sum_c / count;
    }
}

/* A night that freezes, a day that thaws, wood that has softened. */
static void read_run_weather(const struct season_general *general,
                             const struct season_weather *weather, int from,
                             double *out)
{
    double thaw[SEASON_MAX_DAYS], wood[SEASON_MAX_DAYS];
    double per_k = 1 / general->run_width_k;
    int count = weather->days - from;

    means_before_c(weather, from, wood);
    for (int day = from; day < weather->days; day++) {
        out[day] = (general->run_min_c - weather->min_c[day]) * per_k;
        thaw[day - from] = (weather->max_c[day] - general->run_max_c) * per_k;
        wood[day - from] = (wood[day - from] - general->run_mean_c) * per_k;
    }
    curve_logistic(out + from, count);
    curve_logistic(thaw, count);
    curve_logistic(wood, count);
    for (int i = 0; i < count; i++)
        out[from + i] *= thaw[i] * wood[i];
}

/* Risk from buds: the chance that they have swollen by the day's noon, times
 * what the stage between swell and break is worth. */
static void read_bud_risk(const struct season_model *model,
                          const struct season_course *course, double swell,
                          double *out)
{
    const struct season_buds *buds = &model->buds;
    double worth = model->general.off_at_swell;
    double more = model->general.off_at_break - worth;
    double per_kd = 1 / (buds->break_warmth_kd - buds->swell_warmth_kd);

    for (int day = 0; day < course->days; day++)
        out[day] = (day + 0.5 - swell) / buds->swell_sd_d;
    curve_normal_below(out, course->days);
    for (int day = 0; day < course->days; day++) {
        double stage =
            (course->warmth_kd[day] - buds->swell_warmth_kd) * per_kd;

        stage = stage < 0 ? 0 : stage > 1 ? 1 : stage;
        out[day] *= swell < 0 ? 0 : worth + more * stage;
    }
}

/* Risk from nights that no longer freeze; a frost takes most of it away. */
struct warm_nights {
    int in_a_row;
    double risk;
};

static void count_night(const struct season_general *general, double min_c,
                        struct warm_nights *nights)
{
    if (min_c <= 0.0) {
        nights->in_a_row = 0;
        nights->risk *= general->off_frost_keeps;
        return;
    }
    nights->in_a_row++;
    if (nights->in_a_row > general->off_warm_nights) {
        nights->risk = fmin(general->off_warm_most,
                            nights->risk + general->off_warm_night_step);
    }
}

static void read_risk(const struct season_model *model,
                      const struct season_weather *weather,
                      const struct season_calendar *calendar,
                      const struct season_course *course,
                      struct season_signs *out)
{
    struct warm_nights nights = {0};

    read_bud_risk(model, course, out->swell, out->off_flavour);
    for (int day = 0; day < weather->days; day++) {
        if (calendar->nights_tell[day])
            count_night(&model->general, weather->min_c[day], &nights);
        out->off_flavour[day] =
            1.0 - (1.0 - out->off_flavour[day]) * (1.0 - nights.risk);
    }
}

void season_signs_read(const struct season_model *model,
                       const struct season_weather *weather,
                       const struct season_calendar *calendar, int from,
                       struct season_signs *out)
{
    struct season_course course;

    season_read_warmth(&model->buds, weather, calendar, from, out);
    read_run_weather(&model->general, weather, from, out->run_weather);
    season_course_sum(&model->buds, calendar, out, &course);
    out->days = weather->days;
    out->swell = season_course_reach(&course, model->buds.swell_warmth_kd);
    out->bud_break = season_course_reach(&course, model->buds.break_warmth_kd);
    out->last_good_day = -1;
    read_risk(model, weather, calendar, &course, out);
    for (int day = 0; day < weather->days; day++)
        if (out->run_weather[day] >= SEASON_RUN_DAY &&
            out->off_flavour[day] < model->general.pull_risk_from)
            out->last_good_day = day;
}
