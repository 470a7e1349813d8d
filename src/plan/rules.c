#include "plan/rules.h"

#include <math.h>
#include <string.h>

/* A tank of 1 hL has some 1.3 m2 of wall; with 10 W/m2K outside, a degree-hour
 * of frost makes 0.14 kg of ice (latent heat 334 kJ/kg). A fifth of it ice is
 * taken as frozen hard. */
static const double freeze_k_h = 20 / 0.14;
static const double bucket_sun_k_m2_w = 0.01;
static const double caution = 0.5; /* standard deviations */

struct plan_costs plan_costs_default(void)
{
    return (struct plan_costs){.overflow_per_l = 1,
                               .spoiled_per_l = 1,
                               .light_up = 40,
                               .trip = 10,
                               .night_per_h = 10,
                               .held_per_life_l = 0.1,
                               .frozen_per_l = 0.2};
}

static bool is_attended(const struct plan_rules *rules, int minute)
{
    return minute >= rules->attended_from_min &&
           minute + 60 <= rules->attended_to_min;
}

/* The tank's degree-hours of frost: below freezing they grow, above they
 * melt away; twice the hard freeze is the most that a thaw must undo. */
static void fill_freezing(struct plan_hour *row, int tank,
                          const struct plan_rules *rules, double air_temp_c,
                          double *frost_k_h)
{
    double size_hl = rules->tanks[tank].size_l / 100;
    double hard = freeze_k_h * cbrt(size_hl > 1 ? size_hl : 1);
    bool was = *frost_k_h >= hard;

    if (rules->tanks[tank].site == KEEPING_INSIDE)
        return;
    *frost_k_h -= air_temp_c;
    *frost_k_h = fmin(fmax(*frost_k_h, 0), 2 * hard);
    row->tank_frozen[tank] = *frost_k_h >= hard;
    row->tank_freezes[tank] = row->tank_frozen[tank] && !was;
}

struct tank_course {
    double temp_c[PLAN_MAX_TANKS], frost_k_h[PLAN_MAX_TANKS];
};

static void fill_keeping(struct plan_hour *row, const struct plan_rules *rules,
                         double air_temp_c, double shortwave_w_m2,
                         double warmer_k, struct tank_course *course)
{
    row->bucket_life_used = keeping_used_per_h(
        air_temp_c + warmer_k + bucket_sun_k_m2_w * shortwave_w_m2);
    for (int tank = 0; tank < rules->tank_count; tank++) {
        course->temp_c[tank] = keeping_next_temp_c(
            course->temp_c[tank], rules->tanks[tank].size_l / 2,
            rules->tanks[tank].site, air_temp_c, shortwave_w_m2);
        row->tank_life_used[tank] =
            keeping_used_per_h(course->temp_c[tank] + warmer_k / 2);
        fill_freezing(row, tank, rules, air_temp_c, &course->frost_k_h[tank]);
    }
}

/* Starts a civil day at this row; false when there are enough of them. */
static bool begin_day(struct plan_time *time, int row, struct civil_date date,
                      int days)
{
    if (time->day_count > 0 &&
        civil_date_compare(time->dates[time->day_count - 1], date) == 0)
        return true;
    if (time->day_count >= days || time->day_count >= PLAN_MAX_DAYS)
        return false;
    time->dates[time->day_count] = date;
    time->day_first[time->day_count++] = row;
    return true;
}

void plan_time_fill(struct plan_time *time, const struct plan_rules *rules,
                    const struct zone *zone, utc_s now, int days,
                    const double *air_temp_c, const double *shortwave_w_m2,
                    int hour_count, double (*error_sd_k)(double lead_h))
{
    utc_s start =
        now - ((now % SECONDS_PER_HOUR) + SECONDS_PER_HOUR) % SECONDS_PER_HOUR;
    struct tank_course course;
    int row;

    memset(time, 0, sizeof *time);
    memset(&course, 0, sizeof course);
    for (row = 0; row < hour_count && row < PLAN_MAX_HOURS; row++) {
        struct plan_hour *hour = &time->hours[row];
        struct civil_time civil;

        hour->start = start + (utc_s)row * SECONDS_PER_HOUR;
        civil = zone_civil(zone, hour->start);
        if (!begin_day(time, row, civil.date, days))
            break;
        hour->day = time->day_count - 1;
        hour->minute = civil.hour * 60 + civil.minute;
        hour->attended = is_attended(rules, hour->minute);
        fill_keeping(hour, rules, air_temp_c[row], shortwave_w_m2[row],
                     error_sd_k != NULL ? caution * error_sd_k(row) : 0,
                     &course);
    }
    time->hour_count = row;
    time->day_first[time->day_count] = row;
}
