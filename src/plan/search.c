#include "plan/search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

/* Two courses after which about as much sap of about the same age is held, to
 * these shares of the smallest boil and of a life, are alike: the cheaper one
 * stands for both, so that the beam holds unlike ones. */
static const double alike_l = 0.1, alike_life = 0.05;

enum {
    NOON_MIN = 12 * 60,
    EVENING_MIN = 17 * 60,
    MAX_STARTS = 16,
    GRAIN = 2,
    COARSE = 3
};

struct node {
    struct plan_stock *stocks; /* a member each; owned */
    struct plan_day_choice choices[PLAN_MAX_DAYS];
    double cost; /* expected, with what is held */
    struct niche {
        int buckets, tanks, buckets_life, tanks_life;
    } niche;
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
    if (row < 0 || count >= MAX_STARTS)
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

static void add_flow(struct day_sap *sap, const struct plan_rules *rules,
                     const struct plan_time *time, int day,
                     const struct plan_flow *flow, int member)
{
    const double *sap_l = flow->sap_l + (size_t)member * (size_t)flow->streams *
                                            (size_t)flow->hours;

    for (int stream = 0; stream < flow->streams; stream++)
        for (int row = time->day_first[day]; row < time->day_first[day + 1];
             row++) {
            double l = sap_l[stream * flow->hours + row] / flow->members;

            if (stream < rules->group_count)
                sap->runs_buckets_l += l;
            else
                sap->runs_tanks_l += l;
        }
}

static struct day_sap day_sap(const struct plan_rules *rules,
                              const struct plan_time *time, int day,
                              const struct plan_stock *stocks, int members,
                              const struct plan_flow *flow)
{
    struct day_sap sap = {.members = members};

    for (int member = 0; member < members; member++) {
        double tanks = plan_stock_in_tanks_l(&stocks[member], rules);

        sap.buckets_l +=
            plan_stock_in_buckets_l(&stocks[member], rules) / members;
        sap.tanks_l += tanks / members;
        sap.most_tanks_l = fmax(sap.most_tanks_l, tanks);
        add_flow(&sap, rules, time, day, flow, member);
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

/* Every other attended hour: for one member, who can be exact. */
static int add_fine_starts(const struct plan_time *time, int day, short *starts,
                           int count)
{
    int first = row_at(time, day, 0), last = last_attended(time, day);

    for (int row = first + GRAIN; first >= 0 && row <= last; row += GRAIN)
        count = add_start(starts, count, row);
    return count;
}

static int collect_starts(const struct plan_rules *rules,
                          const struct plan_time *time, int day,
                          const struct day_sap *sap, short *starts)
{
    int count = 0;

    if (sap->buckets_l + sap->runs_buckets_l < rules->collect_l_h / 10)
        return 0;
    if (sap->buckets_l > rules->collect_l_h / 10)
        count = add_start(starts, count, row_at(time, day, 0));
    count = add_start(starts, count, row_at(time, day, NOON_MIN));
    count = add_start(starts, count, row_at(time, day, EVENING_MIN));
    return sap->members == 1 ? add_fine_starts(time, day, starts, count)
                             : count;
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
    return sap->members == 1 ? add_fine_starts(time, day, starts, count)
                             : count;
}

static int add_choice(struct plan_day_choice *out, int count, int first_round,
                      int second_round, int boil_from)
{
    if (count >= PLAN_MAX_CHOICES)
        return count;
    out[count] = (struct plan_day_choice){
        {(short)first_round, (short)second_round}, (short)boil_from, 0};
    return count + 1;
}

int plan_choices(const struct plan_rules *rules, const struct plan_time *time,
                 int day, const struct plan_stock *stocks, int members,
                 const struct plan_flow *flow,
                 struct plan_day_choice out[PLAN_MAX_CHOICES])
{
    struct day_sap sap = day_sap(rules, time, day, stocks, members, flow);
    short rounds[MAX_STARTS], fires[MAX_STARTS];
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

/* Runs the day for all members; returns the expected cost with what is held
 * at its end. */
static double run_day(const struct plan_rules *rules,
                      const struct plan_costs *costs,
                      const struct plan_time *time, int day,
                      const struct plan_day_choice *choice,
                      const struct plan_flow *flow, struct plan_stock *stocks)
{
    double sum = 0;

    for (int member = 0; member < flow->members; member++) {
        plan_stock_rows(&stocks[member], rules, costs, time,
                        time->day_first[day], time->day_first[day + 1], choice,
                        flow, member, NULL);
        sum += stocks[member].cost +
               plan_stock_held_cost(&stocks[member], rules, costs);
    }
    return sum / flow->members;
}

struct search {
    const struct plan_rules *rules;
    const struct plan_costs *costs;
    const struct plan_time *time;
    const struct plan_flow *flow;
    struct plan_stock *trial; /* a member each */
    size_t stocks_size;
    int width; /* of the beam */
};

/* The place of a new node among the best, or -1 if it is none of them. */
static int beam_place(const struct node *beam, int count, int width,
                      double cost)
{
    int place = count;

    while (place > 0 && cost < beam[place - 1].cost)
        place--;
    return place < width ? place : -1;
}

static bool same_niche(const struct niche *a, const struct niche *b)
{
    return a->buckets == b->buckets && a->tanks == b->tanks &&
           a->buckets_life == b->buckets_life && a->tanks_life == b->tanks_life;
}

static struct niche find_niche(const struct search *search)
{
    const struct plan_rules *rules = search->rules;
    double buckets = 0, tanks = 0, buckets_life = 0, tanks_life = 0;
    double step_l = alike_l * rules->smallest_boil_l * search->flow->members;

    for (int member = 0; member < search->flow->members; member++) {
        const struct plan_stock *stock = &search->trial[member];

        for (int i = 0; i < rules->group_count; i++) {
            buckets += stock->buckets[i].l;
            buckets_life += stock->buckets[i].l * stock->buckets[i].life_used;
        }
        for (int i = 0; i < rules->tank_count; i++) {
            tanks += stock->tanks[i].l;
            tanks_life += stock->tanks[i].l * stock->tanks[i].life_used;
        }
    }
    step_l = step_l > 1e-6 ? step_l : 1e-6;
    return (struct niche){
        (int)(buckets / step_l), (int)(tanks / step_l),
        buckets > 0 ? (int)(buckets_life / buckets / alike_life) : 0,
        tanks > 0 ? (int)(tanks_life / tanks / alike_life) : 0};
}

/* Takes out the one that a new node of this cost and niche stands for, and
 * says so by *room; false if one there stands for the new node. */
static bool beam_clear(struct node *beam, int *count, const struct niche *niche,
                       double cost)
{
    for (int i = 0; i < *count; i++) {
        struct node out;

        if (!same_niche(&beam[i].niche, niche))
            continue;
        if (beam[i].cost <= cost)
            return false;
        out = beam[i];
        --*count;
        for (; i < *count; i++)
            beam[i] = beam[i + 1];
        beam[*count] = out; /* its memory stays in the beam */
        return true;
    }
    return true;
}

static int beam_insert(const struct search *search, struct node *beam,
                       int count, int place, const struct node *parent, int day,
                       const struct plan_day_choice *choice,
                       const struct niche *niche, double cost)
{
    /* The last of a full beam gives its memory to the new one. */
    int last = count < search->width ? count : search->width - 1;
    struct plan_stock *memory = beam[last].stocks;

    for (int i = last; i > place; i--)
        beam[i] = beam[i - 1];
    memcpy(beam[place].choices, parent->choices, sizeof parent->choices);
    beam[place].stocks = memory;
    memcpy(memory, search->trial, search->stocks_size);
    beam[place].choices[day] = *choice;
    beam[place].cost = cost;
    beam[place].niche = *niche;
    return count < search->width ? count + 1 : search->width;
}

static int grow_beam(const struct search *search, int day,
                     const struct node *from, int from_count, struct node *to)
{
    struct plan_day_choice choices[PLAN_MAX_CHOICES];
    int count = 0;

    for (int n = 0; n < from_count; n++) {
        int choice_count =
            plan_choices(search->rules, search->time, day, from[n].stocks,
                         search->flow->members, search->flow, choices);

        for (int i = 0; i < choice_count; i++) {
            struct niche niche;
            double cost;

            memcpy(search->trial, from[n].stocks, search->stocks_size);
            cost = run_day(search->rules, search->costs, search->time, day,
                           &choices[i], search->flow, search->trial);
            if (beam_place(to, count, search->width, cost) < 0)
                continue;
            niche = find_niche(search);
            if (beam_clear(to, &count, &niche, cost))
                count = beam_insert(search, to, count,
                                    beam_place(to, count, search->width, cost),
                                    &from[n], day, &choices[i], &niche, cost);
        }
    }
    return count;
}

static int beam_width(int members)
{
    int width = PLAN_BEAM_STOCKS / members;

    if (members == 1)
        return PLAN_KNOWN_BEAM;
    return width < PLAN_LEAST_BEAM ? PLAN_LEAST_BEAM
           : width > PLAN_MAX_BEAM ? PLAN_MAX_BEAM
                                   : width;
}

static struct node *beam_new(int width, int members)
{
    struct node *beam = mem_alloc((size_t)width, sizeof *beam);

    for (int i = 0; i < width; i++)
        beam[i].stocks = mem_alloc((size_t)members, sizeof *beam[i].stocks);
    return beam;
}

static void beam_free(struct node *beam, int width)
{
    for (int i = 0; i < width; i++)
        free(beam[i].stocks);
    free(beam);
}

double plan_search(const struct plan_rules *rules,
                   const struct plan_costs *costs, const struct plan_time *time,
                   const struct plan_flow *flow, const struct plan_stock *stock,
                   struct plan_day_choice out[PLAN_MAX_DAYS])
{
    int width = beam_width(flow->members);
    struct node *from = beam_new(width, flow->members);
    struct node *to = beam_new(width, flow->members);
    struct search search = {
        rules,
        costs,
        time,
        flow,
        mem_alloc((size_t)flow->members, sizeof *search.trial),
        (size_t)flow->members * sizeof *search.trial,
        width};
    int count = 1;
    double cost;

    for (int member = 0; member < flow->members; member++)
        from[0].stocks[member] = *stock;
    for (int day = 0; day < time->day_count; day++) {
        struct node *swap = from;

        count = grow_beam(&search, day, from, count, to);
        from = to;
        to = swap;
    }
    memcpy(out, from[0].choices, sizeof from[0].choices);
    cost = from[0].cost;
    beam_free(from, width);
    beam_free(to, width);
    free(search.trial);
    return cost;
}

double plan_course_cost(const struct plan_rules *rules,
                        const struct plan_costs *costs,
                        const struct plan_time *time,
                        const struct plan_flow *flow,
                        const struct plan_stock *stock,
                        const struct plan_day_choice choices[PLAN_MAX_DAYS])
{
    struct plan_stock *stocks =
        mem_alloc((size_t)flow->members, sizeof *stocks);
    double cost = 0;

    for (int member = 0; member < flow->members; member++)
        stocks[member] = *stock;
    for (int day = 0; day < time->day_count; day++)
        cost = run_day(rules, costs, time, day, &choices[day], flow, stocks);
    free(stocks);
    return cost;
}
