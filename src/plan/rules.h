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

/* What losses and toil weigh, in litres of sap. Assumptions of ours: a litre
 * of sap of 2 % is worth a few cents, an hour of work some fifty litres. */
struct plan_costs {
    double overflow_per_l;  /* 1: it is lost */
    double spoiled_per_l;   /* 1 */
    double light_up;        /* lighting the fire: wood, an hour of work */
    double trip;            /* going round the buckets */
    double night_per_h;     /* at the fire after 20:00 */
    double held_per_life_l; /* grade lost: per litre boiled and life used */
    double frozen_per_l;    /* in a tank that freezes hard */
};
struct plan_costs plan_costs_default(void);

/* One hour of the time planned for, the same for all members. */
struct plan_hour {
    utc_s start;
    int day;                 /* 0 for the first civil day */
    int minute;              /* of the civil day, at its start */
    bool attended;           /* the whole hour lies in the attended time */
    double bucket_life_used; /* see keeping.h */
    double tank_life_used[PLAN_MAX_TANKS];
    bool tank_frozen[PLAN_MAX_TANKS];  /* no sap can be drawn */
    bool tank_freezes[PLAN_MAX_TANKS]; /* it becomes so in this hour */
};

struct plan_time {
    struct plan_hour hours[PLAN_MAX_HOURS];
    int hour_count;
    int day_first[PLAN_MAX_DAYS + 2]; /* row of each day's first hour; the row
                                         after the last day's end follows */
    struct civil_date dates[PLAN_MAX_DAYS + 1];
    int day_count;
};

/* Lays out the hours from `now` (rounded down) to the end of the civil day
 * `days` - 1 days on (at most PLAN_MAX_DAYS), with what the weather does to
 * sap in buckets and tanks. air_temp_c and shortwave_w_m2 have a value an
 * hour from the first hour on, at least `hour_count` of them; the time ends
 * where they do. Tanks follow the air as keeping.h says, at half their
 * volume; a tank not inside is frozen hard when a fifth of it is ice: after
 * 143 K h of frost times the cube root of its volume in hectolitres (from the
 * latent heat and 10 W/m2K at its wall; rules.c), and thaws likewise
 * (the fifth is an assumption of ours). Buckets hang in the sun and follow
 * the air at once.
 *
 * `error_sd_k` gives the standard deviation of the forecast's error by lead
 * hours (members_error_sd_k), NULL where the weather is known: sap is reckoned
 * to keep as if it were half of that warmer, since sap that spoils early is
 * lost whole (assumption of ours). */
void plan_time_fill(struct plan_time *time, const struct plan_rules *rules,
                    const struct zone *zone, utc_s now, int days,
                    const double *air_temp_c, const double *shortwave_w_m2,
                    int hour_count, double (*error_sd_k)(double lead_h));

/* Flow of all members: litres in the hour, [member][stream][hour] with
 * group_count + 1 streams: each group's buckets, then the tubing. */
struct plan_flow {
    int members, streams, hours;
    double *sap_l; /* borrowed */
};

#endif
