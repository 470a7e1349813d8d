#include "turn/plan_rules.h"

#include <math.h>
#include <string.h>

#include "sugarhouse/boil.h"
#include "sugarhouse/syrup.h"

enum { DEFAULT_FROM_MIN = 360, DEFAULT_TO_MIN = 1320 };

/* config/assume.c tells these two and the one person. */
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

struct evaporator plan_evaporator(const struct config_sugarhouse *house)
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

/* Sap that a full fire takes in, an hour. */
static double sap_rate_l_h(const struct config_sugarhouse *house)
{
    struct evaporator evaporator = plan_evaporator(house);
    struct boil litre = boil_plan(&evaporator, 1, usual_sap_brix, 4,
                                  syrup_brix_of(house), 1013.25, 0);

    return evaporator_rate_l_h(&evaporator) / litre.water_l;
}

double plan_smallest_boil_l(const struct config_sugarhouse *house)
{
    double usual_l = 2 * sap_rate_l_h(house);

    if (house->smallest_boil_l > 0)
        return house->smallest_boil_l;
    /* More than the tanks hold would never be lit. */
    return house->storage_l > 0 ? fmin(usual_l, house->storage_l / 2) : usual_l;
}

static void fill_fire(const struct config_sugarhouse *house,
                      struct plan_rules *rules)
{
    rules->sap_rate_l_h = sap_rate_l_h(house);
    rules->smallest_boil_l = plan_smallest_boil_l(house);
}

static enum keeping_site site_of(enum storage_site site)
{
    return site == STORAGE_SUN      ? KEEPING_SUN
           : site == STORAGE_INSIDE ? KEEPING_INSIDE
                                    : KEEPING_SHADE;
}

static void fill_tanks(const struct config_sugarhouse *house,
                       struct plan_rules *rules)
{
    for (int i = 0; i < house->tank_count && i < PLAN_MAX_TANKS; i++)
        rules->tanks[rules->tank_count++] = (struct plan_tank){
            house->tanks[i].size_l, site_of(house->tanks[i].site)};
}

bool plan_rules_from_config(const struct config *config,
                            struct plan_rules *rules)
{
    const struct config_sugarhouse *house = &config->sugarhouse;

    memset(rules, 0, sizeof *rules);
    if (!house->present || house->tank_count == 0 ||
        (house->evaporation_l_h <= 0 && house->pan_area_m2 <= 0))
        return false;
    fill_groups(config, rules);
    fill_fire(house, rules);
    fill_tanks(house, rules);
    rules->collect_l_h =
        house->collecting_l_h > 0 ? house->collecting_l_h : default_collect_l_h;
    rules->hands = house->hands > 0 ? house->hands : 1;
    rules->attended_from_min = DEFAULT_FROM_MIN;
    rules->attended_to_min = DEFAULT_TO_MIN;
    if (house->attended_to_min > house->attended_from_min) {
        rules->attended_from_min = house->attended_from_min;
        rules->attended_to_min = house->attended_to_min;
    }
    return true;
}

double plan_syrup_l_per_sap_l(const struct config_sugarhouse *house,
                              double sap_brix)
{
    return syrup_from_sap_l(1, sap_brix > 0 ? sap_brix : usual_sap_brix,
                            syrup_brix_of(house));
}
