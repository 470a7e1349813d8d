/* Members of the forecast side by side, TEAM of them: what an hour does to the
 * sap at hand is done to all of a team at once, in wide registers where the
 * machine has them, and to each as it would be alone, to the last bit. A
 * member alone is a team of one: stock.h is made of this. Inside plan/ only. */
#ifndef PLAN_TEAM_H
#define PLAN_TEAM_H

#include <stddef.h>
#include <stdint.h>

#include "plan/stock.h"

enum {
    TEAM = 8,
    TEAM_PLACES = PLAN_MAX_GROUPS + PLAN_MAX_TANKS,
    TEAM_STREAMS = PLAN_MAX_GROUPS + 1
};

/* As struct plan_sap, a value a member. */
struct team_sap {
    double l[TEAM], aged_l[TEAM], ice_l[TEAM];
};

/* As struct plan_stock, a value a member. */
struct team {
    double cost[TEAM];
    int64_t lit[TEAM], round[TEAM];      /* 0, or -1: it is so */
    struct team_sap places[TEAM_PLACES]; /* the groups, then the tanks */
    /* Kept where a tale is told, else left as they are. */
    double ran_l[TEAM], boiled_l[TEAM], overflow_l[TEAM], spoiled_l[TEAM];
    double lit_count[TEAM], trips[TEAM], night_h[TEAM], fire_h[TEAM];
};

/* What is told of each hour: TEAM values a team, `stride` on to the next
 * hour's. NULL: not told. */
struct team_tale {
    double *collected_l, *boiled_l; /* -1: it is not done */
    /* At the hour's end; what is lost, since the stock was begun. */
    double *buckets_l, *tanks_l, *overflow_l, *lost_l;
    size_t stride;
};

struct teams;

/* Rows [from, to) of a civil day for all teams. held_cost (a value a member,
 * plan_stock_held_cost at the end) and tale (of row `from` on) may be NULL. */
typedef void team_pass(const struct teams *teams, struct team *team, int from,
                       int to, const struct plan_day_choice *choice,
                       const struct team_tale *tale, double *held_cost);

/* What the teams of a plan have in common, and what runs in for each. */
struct teams {
    const struct plan_rules *rules;
    const struct plan_costs *costs;
    const struct plan_time *time;
    int members, count; /* what is idle of the last team has no sap */
    int places, streams;
    int first_row, rows, ways; /* that are laid out */
    const double *inflow_l;    /* [team][row][stream][TEAM] */
    const double *life_used;   /* [team % ways][row][place][TEAM] */
    team_pass *pass;           /* as this machine does it best */
    void *memory;              /* owned */
};

/* For the members of the flow; all is borrowed but the flow, which is copied.
 */
void teams_begin(struct teams *teams, const struct plan_rules *rules,
                 const struct plan_costs *costs, const struct plan_time *time,
                 const struct plan_flow *flow);
void teams_end(struct teams *teams);

/* As many members at once: 8 or 4, else 1; at most team_lanes(). */
team_pass *team_pass_of(int lanes);
int team_lanes(void);

/* Zeroed, each at the start of a line of the cache; *memory is to be freed. */
struct team *team_alloc(size_t count, void **memory);
/* The teams of all members, as they begin. */
void teams_set(const struct teams *teams, struct team *to,
               const struct plan_stock *stock);
/* A day begins: no round is under way. */
void teams_wake(const struct teams *teams, struct team *team);
/* What the search needs of them: all but the sums. */
void teams_copy(const struct teams *teams, struct team *to,
                const struct team *from);

/* Of a team, whose idle members have nothing. */
static inline double team_sum(const double value[TEAM])
{
    return ((value[0] + value[1]) + (value[2] + value[3])) +
           ((value[4] + value[5]) + (value[6] + value[7]));
}

/* One member of a team from a stock, and back but for its way of keeping. */
void team_put(struct team *team, int lane, const struct plan_rules *rules,
              const struct plan_stock *stock);
void team_get(const struct team *team, int lane, const struct plan_rules *rules,
              struct plan_stock *stock);
double team_in_buckets_l(const struct team *team, int lane,
                         const struct plan_rules *rules);
double team_in_tanks_l(const struct team *team, int lane,
                       const struct plan_rules *rules);
/* What a member has running in, streams * TEAM on to the next row's. */
const double *teams_inflow(const struct teams *teams, int member, int stream,
                           int row);
/* The life that an hour takes of the sap at each place, TEAM values each, of
 * members that keep it in these ways. */
void team_lay_life_used(const struct plan_rules *rules,
                        const struct plan_hour *hour, const int ways[TEAM],
                        double *to);

#endif
