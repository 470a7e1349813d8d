/* What the plan must respect, and what it plans with. Litres of sap, hours;
 * costs are counted in litres of sap lost. */
#ifndef PLAN_RULES_H
#define PLAN_RULES_H

#include <stdbool.h>

#include "base/civil_time.h"
#include "sugarhouse/keeping.h"

enum {
    PLAN_MAX_GROUPS = 4, /* of buckets: bushes of one kind together */
    PLAN_MAX_TANKS = 4,  /* in series, from the bush to the pan */
    PLAN_MAX_DAYS = 16,
    PLAN_KEEPINGS = 5, /* ways in which held sap may keep, by member */
    PLAN_MAX_HOURS = (PLAN_MAX_DAYS + 1) * 25
};

struct plan_tank {
    double size_l;
    enum keeping_site site;
};

/* Trees whose sap waits in buckets until someone carries it in. */
struct plan_group {
    double holds_l; /* all its buckets together */
};

struct plan_rules {
    struct plan_group groups[PLAN_MAX_GROUPS];
    int group_count;
    struct plan_tank tanks[PLAN_MAX_TANKS]; /* tubing runs into the first;
                                               the pan draws from the last */
    int tank_count;                         /* at least 1 */
    double sap_rate_l_h;    /* sap that a full fire takes in, an hour */
    double smallest_boil_l; /* less is not worth a fire and dries the pan */
    double collect_l_h;     /* how fast buckets are carried in */
    int hands; /* people: with one, nobody collects while the fire burns */
    int attended_from_min, attended_to_min; /* minutes of the civil day */
};

/* What losses and toil weigh, in litres of sap. The weights of toil are ours,
 * set so that whole seasons come out well (docs/plan.md). */
struct plan_costs {
    double overflow_per_l; /* 1: it is lost */
    double spoiled_per_l;  /* 1 */
    double light_up;       /* lighting the fire: wood, an hour of work */
    double early_per_h;    /* lighting it today, for each hour before the end
                              of the attended time: who waits knows more */
    double trip;           /* going round the buckets */
    double night_per_h;    /* at the fire after 20:00 */
    double held_per_life;  /* grade lost: per litre boiled and life used */
    double ice_per_l;      /* a litre of a tank's sap that freezes */
    double icebound_per_l; /* of the room for three smallest boils that the
                              tanks' ice takes, in the end */
    double backlog_per_l;  /* held in the end, beyond what a day's fire takes */
};
/* Fewer than eight hours of a day are left to boil in: then it is the fire's
 * time that is short. */
bool plan_has_few_hours(const struct plan_rules *rules);

/* Toil weighs as much sap as the operation is big: a fire what a fraction of
 * the smallest boil does, less where hours are few, a round or an hour of the
 * night what a fraction of the fire's hour does. */
struct plan_costs plan_costs_for(const struct plan_rules *rules);

/* One hour of the time planned for, the same for all members. */
struct plan_hour {
    utc_s start;
    int day;       /* 0 for the first civil day */
    int minute;    /* of the civil day, at its start */
    bool attended; /* the whole hour lies in the attended time */
    /* See keeping.h; for each way it may keep. */
    double bucket_life_used[PLAN_KEEPINGS];
    double bucket_ice; /* share of the sap that freezes; below 0: melts */
    double tank_temp_c[PLAN_MAX_TANKS]; /* of the sap at the hour's end */
    double tank_life_used[PLAN_KEEPINGS][PLAN_MAX_TANKS];
    double tank_ice[PLAN_MAX_TANKS];
    double icy_life_used; /* by sap that has ice in it: at freezing */
};

struct plan_time {
    struct plan_hour hours[PLAN_MAX_HOURS];
    int hour_count;
    int day_first[PLAN_MAX_DAYS + 2]; /* row of each day's first hour; the row
                                         after the last day's end follows */
    struct civil_date dates[PLAN_MAX_DAYS + 1];
    int day_count;
};

/* Lays out the hours from `now` (rounded down; that hour is not attended any
 * more once it is half gone) to the end of the civil day `days` - 1 days on (at
 * most PLAN_MAX_DAYS), with what the weather does to sap in buckets and tanks.
 * air_temp_c and shortwave_w_m2 have a value an hour from the first hour on, at
 * least `hour_count` of them; the time ends where they do. Tanks follow the air
 * as keeping.h says, at half their volume, from tank_temp_c on (a tank each;
 * NULL: from freezing); buckets hang in the sun and follow the air at once.
 *
 * Ice: once the sap is down to freezing, a degree-hour of frost freezes the
 * share 0.0014 / cbrt(hectolitres) of it, from the latent heat (334 kJ/kg)
 * and 10 W/m2K at the wall of a vessel (1 hL: 1.3 m2), and one of thaw melts
 * as much. Inside nothing freezes. A bucket counts as 5 L of sap.
 *
 * `error_sd_k` gives the standard deviation of the forecast's error by lead
 * hours (members_error_sd_k), NULL where the weather is known: sap is reckoned
 * to keep as if it were warmer by a part of that, another for each of the
 * PLAN_KEEPINGS that the members share among them, since sap that spoils early
 * is lost whole: 0.7 of it on average, 0.4 where hours are few, since sap given
 * up as lost leaves the fire without any (assumptions of ours). */
void plan_time_fill(struct plan_time *time, const struct plan_rules *rules,
                    const struct zone *zone, utc_s now, int days,
                    const double *air_temp_c, const double *shortwave_w_m2,
                    int hour_count, double (*error_sd_k)(double lead_h),
                    const double *tank_temp_c);

/* How warm sap in each tank is after these hours of weather, from freezing on:
 * tank_temp_c has rules->tank_count values, the weather `hours`. */
void plan_tank_temps(const struct plan_rules *rules, const double *air_temp_c,
                     const double *shortwave_w_m2, int hours,
                     double *tank_temp_c);

/* Flow of all members: litres in the hour, [member][stream][hour] with
 * group_count + 1 streams: each group's buckets, then the tubing. */
struct plan_flow {
    int members, streams, hours;
    double *sap_l; /* borrowed */
};

#endif
