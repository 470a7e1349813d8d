#include "turn/make_plan.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "logbook/log_stock.h"
#include "publish/plan_actions.h"
#include "sugarhouse/keeping.h"
#include "weather/members.h"
#include "weather/sun.h"

enum {
    PLAN_DAYS = 10,
    EMPTIED_HOUR = 17,
    LEAST_HOURS = 24,
    HOURS_BEFORE = 96,
    HELD_DAYS = 7
};

static const double half_clouded = 0.5;
/* Held sap is spoken of from this share of a smallest boil on. */
static const double held_told_share = 0.1;
static const double one_bucket_l = 5; /* as plan/rules.h */

/* One turn's planning. */
struct planning {
    const struct config *config;
    struct bulletin *bulletin;
    struct plan_rules rules;
    int stream[CONFIG_MAX_BUSHES]; /* of each of the bulletin's bushes; -1: no
                                      sap of it is to be had */
    double *air_temp_c, *shortwave_w_m2; /* owned; from the hour of made on */
    int hours;
    double tank_temp_c[PLAN_MAX_TANKS]; /* of the sap now */
    bool logged;                        /* the stock comes from the log */
};

static int config_bush_of(const struct config *config, const char *name)
{
    for (int i = 0; i < config->bush_count; i++)
        if (strcmp(config->bushes[i].name, name) == 0)
            return i;
    return -1;
}

/* Sap may be held yet for some days after the taps are out. */
static bool pulled_lately(const struct bulletin *bulletin,
                          const struct bulletin_bush *bush)
{
    struct civil_date today = zone_date(bulletin->zone, bulletin->made);

    return bush->season != NULL && bush->season->pulled.year != 0 &&
           civil_date_compare(civil_date_add(bush->season->pulled, HELD_DAYS),
                              today) >= 0;
}

/* Taps that are in: sap of a bush that is not tapped is no sap. */
static bool is_running(const struct bulletin_bush *bush)
{
    return bush->season != NULL && bush->season->tapped.year != 0 &&
           bush->season->pulled.year == 0;
}

static bool find_streams(struct planning *planning)
{
    bool any = false;

    for (int b = 0; b < planning->bulletin->bush_count; b++) {
        const struct bulletin_bush *bush = &planning->bulletin->bushes[b];
        int number = config_bush_of(planning->config, bush->name);

        planning->stream[b] = number >= 0 && is_running(bush)
                                  ? plan_stream_of(planning->config, number)
                                  : -1;
        any |=
            planning->stream[b] >= 0 || pulled_lately(planning->bulletin, bush);
    }
    return any;
}

/* Air and sun from the hour of `made` on as far as they are known; false if
 * that is less than a day. */
static bool take_weather(struct planning *planning)
{
    const struct bulletin *bulletin = planning->bulletin;
    const struct bulletin_bush *bush = &bulletin->bushes[0];
    const struct outlook *outlook = bush->outlook;
    utc_s start = bulletin->made - bulletin->made % SECONDS_PER_HOUR;
    int row = (int)((start - outlook->start) / SECONDS_PER_HOUR);
    int number = config_bush_of(planning->config, bush->name);
    const struct config_bush *place =
        &planning->config->bushes[number >= 0 ? number : 0];
    size_t left =
        row >= 0 && row < outlook->hours ? (size_t)(outlook->hours - row) : 0;

    planning->air_temp_c = mem_alloc(left + 1, sizeof(double));
    planning->shortwave_w_m2 = mem_alloc(left + 1, sizeof(double));
    for (int hour = 0; hour < (int)left && bush->air_temp_c != NULL &&
                       bush->air_known[row + hour];
         hour++) {
        planning->air_temp_c[hour] = bush->air_temp_c[row + hour];
        planning->hours = hour + 1;
    }
    sun_shortwave_hours(place->latitude, place->longitude, start,
                        planning->hours, half_clouded,
                        planning->shortwave_w_m2);
    return planning->hours >= LEAST_HOURS;
}

/* How warm the tanks have become by the weather of the last days. */
static void warm_tanks(struct planning *planning)
{
    const struct bulletin *bulletin = planning->bulletin;
    const struct bulletin_bush *bush = &bulletin->bushes[0];
    int number = config_bush_of(planning->config, bush->name);
    const struct config_bush *place =
        &planning->config->bushes[number >= 0 ? number : 0];
    int now = (int)((bulletin->made - bush->outlook->start) / SECONDS_PER_HOUR);
    double air_temp_c[HOURS_BEFORE], shortwave_w_m2[HOURS_BEFORE];
    int first = now > HOURS_BEFORE ? now - HOURS_BEFORE : 0, hours = 0;

    sun_shortwave_hours(place->latitude, place->longitude,
                        bush->outlook->start + (utc_s)first * SECONDS_PER_HOUR,
                        now - first, half_clouded, shortwave_w_m2);
    for (int row = first; row < now; row++) {
        if (!bush->air_known[row])
            continue;
        air_temp_c[hours] = bush->air_temp_c[row];
        shortwave_w_m2[hours++] = shortwave_w_m2[row - first];
    }
    plan_tank_temps(&planning->rules, air_temp_c, shortwave_w_m2, hours,
                    planning->tank_temp_c);
}

/* All bushes' flow laid onto the plan's streams, member by member. Bushes
 * with fewer members than another repeat theirs. */
static void fill_flow(const struct planning *planning, utc_s start,
                      struct plan_flow *flow)
{
    for (int b = 0; b < planning->bulletin->bush_count; b++) {
        const struct bulletin_bush *bush = &planning->bulletin->bushes[b];
        const struct outlook *outlook = bush->outlook;
        int row = (int)((start - outlook->start) / SECONDS_PER_HOUR);

        for (int member = 0; member < flow->members && planning->stream[b] >= 0;
             member++) {
            double *sap_l = flow->sap_l + (size_t)(member * flow->streams +
                                                   planning->stream[b]) *
                                              (size_t)flow->hours;

            for (int hour = 0; hour < flow->hours; hour++)
                sap_l[hour] +=
                    bush->taps *
                    outlook_member_l_per_tap(
                        outlook, member % outlook->member_count, row + hour);
        }
    }
}

/* Life that sap of this age has used, by the air of the first bush. */
static double life_used(const struct planning *planning, double age_h)
{
    const struct bulletin *bulletin = planning->bulletin;
    const struct bulletin_bush *bush = &bulletin->bushes[0];
    int row = (int)((bulletin->made - bush->outlook->start) / SECONDS_PER_HOUR);
    double used = 0;

    for (int hour = 1; hour <= (int)(age_h + 0.5) && row - hour >= 0 &&
                       bush->air_temp_c != NULL;
         hour++)
        if (bush->air_known[row - hour])
            used += keeping_used_per_h(bush->air_temp_c[row - hour]);
    return used < 0.95 ? used : 0.95;
}

static void add_held(struct plan_sap *to, double l, double used)
{
    if (l <= 0)
        return;
    to->aged_l += l * used;
    to->l += l;
}

static void cap_held(struct plan_sap *held, double most_l)
{
    if (held->l <= most_l)
        return;
    held->aged_l *= most_l / held->l;
    held->l = most_l;
}

/* From the tank nearest the pan on. */
static void fill_tanks(const struct planning *planning,
                       const struct log_held *held, struct plan_stock *stock)
{
    double left = held->l, used = life_used(planning, held->age_h);

    for (int i = planning->rules.tank_count - 1; i >= 0 && left > 0; i--) {
        double size = planning->rules.tanks[i].size_l;
        double part = left < size ? left : size;

        add_held(&stock->tanks[i], part, used);
        left -= part;
    }
}

static struct log_stock_bush stock_bush(const struct planning *planning, int b)
{
    const struct bulletin_bush *bush = &planning->bulletin->bushes[b];
    const struct config *config = planning->config;
    int number = config_bush_of(config, bush->name);

    return (struct log_stock_bush){
        .name = bush->name,
        .buckets = bush->gathering == GATHERING_BUCKETS,
        .taps = bush->taps,
        .bucket_l = number >= 0 ? config->bushes[number].bucket_l : 0,
        .flow_start = bush->outlook->start,
        .flow_hours = bush->outlook->hours,
        .sap_l_per_tap = bush->outlook->sap_l_per_tap,
        .has_tapped = planning->stream[b] >= 0,
        .tapped = planning->stream[b] >= 0
                      ? zone_instant(planning->bulletin->zone,
                                     bush->season->tapped, 12, 0, 0)
                      : 0};
}

/* What ran since the buckets were last taken as emptied. */
static double ran_since_emptied_l(const struct planning *planning, int b)
{
    const struct bulletin *bulletin = planning->bulletin;
    const struct outlook *outlook = bulletin->bushes[b].outlook;
    struct civil_date yesterday =
        civil_date_add(zone_date(bulletin->zone, bulletin->made), -1);
    utc_s hour = zone_instant(bulletin->zone, yesterday, EMPTIED_HOUR, 0, 0);
    double sum = 0;

    for (; hour < bulletin->made; hour += SECONDS_PER_HOUR)
        sum +=
            bulletin->bushes[b].taps *
            outlook_member_l_per_tap(
                outlook, 0, (int)((hour - outlook->start) / SECONDS_PER_HOUR));
    return sum;
}

static void fill_stock(struct planning *planning, const struct log_view *log,
                       struct plan_stock *stock)
{
    const struct bulletin *bulletin = planning->bulletin;
    struct log_stock_bush bushes[CONFIG_MAX_BUSHES];
    struct log_stock_house house = {
        .storage_l = planning->config->sugarhouse.storage_l,
        .sap_rate_l_h = planning->rules.sap_rate_l_h};
    struct log_stock *held = mem_alloc(1, sizeof *held);

    memset(stock, 0, sizeof *stock);
    for (int b = 0; b < bulletin->bush_count; b++)
        bushes[b] = stock_bush(planning, b);
    log_stock_make(log, bulletin->zone, bulletin->made, bushes,
                   bulletin->bush_count, &house, held);
    planning->logged = held->has_log;
    for (int b = 0; b < bulletin->bush_count; b++) {
        int stream = planning->stream[b];

        if (stream < 0 || stream >= planning->rules.group_count)
            continue;
        if (held->has_log)
            add_held(&stock->buckets[stream], held->buckets[b].l,
                     life_used(planning, held->buckets[b].age_h));
        else
            add_held(&stock->buckets[stream], ran_since_emptied_l(planning, b),
                     0);
    }
    for (int group = 0; group < planning->rules.group_count; group++)
        cap_held(&stock->buckets[group], planning->rules.groups[group].holds_l);
    if (held->has_log)
        fill_tanks(planning, &held->tanks, stock);
    free(held);
}

/* By when held sap darkens the syrup and by when it is lost; told where that is
 * in sight. `patterns`: with both moments, and where the first has passed. */
static void say_held(struct planning *planning, const struct plan_sap *sap,
                     double temp_c, double volume_l, enum keeping_site site,
                     const char *const patterns[2])
{
    struct bulletin *bulletin = planning->bulletin;
    utc_s start = bulletin->made - bulletin->made % SECONDS_PER_HOUR;
    struct keeping_course course;
    struct saying_value spoiled;

    if (sap->l < held_told_share * planning->rules.smallest_boil_l)
        return;
    course = keeping_follow(temp_c, sap->l > 0 ? sap->aged_l / sap->l : 0,
                            volume_l, site, planning->air_temp_c,
                            planning->shortwave_w_m2, planning->hours);
    if (course.hours_left > planning->hours)
        return;
    spoiled = said_moment(start + (utc_s)course.hours_left * SECONDS_PER_HOUR);
    if (course.boil_by_h < 1)
        bulletin_note(bulletin, patterns[1], spoiled, said_nothing());
    else
        bulletin_note(
            bulletin, patterns[0],
            said_moment(start + (utc_s)course.boil_by_h * SECONDS_PER_HOUR),
            spoiled);
}

/* Of what the log leaves in tanks and buckets, what will be lost first. */
static void say_keeping(struct planning *planning,
                        const struct plan_stock *stock)
{
    static const char *const tanks[2] = {
        N_("Sap held in the tanks: by %s its syrup passes a fifth less light, "
           "by %s it is spoiled."),
        N_("Sap held in the tanks: its syrup passes a fifth less light "
           "already, by %s it is spoiled.")};
    static const char *const buckets[2] = {
        N_("Sap held in the buckets: by %s its syrup passes a fifth less "
           "light, by %s it is spoiled."),
        N_("Sap held in the buckets: its syrup passes a fifth less light "
           "already, by %s it is spoiled.")};
    const struct plan_sap *oldest = &stock->buckets[0];
    int fullest = 0;

    for (int i = 1; i < planning->rules.tank_count; i++)
        if (stock->tanks[i].l > stock->tanks[fullest].l)
            fullest = i;
    say_held(planning, &stock->tanks[fullest], planning->tank_temp_c[fullest],
             stock->tanks[fullest].l, planning->rules.tanks[fullest].site,
             tanks);
    for (int i = 1; i < planning->rules.group_count; i++)
        if (stock->buckets[i].aged_l > oldest->aged_l)
            oldest = &stock->buckets[i];
    say_held(planning, oldest, planning->air_temp_c[0], one_bucket_l,
             KEEPING_SUN, buckets);
}

static int most_members(const struct bulletin *bulletin)
{
    int most = 1;

    for (int b = 0; b < bulletin->bush_count; b++)
        if (bulletin->bushes[b].outlook->member_count > most)
            most = bulletin->bushes[b].outlook->member_count;
    return most;
}

static void plan_with(struct planning *planning, const struct log_view *log)
{
    struct bulletin *bulletin = planning->bulletin;
    const struct config_sugarhouse *house = &planning->config->sugarhouse;
    struct plan_costs costs = plan_costs_for(&planning->rules);
    struct plan_time *time = mem_alloc(1, sizeof *time);
    struct plan_flow flow = {.members = most_members(bulletin),
                             .streams = planning->rules.group_count + 1,
                             .hours = planning->hours};
    struct plan_told told = {.rules = &planning->rules,
                             .syrup_brix = house->syrup_brix};
    double sap_brix = 0;
    struct plan_stock stock;
    struct plan *plan;

    plan_time_fill(time, &planning->rules, bulletin->zone, bulletin->made,
                   PLAN_DAYS, planning->air_temp_c, planning->shortwave_w_m2,
                   planning->hours, members_error_sd_k, planning->tank_temp_c);
    flow.sap_l = mem_alloc((size_t)flow.members * (size_t)flow.streams *
                               (size_t)flow.hours,
                           sizeof *flow.sap_l);
    fill_flow(planning, time->hours[0].start, &flow);
    fill_stock(planning, log, &stock);
    told.logged = planning->logged;
    told.has_sugar = log_sugar_lately(log, bulletin->made, LOG_MOST_SAP_BRIX,
                                      &sap_brix, &told.sugar_at);
    told.syrup_l_per_sap_l = plan_syrup_l_per_sap_l(house, sap_brix);
    plan = plan_make(&planning->rules, &costs, time, &flow, &stock);
    bulletin_add_plan(bulletin, plan, &told);
    if (planning->logged)
        say_keeping(planning, &stock);
    plan_free(plan);
    free(flow.sap_l);
    free(time);
}

/* A run in sight and no taps known of. */
static bool misses_a_run(const struct bulletin *bulletin)
{
    struct civil_date today = zone_date(bulletin->zone, bulletin->made);

    for (int i = 0; i < bulletin->day_count; i++)
        if (civil_date_compare(bulletin->days[i].date, today) >= 0 &&
            bulletin->days[i].strength >= STRENGTH_FAIR_RUN)
            return true;
    return false;
}

static bool any_season(const struct bulletin *bulletin)
{
    for (int b = 0; b < bulletin->bush_count; b++)
        if (bulletin->bushes[b].season != NULL &&
            bulletin->bushes[b].season->pulled.year == 0)
            return true;
    return false;
}

/* Where the sugarhouse is told, but not all of it. */
static enum plan_lack house_lacks(const struct config *config,
                                  const struct bulletin *bulletin)
{
    const struct config_sugarhouse *house = &config->sugarhouse;

    if (!house->present || !any_season(bulletin))
        return LACKS_NOTHING;
    return house->tank_count == 0 ? LACKS_TANK : LACKS_EVAPORATOR;
}

/* A fire takes two whole hours. */
static bool fits_a_fire(const struct plan_rules *rules)
{
    int from_h = (rules->attended_from_min + 59) / 60;

    return rules->attended_to_min / 60 - from_h >= 2;
}

static void make_known_plan(struct planning *planning,
                            const struct log_view *log)
{
    struct bulletin *bulletin = planning->bulletin;

    if (!find_streams(planning)) {
        if (any_season(bulletin) && misses_a_run(bulletin))
            bulletin->lack = LACKS_TAPS;
        return;
    }
    if (!fits_a_fire(&planning->rules)) {
        bulletin->lack = LACKS_HOURS;
        return;
    }
    if (take_weather(planning)) {
        warm_tanks(planning);
        plan_with(planning, log);
    }
}

void make_plan(const struct config *config, const struct log_view *log,
               struct bulletin *bulletin)
{
    struct planning *planning = mem_alloc(1, sizeof *planning);

    planning->config = config;
    planning->bulletin = bulletin;
    if (!plan_rules_from_config(config, &planning->rules))
        bulletin->lack = house_lacks(config, bulletin);
    else if (bulletin->bush_count > 0)
        make_known_plan(planning, log);
    free(planning->air_temp_c);
    free(planning->shortwave_w_m2);
    free(planning);
}
