#include "turn/make_plan.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "publish/plan_actions.h"
#include "sugarhouse/boil.h"
#include "sugarhouse/syrup.h"
#include "weather/forcing.h"
#include "weather/members.h"

enum {
    PLAN_DAYS = 10,
    EMPTIED_HOUR = 17,
    DEFAULT_FROM_MIN = 360,
    DEFAULT_TO_MIN = 1320
};

static const double default_collect_l_h = 570;
static const double default_bucket_l = 15;
static const double default_syrup_brix = 66.9, usual_sap_brix = 2.0;

int plan_stream_of(const struct config *config, int bush)
{
    int group = 0;

    for (int i = 0; i < bush; i++)
        if (config->bushes[i].gathering == GATHERING_BUCKETS &&
            group < PLAN_MAX_GROUPS - 1)
            group++;
    if (config->bushes[bush].gathering == GATHERING_BUCKETS)
        return group;
    /* Tubing comes after the last group. */
    for (int i = bush; i < config->bush_count; i++)
        if (config->bushes[i].gathering == GATHERING_BUCKETS &&
            group < PLAN_MAX_GROUPS)
            group++;
    return group;
}

static void fill_groups(const struct config *config, struct plan_rules *rules)
{
    for (int i = 0; i < config->bush_count; i++) {
        const struct config_bush *bush = &config->bushes[i];
        double bucket_l =
            bush->bucket_l > 0 ? bush->bucket_l : default_bucket_l;
        int group = plan_stream_of(config, i);

        if (bush->gathering != GATHERING_BUCKETS)
            continue;
        rules->groups[group].holds_l += bucket_l * bush->taps;
        if (group >= rules->group_count)
            rules->group_count = group + 1;
    }
}

static struct evaporator evaporator_of(const struct config_sugarhouse *house)
{
    return (struct evaporator){
        .rate_l_h = house->evaporation_l_h,
        .area_m2 = house->pan_area_m2,
        .kind = house->pan_type == PAN_FLAT          ? PAN_KIND_FLAT
                : house->pan_type == PAN_RAISED_FLUE ? PAN_KIND_RAISED_FLUE
                                                     : PAN_KIND_DROP_FLUE,
        .preheater = house->preheater,
        .hood = house->hood,
        .sweet_l = house->pan_sweet_l};
}

static double syrup_brix_of(const struct config_sugarhouse *house)
{
    return house->syrup_brix > 0 ? house->syrup_brix : default_syrup_brix;
}

static void fill_fire(const struct config_sugarhouse *house,
                      struct plan_rules *rules)
{
    struct evaporator evaporator = evaporator_of(house);
    double rate_l_h = evaporator_rate_l_h(&evaporator);
    struct boil litre = boil_plan(&evaporator, 1, usual_sap_brix, 4,
                                  syrup_brix_of(house), 1013.25, 0);

    rules->sap_rate_l_h = rate_l_h / litre.water_l;
    rules->smallest_boil_l = house->smallest_boil_l > 0
                                 ? house->smallest_boil_l
                                 : 2 * rules->sap_rate_l_h;
}

static enum keeping_site site_of(enum storage_site site)
{
    return site == STORAGE_SUN      ? KEEPING_SUN
           : site == STORAGE_INSIDE ? KEEPING_INSIDE
                                    : KEEPING_SHADE;
}

bool plan_rules_from_config(const struct config *config,
                            struct plan_rules *rules)
{
    const struct config_sugarhouse *house = &config->sugarhouse;

    memset(rules, 0, sizeof *rules);
    if (!house->present || house->storage_l <= 0 ||
        (house->evaporation_l_h <= 0 && house->pan_area_m2 <= 0))
        return false;
    fill_groups(config, rules);
    fill_fire(house, rules);
    rules->tanks[0].size_l = house->storage_l;
    rules->tanks[0].site = site_of(house->storage_site);
    rules->tank_count = 1;
    rules->collect_l_h = default_collect_l_h;
    rules->hands = 1;
    rules->attended_from_min = DEFAULT_FROM_MIN;
    rules->attended_to_min = DEFAULT_TO_MIN;
    if (house->attended_to_min > house->attended_from_min) {
        rules->attended_from_min = house->attended_from_min;
        rules->attended_to_min = house->attended_to_min;
    }
    return true;
}

/* All bushes' flow laid onto the plan's streams, member by member. Bushes
 * with fewer members than another repeat theirs. */
static void fill_flow(const struct config *config,
                      const struct bulletin *bulletin, utc_s start,
                      struct plan_flow *flow)
{
    for (int b = 0; b < bulletin->bush_count; b++) {
        const struct bulletin_bush *bush = &bulletin->bushes[b];
        const struct outlook *outlook = bush->outlook;
        int stream = plan_stream_of(config, b);
        int row = (int)((start - outlook->start) / SECONDS_PER_HOUR);

        for (int member = 0; member < flow->members; member++) {
            double *sap_l =
                flow->sap_l +
                (size_t)(member * flow->streams + stream) * (size_t)flow->hours;

            for (int hour = 0; hour < flow->hours; hour++)
                sap_l[hour] +=
                    bush->taps *
                    outlook_member_l_per_tap(
                        outlook, member % outlook->member_count, row + hour);
        }
    }
}

/* What ran since the buckets were last taken as emptied. */
static void fill_stock(const struct config *config,
                       const struct bulletin *bulletin,
                       const struct plan_rules *rules, struct plan_stock *stock)
{
    struct civil_date yesterday =
        civil_date_add(zone_date(bulletin->zone, bulletin->made), -1);
    utc_s emptied = zone_instant(bulletin->zone, yesterday, EMPTIED_HOUR, 0, 0);

    memset(stock, 0, sizeof *stock);
    for (int b = 0; b < bulletin->bush_count; b++) {
        const struct outlook *outlook = bulletin->bushes[b].outlook;
        int stream = plan_stream_of(config, b);
        utc_s hour = emptied;

        for (; hour < bulletin->made && stream < rules->group_count;
             hour += SECONDS_PER_HOUR)
            stock->buckets[stream].l +=
                bulletin->bushes[b].taps *
                outlook_member_l_per_tap(
                    outlook, 0,
                    (int)((hour - outlook->start) / SECONDS_PER_HOUR));
    }
    for (int group = 0; group < rules->group_count; group++)
        if (stock->buckets[group].l > rules->groups[group].holds_l)
            stock->buckets[group].l = rules->groups[group].holds_l;
}

static int most_members(const struct bulletin *bulletin)
{
    int most = 1;

    for (int b = 0; b < bulletin->bush_count; b++)
        if (bulletin->bushes[b].outlook->member_count > most)
            most = bulletin->bushes[b].outlook->member_count;
    return most;
}

/* Hours from `made` on for which the weather is known. */
static int known_hours(const struct forcing *forcing, int row)
{
    int hours = 0;

    while (row + hours < forcing->hours && forcing->known[row + hours])
        hours++;
    return hours;
}

static void plan_with(const struct config *config, struct bulletin *bulletin,
                      const struct plan_rules *rules,
                      const struct forcing *forcing, int row, int hours)
{
    struct plan_costs costs = plan_costs_for(rules);
    struct plan_time *time = mem_alloc(1, sizeof *time);
    struct plan_flow flow = {.members = most_members(bulletin),
                             .streams = rules->group_count + 1,
                             .hours = hours};
    struct plan_stock stock;
    struct plan *plan;

    plan_time_fill(time, rules, bulletin->zone, bulletin->made, PLAN_DAYS,
                   forcing->air_temp_c + row, forcing->shortwave_w_m2 + row,
                   hours, members_error_sd_k);
    flow.sap_l =
        mem_alloc((size_t)flow.members * (size_t)flow.streams * (size_t)hours,
                  sizeof *flow.sap_l);
    fill_flow(config, bulletin, time->hours[0].start, &flow);
    fill_stock(config, bulletin, rules, &stock);
    plan = plan_make(rules, &costs, time, &flow, &stock);
    bulletin_add_plan(bulletin, plan, rules->smallest_boil_l,
                      syrup_from_sap_l(1, usual_sap_brix,
                                       syrup_brix_of(&config->sugarhouse)));
    plan_free(plan);
    free(flow.sap_l);
    free(time);
}

void make_plan(const struct config *config, struct bulletin *bulletin,
               const struct series *weather)
{
    struct forcing *forcing;
    struct plan_rules rules;
    int row = series_row(weather, bulletin->made), hours;

    if (!plan_rules_from_config(config, &rules) || row < 0)
        return;
    forcing = forcing_from_series(weather, config->bushes[0].latitude,
                                  config->bushes[0].longitude);
    hours = known_hours(forcing, row);
    if (hours >= 24)
        plan_with(config, bulletin, &rules, forcing, row, hours);
    forcing_free(forcing);
}
