/* What the files of the season share among themselves. */
#ifndef TREE_SEASON_PRIVATE_H
#define TREE_SEASON_PRIVATE_H

#include "tree/season.h"

/* Air temperature at the hour (0 to 24, local standard time) of a day: cosines
 * from the maximum of the day before at 15:00 to this day's minimum at 06:00,
 * to its maximum at 15:00, to the next day's minimum at 06:00. The warmth of
 * a day depends on the curve's area above the base alone; the finer curve of
 * weather/diurnal.h fits the bud dates no better (docs/model-season.md). */
double season_curve_c(double min_c, double max_c, double max_before_c,
                      double min_after_c, double hour);
/* Shares of the four ends that an hour of the day lies between: the maximum
 * before, the minimum, the maximum, the minimum after. */
struct season_shares {
    double of[4][24];
};

void season_shares_make(struct season_shares *out);
/* Hours of the days from `first` on, by the daily curve. */
void season_make_hours_by(const struct season_shares *shares,
                          struct season_weather *weather, int first);
void season_make_hours(struct season_weather *weather, int first);
/* Index of a day in a climate: 1 January is 0. */
int season_year_day(int year, int day);

/* Days after `known` drawn anew in place, as season_weather_member draws
 * them. */
void season_draw_ahead(struct season_weather *weather,
                       const struct season_general *general,
                       const struct season_climate *climate,
                       const struct season_shares *shares, uint64_t seed,
                       int member);

/* What all seasons of a model share. */
void season_sun_make(struct season_sun *out);
void season_curve_make(const struct season_general *general,
                       struct season_climate *out);

/* What all courses of a season share. */
struct season_calendar {
    int days;
    int new_year, chill_days;     /* warmth counts from, chill up to that day */
    double gate[SEASON_MAX_DAYS]; /* share of the warmth, by day length */
    bool nights_tell[SEASON_MAX_DAYS]; /* warm ones, of the sap */
    struct season_shares shares;
};

void season_calendar_make(const struct season_buds *buds,
                          const struct season_sun *sun, int year, int days,
                          double latitude_deg, struct season_calendar *out);

/* What one course of the weather makes of the days. */
struct season_signs {
    int days;
    double swell, bud_break; /* positions, or -1 */
    double run_weather[SEASON_MAX_DAYS];
    double off_flavour[SEASON_MAX_DAYS];
    double warm_kh[SEASON_MAX_DAYS]; /* degree-hours above 4 C in the day */
    int last_good_day;               /* of run weather before the sap is off */
    /* Each day's own, before the gate. */
    double bud_warmth_kd[SEASON_MAX_DAYS], chill_d[SEASON_MAX_DAYS];
};

/* The days from `from` on are read; what was read of those before stays, of a
 * course that is the same up to there. */
void season_signs_read(const struct season_model *model,
                       const struct season_weather *weather,
                       const struct season_calendar *calendar, int from,
                       struct season_signs *out);
/* The part of it that the buds are in: their warmth and chill of each day. */
void season_read_warmth(const struct season_buds *buds,
                        const struct season_weather *weather,
                        const struct season_calendar *calendar, int from,
                        struct season_signs *out);
/* The sums of these. */
void season_course_sum(const struct season_buds *buds,
                       const struct season_calendar *calendar,
                       const struct season_signs *signs,
                       struct season_course *out);

/* The date whose chance is spread as equal parts normal about each position,
 * with the same standard deviation. */
struct season_date season_date_from(const double *positions, int count,
                                    double sd_d, int64_t first_day, int days);

/* A day counts as a run day from this much run weather on. */
#define SEASON_RUN_DAY 0.4

/* The log's notes, applied to the risk of each day. */
void season_apply_notes(const struct season_model *model,
                        const struct season_site *site, struct season *season);
/* Tapping, taphole, spells, pulling and stages, from the days' means. */
void season_tap(const struct season_model *model,
                const struct season_site *site, const double *warm_kh,
                struct season *season);
void season_find_spells(struct season *season);
void season_pull(const struct season_model *model, struct season *season);
void season_set_stages(const struct season_model *model, struct season *season);

#endif
