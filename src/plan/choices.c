#include <math.h>
#include <stddef.h>

#include "plan/search.h"

enum {
    NOON_MIN = 12 * 60,
    EVENING_MIN = 17 * 60,
    GRAIN = 2,
    COARSE = 3,
    FEW_HOURS = 8
};

/* First attended row of the day from `from_min` on, or -1. */
static int row_at(const struct plan_time *time, int day, int from_min)
{
    for (int row = time->day_first[day]; row < time->day_first[day + 1]; row++)
        if (time->hours[row].attended && time->hours[row].minute >= from_min)
            return row;
    return -1;
}

static int last_attended(const struct plan_time *time, int day)
{
    for (int row = time->day_first[day + 1] - 1; row >= time->day_first[day];
         row--)
        if (time->hours[row].attended)
            return row;
    return -1;
}

static int add_start(short *starts, int count, int row)
{
    for (int i = 0; i < count; i++)
        if (starts[i] == row)
            return count;
    if (row < 0 || count >= PLAN_MAX_STARTS)
        return count;
    starts[count] = (short)row;
    return count + 1;
}

/* The day's sap over all members: what is held at its start and what runs. */
struct day_sap {
    int members;
    double buckets_l, tanks_l, most_tanks_l; /* means, and the largest */
    double runs_buckets_l, runs_tanks_l;     /* of the day, means */
};

/* Added one after another, for all of the day. */
static void add_stream(const struct teams *teams, int day, int member,
                       int stream, double *sum_l)
{
    const int *first = &teams->time->day_first[day];
    const double *l = teams_inflow(teams, member, stream, first[0]);

    for (int row = first[0]; row < first[1]; row++) {
        *sum_l += *l / teams->members;
        l += teams->streams * TEAM;
    }
}

struct plan_day_run plan_day_run(const struct teams *teams, int day)
{
    struct plan_day_run run = {0, 0};

    for (int member = 0; member < teams->members; member++)
        for (int stream = 0; stream < teams->streams; stream++)
            add_stream(teams, day, member, stream,
                       stream < teams->rules->group_count ? &run.buckets_l
                                                          : &run.tanks_l);
    return run;
}

static struct day_sap day_sap(const struct teams *teams,
                              const struct plan_day_run *run,
                              const struct team *at_start)
{
    const struct plan_rules *rules = teams->rules;
    struct day_sap sap = {.members = teams->members,
                          .runs_buckets_l = run->buckets_l,
                          .runs_tanks_l = run->tanks_l};

    for (int member = 0; member < teams->members; member++) {
        const struct team *team = &at_start[member / TEAM];
        double tanks = team_in_tanks_l(team, member % TEAM, rules);

        sap.buckets_l +=
            team_in_buckets_l(team, member % TEAM, rules) / teams->members;
        sap.tanks_l += tanks / teams->members;
        sap.most_tanks_l = fmax(sap.most_tanks_l, tanks);
    }
    return sap;
}

/* The latest lighting that has the day's sap boiled before the end. */
static int late_start(const struct plan_rules *rules,
                      const struct plan_time *time, int day, double sap_l)
{
    int hours = (int)ceil(sap_l / rules->sap_rate_l_h) + 1;
    int row = last_attended(time, day) - hours + 1;

    return row > row_at(time, day, 0) ? row : -1;
}

/* Every other attended hour of today; of all days for one member, who can be
 * exact. Every hour where few are attended, so that each counts. */
static int add_fine_starts(const struct plan_time *time, int day, int members,
                           short *starts, int count)
{
    int first = row_at(time, day, 0), last = last_attended(time, day);
    int grain = last - first < FEW_HOURS ? 1 : GRAIN;

    if (first < 0 || (members > 1 && day > 0 && grain == GRAIN))
        return count;
    for (int row = first + grain; row <= last; row += grain)
        count = add_start(starts, count, row);
    return count;
}

/* Whatever can be carried is looked at: a little may be what the tanks lack
 * for a fire. */
static int collect_starts(const struct plan_rules *rules,
                          const struct plan_time *time, int day,
                          const struct day_sap *sap, short *starts)
{
    double least_l = rules->collect_l_h / 60;
    int count = 0;

    if (sap->buckets_l + sap->runs_buckets_l < least_l)
        return 0;
    if (sap->buckets_l > least_l)
        count = add_start(starts, count, row_at(time, day, 0));
    count = add_start(starts, count, row_at(time, day, NOON_MIN));
    count = add_start(starts, count, row_at(time, day, EVENING_MIN));
    return add_fine_starts(time, day, sap->members, starts, count);
}

static int boil_starts(const struct plan_rules *rules,
                       const struct plan_time *time, int day,
                       const struct day_sap *sap, short *starts)
{
    double all =
        sap->buckets_l + sap->runs_buckets_l + sap->tanks_l + sap->runs_tanks_l;
    int count = 0;

    if (all < rules->smallest_boil_l * 0.5 &&
        sap->most_tanks_l < rules->smallest_boil_l)
        return 0;
    count = add_start(starts, count, row_at(time, day, 0));
    count = add_start(starts, count, row_at(time, day, NOON_MIN));
    count = add_start(starts, count, row_at(time, day, EVENING_MIN));
    count = add_start(starts, count, late_start(rules, time, day, all));
    return add_fine_starts(time, day, sap->members, starts, count);
}

static int add_choice(struct plan_day_choice *out, int count, int first_round,
                      int second_round, int boil_from)
{
    if (count >= PLAN_MAX_CHOICES)
        return count;
    out[count] = (struct plan_day_choice){
        {(short)first_round, (short)second_round}, (short)boil_from, {0, 0}};
    return count + 1;
}

int plan_choices(const struct teams *teams, int day,
                 const struct plan_day_run *run, const struct team *at_start,
                 struct plan_day_choice out[PLAN_MAX_CHOICES])
{
    const struct plan_rules *rules = teams->rules;
    const struct plan_time *time = teams->time;
    struct day_sap sap = day_sap(teams, run, at_start);
    /* Set: gcc 12 compares the first with a start before it looks how many
     * there are, and valgrind minds. */
    short rounds[PLAN_MAX_STARTS] = {0}, fires[PLAN_MAX_STARTS] = {0};
    int round_count = collect_starts(rules, time, day, &sap, rounds);
    int fire_count = boil_starts(rules, time, day, &sap, fires);
    int count = 0;

    for (int fire = -1; fire < fire_count; fire++) {
        int lit = fire < 0 ? -1 : fires[fire];

        count = add_choice(out, count, -1, -1, lit);
        for (int i = 0; i < round_count; i++) {
            count = add_choice(out, count, rounds[i], -1, lit);
            for (int k = i + 1; k < round_count && k < COARSE; k++)
                count = add_choice(out, count, rounds[i], rounds[k], lit);
        }
    }
    return count;
}
