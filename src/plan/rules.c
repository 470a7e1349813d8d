#include "plan/rules.h"

#include <math.h>
#include <string.h>

/* A vessel of 1 hL has some 1.3 m2 of wall; with 10 W/m2K outside, a
 * degree-hour of frost makes 0.14 kg of ice of it (latent heat 334 kJ/kg). */
static const double ice_per_k_h = 0.14 / 100;
static const double bucket_hl = 0.05;
static const double bucket_sun_k_m2_w = 0.01;
/* Standard deviations by which held sap counts as warmer, where hours are few
 * and elsewhere, and around that what the forecast has wrong over the days that
 * sap is held. */
static const double caution_few = 0.4, caution_many = 0.7;
static const double spread[PLAN_KEEPINGS] = {0, -0.7, 0.7, -0.35, 0.35};
enum { FEW_HOURS = 8 };

bool plan_has_few_hours(const struct plan_rules *rules)
{
    return (rules->attended_to_min - rules->attended_from_min) / 60 - 1 <
           FEW_HOURS;
}

struct plan_costs plan_costs_for(const struct plan_rules *rules)
{
    bool few = plan_has_few_hours(rules);

    return (struct plan_costs){
        .overflow_per_l = 1,
        .spoiled_per_l = 1,
        .light_up = (few ? 0.013 : 0.04) * rules->smallest_boil_l,
        .early_per_h = (few ? 0.005 : 0.01) * rules->sap_rate_l_h,
        .trip = 0.05 * rules->sap_rate_l_h,
        .night_per_h = 0.03 * rules->sap_rate_l_h,
        .held_per_life = 0.1,
        .ice_per_l = 0.05,
        .icebound_per_l = 0.5,
        .backlog_per_l = 0.5};
}

static bool is_attended(const struct plan_rules *rules, int minute)
{
    return minute >= rules->attended_from_min &&
           minute + 60 <= rules->attended_to_min;
}

/* Share of the sap that freezes in the hour; below 0 it melts. */
static double ice_share(double sap_temp_c, double air_temp_c, double volume_hl)
{
    if (air_temp_c < 0 && sap_temp_c > 0.05)
        return 0;
    return -air_temp_c * ice_per_k_h / cbrt(volume_hl);
}

static double tank_next_temp_c(const struct plan_tank *tank, double temp_c,
                               double air_temp_c, double shortwave_w_m2)
{
    return keeping_next_temp_c(temp_c, tank->size_l / 2, tank->site, air_temp_c,
                               shortwave_w_m2);
}

void plan_tank_temps(const struct plan_rules *rules, const double *air_temp_c,
                     const double *shortwave_w_m2, int hours,
                     double *tank_temp_c)
{
    for (int i = 0; i < rules->tank_count; i++) {
        tank_temp_c[i] = 0;
        for (int hour = 0; hour < hours; hour++)
            tank_temp_c[i] =
                tank_next_temp_c(&rules->tanks[i], tank_temp_c[i],
                                 air_temp_c[hour], shortwave_w_m2[hour]);
    }
}

static void fill_keeping(struct plan_hour *row, const struct plan_rules *rules,
                         double air_temp_c, double shortwave_w_m2,
                         double error_k, double *tank_temp_c)
{
    double sunned_c = air_temp_c + bucket_sun_k_m2_w * shortwave_w_m2;
    double caution = plan_has_few_hours(rules) ? caution_few : caution_many;

    for (int way = 0; way < PLAN_KEEPINGS; way++)
        row->bucket_life_used[way] =
            keeping_used_per_h(sunned_c + (caution + spread[way]) * error_k);
    row->icy_life_used = keeping_used_per_h(0);
    row->bucket_ice = ice_share(fmax(sunned_c, 0), sunned_c, bucket_hl);
    for (int i = 0; i < rules->tank_count; i++) {
        const struct plan_tank *tank = &rules->tanks[i];

        tank_temp_c[i] =
            tank_next_temp_c(tank, tank_temp_c[i], air_temp_c, shortwave_w_m2);
        row->tank_temp_c[i] = tank_temp_c[i];
        for (int way = 0; way < PLAN_KEEPINGS; way++)
            row->tank_life_used[way][i] = keeping_used_per_h(
                tank_temp_c[i] + (caution + spread[way]) * error_k / 2);
        row->tank_ice[i] = tank->site == KEEPING_INSIDE
                               ? -1
                               : ice_share(tank_temp_c[i], air_temp_c,
                                           fmax(tank->size_l / 2, 10) / 100);
    }
}

/* Of an hour that is half gone nothing is done any more. */
static bool is_left(utc_s hour_start, utc_s now)
{
    return now - hour_start <= SECONDS_PER_HOUR / 2;
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
                    int hour_count, double (*error_sd_k)(double lead_h),
                    const double *tank_temp_c)
{
    utc_s start =
        now - ((now % SECONDS_PER_HOUR) + SECONDS_PER_HOUR) % SECONDS_PER_HOUR;
    double temp_c[PLAN_MAX_TANKS] = {0};
    int row;

    memset(time, 0, sizeof *time);
    for (int i = 0; tank_temp_c != NULL && i < rules->tank_count; i++)
        temp_c[i] = tank_temp_c[i];
    for (row = 0; row < hour_count && row < PLAN_MAX_HOURS; row++) {
        struct plan_hour *hour = &time->hours[row];
        struct civil_time civil;

        hour->start = start + (utc_s)row * SECONDS_PER_HOUR;
        civil = zone_civil(zone, hour->start);
        if (!begin_day(time, row, civil.date, days))
            break;
        hour->day = time->day_count - 1;
        hour->minute = civil.hour * 60 + civil.minute;
        hour->attended =
            is_attended(rules, hour->minute) && is_left(hour->start, now);
        fill_keeping(hour, rules, air_temp_c[row], shortwave_w_m2[row],
                     error_sd_k != NULL ? error_sd_k(row) : 0, temp_c);
    }
    time->hour_count = row;
    time->day_first[time->day_count] = row;
}
