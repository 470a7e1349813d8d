/* What one course of the weather makes of each day. */
#include <math.h>

#include "tree/season_private.h"

/* Warm nights before this day length say nothing of the sap (1 February at
 * 44 N: 10.0 h). */
static const double OFF_DAYLENGTH_H = 10.0;
static const double TAPHOLE_WARM_C = 4.0; /* trade rule: the cold slows it */
enum { WOOD_DAYS = 5 };

static double logistic(double x)
{
    return 1.0 / (1.0 + exp(-x));
}

double season_normal_below(double x)
{
    return 0.5 * erfc(-x / sqrt(2.0));
}

static double mean_before_c(const struct season_weather *weather, int day)
{
    double sum_c = 0.0;
    int count = 0;

    for (int d = day; d >= 0 && d > day - WOOD_DAYS; d--, count++) {
        sum_c += 0.5 * (weather->min_c[d] + weather->max_c[d]);
    }
    return sum_c / count;
}

static double run_weather(const struct season_general *general,
                          const struct season_weather *weather, int day)
{
    double w = general->run_width_k;
    double freeze = logistic((general->run_min_c - weather->min_c[day]) / w);
    double thaw = logistic((weather->max_c[day] - general->run_max_c) / w);
    double wood =
        logistic((mean_before_c(weather, day) - general->run_mean_c) / w);

    return freeze * thaw * wood;
}

static double warm_kh(const double temp_c[24])
{
    double sum_kh = 0.0;

    for (int hour = 0; hour < 24; hour++) {
        sum_kh +=
            temp_c[hour] > TAPHOLE_WARM_C ? temp_c[hour] - TAPHOLE_WARM_C : 0.0;
    }
    return sum_kh;
}

/* Risk from buds: the chance that they have swollen by the day's noon, times
 * what the stage between swell and break is worth. */
static double bud_risk(const struct season_model *model, double warmth_kd,
                       double swell, int day)
{
    const struct season_buds *buds = &model->buds;
    double stage = (warmth_kd - buds->swell_warmth_kd) /
                   (buds->break_warmth_kd - buds->swell_warmth_kd);
    double worth = model->general.off_at_swell +
                   (model->general.off_at_break - model->general.off_at_swell) *
                       fmax(0.0, fmin(1.0, stage));

    if (swell < 0.0) {
        return 0.0;
    }
    return worth * season_normal_below((day + 0.5 - swell) / buds->swell_sd_d);
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
                      const struct season_course *course,
                      const double *length_h, struct season_signs *out)
{
    struct warm_nights nights = {0};

    for (int day = 0; day < weather->days; day++) {
        int on = season_year_day(weather->year, day) + 1;
        double buds = bud_risk(model, course->warmth_kd[day], out->swell, day);

        if (on < 213 && length_h[day] >= OFF_DAYLENGTH_H) {
            count_night(&model->general, weather->min_c[day], &nights);
        }
        out->off_flavour[day] = 1.0 - (1.0 - buds) * (1.0 - nights.risk);
    }
}

void season_signs_read(const struct season_model *model,
                       const struct season_weather *weather,
                       const double *length_h, struct season_signs *out)
{
    struct season_course course;

    season_course_pass(&model->buds, weather, length_h, &course);
    out->days = weather->days;
    out->swell = season_course_reach(&course, model->buds.swell_warmth_kd);
    out->bud_break = season_course_reach(&course, model->buds.break_warmth_kd);
    out->last_good_day = -1;
    read_risk(model, weather, &course, length_h, out);
    for (int day = 0; day < weather->days; day++) {
        out->run_weather[day] = run_weather(&model->general, weather, day);
        out->warm_kh[day] = warm_kh(weather->temp_c[day]);
        if (out->run_weather[day] >= SEASON_RUN_DAY &&
            out->off_flavour[day] < model->general.pull_risk_from) {
            out->last_good_day = day;
        }
    }
}
