#include "plan/search.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "plan/day_tries.h"

enum { SURE_DAYS = 3 }; /* they decide: for those after, half the beam does */

/* Two courses after which about as much sap of about the same age is held, to
 * these shares of the smallest boil and of a life, are alike: the cheaper one
 * stands for both, so that the beam holds unlike ones. */
static const double alike_l = 0.1, alike_life = 0.05;

struct node {
    struct team *at_end; /* of the day; the beam's */
    struct plan_day_choice choices[PLAN_MAX_DAYS];
    double cost; /* expected, with what is held */
    int order;   /* of two that cost the same the one of lower order is meant */
    struct niche {
        int buckets, tanks, buckets_life, tanks_life;
    } niche;
};

struct search {
    const struct teams *teams;
    int width; /* of the beam */
    struct node *from, *to;
    int from_count, to_count;
    /* Of the tries under way. */
    const struct node *parent;
    int day;
    struct plan_day_choice choices[PLAN_MAX_CHOICES];
};

static bool is_before(const struct node *a, double cost, int order)
{
    return cost < a->cost || (cost == a->cost && order < a->order);
}

/* The place of a new node among the best, or -1 if it is none of them. */
static int beam_place(const struct search *search, double cost, int order)
{
    int place = search->to_count;

    while (place > 0 && is_before(&search->to[place - 1], cost, order))
        place--;
    return place < search->width ? place : -1;
}

static bool same_niche(const struct niche *a, const struct niche *b)
{
    return a->buckets == b->buckets && a->tanks == b->tanks &&
           a->buckets_life == b->buckets_life && a->tanks_life == b->tanks_life;
}

static struct niche find_niche(const struct search *search,
                               const struct team *at_end)
{
    const struct teams *teams = search->teams;
    int groups = teams->rules->group_count;
    double buckets = 0, tanks = 0, buckets_life = 0, tanks_life = 0;
    double step_l = alike_l * teams->rules->smallest_boil_l * teams->members;

    for (int member = 0; member < teams->members; member++) {
        const struct team_sap *sap = at_end[member / TEAM].places;
        int lane = member % TEAM;

        for (int i = 0; i < groups; i++) {
            buckets += sap[i].l[lane];
            buckets_life += sap[i].aged_l[lane];
        }
        for (int i = groups; i < teams->places; i++) {
            tanks += sap[i].l[lane];
            tanks_life += sap[i].aged_l[lane];
        }
    }
    step_l = step_l > 1e-6 ? step_l : 1e-6;
    return (struct niche){
        (int)(buckets / step_l), (int)(tanks / step_l),
        buckets > 0 ? (int)(buckets_life / buckets / alike_life) : 0,
        tanks > 0 ? (int)(tanks_life / tanks / alike_life) : 0};
}

/* Takes out the one that a new node of this cost and niche stands for; false
 * if one there stands for the new node. */
static bool beam_clear(struct search *search, const struct niche *niche,
                       double cost, int order)
{
    for (int i = 0; i < search->to_count; i++) {
        struct node out = search->to[i];

        if (!same_niche(&out.niche, niche))
            continue;
        if (!is_before(&out, cost, order))
            return false;
        search->to_count--;
        for (; i < search->to_count; i++)
            search->to[i] = search->to[i + 1];
        search->to[search->to_count] = out; /* its memory stays in the beam */
        return true;
    }
    return true;
}

static void beam_insert(struct search *search, int choice, double cost,
                        int order, const struct team *at_end,
                        const struct niche *niche)
{
    /* The last of a full beam gives its memory to the new one. */
    int last =
        search->to_count < search->width ? search->to_count : search->width - 1;
    int place = beam_place(search, cost, order);
    struct node *to = search->to;
    struct team *memory = to[last].at_end;

    for (int i = last; i > place; i--)
        to[i] = to[i - 1];
    memcpy(to[place].choices, search->parent->choices, sizeof to->choices);
    to[place].at_end = memory;
    teams_copy(search->teams, memory, at_end);
    to[place].choices[search->day] = search->choices[choice];
    to[place].cost = cost;
    to[place].order = order;
    to[place].niche = *niche;
    search->to_count = last + 1;
}

/* What the worst of a full beam costs. */
static double most_cost(const void *self)
{
    const struct search *search = self;

    return search->to_count < search->width
               ? INFINITY
               : search->to[search->width - 1].cost;
}

static void take(void *self, int choice, double cost, const struct team *at_end)
{
    struct search *search = self;
    int order =
        (int)(search->parent - search->from) * PLAN_MAX_CHOICES + choice;
    struct niche niche;

    if (beam_place(search, cost, order) < 0)
        return;
    niche = find_niche(search, at_end);
    if (beam_clear(search, &niche, cost, order))
        beam_insert(search, choice, cost, order, at_end, &niche);
}

static void grow_beam(struct search *search, struct day_tries *tries, int day)
{
    struct plan_day_run run = plan_day_run(search->teams, day);

    search->day = day;
    search->to_count = 0;
    for (int n = 0; n < search->from_count; n++) {
        const struct team *at_start = search->from[n].at_end;
        int count =
            plan_choices(search->teams, day, &run, at_start, search->choices);

        search->parent = &search->from[n];
        day_tries_run(tries, day, at_start, search->choices, count);
    }
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

/* Nodes with room for their teams from this one on. */
static struct node *beam_new(int width, const struct teams *teams,
                             struct team *room)
{
    struct node *beam = mem_alloc((size_t)width, sizeof *beam);

    for (int i = 0; i < width; i++)
        beam[i].at_end = room + (size_t)i * (size_t)teams->count;
    return beam;
}

static void search_days(struct search *search, struct day_tries *tries)
{
    for (int day = 0; day < search->teams->time->day_count; day++) {
        struct node *swap = search->from;

        if (day == SURE_DAYS && search->teams->members > 1)
            search->width = (search->width + 1) / 2;
        grow_beam(search, tries, day);
        search->from = search->to;
        search->from_count = search->to_count;
        search->to = swap;
    }
}

/* Members are equally likely, in whatever order. */
static struct plan_flow first_members(const struct plan_flow *flow)
{
    struct plan_flow few = *flow;

    if (few.members > PLAN_SEARCH_MEMBERS)
        few.members = PLAN_SEARCH_MEMBERS;
    return few;
}

double plan_search(const struct plan_rules *rules,
                   const struct plan_costs *costs, const struct plan_time *time,
                   const struct plan_flow *flow, const struct plan_stock *stock,
                   struct plan_day_choice out[PLAN_MAX_DAYS])
{
    struct plan_flow few = first_members(flow);
    size_t width = (size_t)beam_width(few.members);
    struct search *search = mem_alloc(1, sizeof *search);
    struct teams teams;
    struct day_tries tries = {
        .teams = &teams, .most_cost = most_cost, .take = take, .self = search};
    struct team *room;
    void *memory;
    double cost;

    teams_begin(&teams, rules, costs, time, &few);
    room = team_alloc(2 * width * (size_t)teams.count, &memory);
    search->teams = &teams;
    search->width = (int)width;
    search->from = beam_new((int)width, &teams, room);
    search->to =
        beam_new((int)width, &teams, room + width * (size_t)teams.count);
    search->from_count = 1;
    teams_set(&teams, search->from[0].at_end, stock);
    day_tries_begin(&tries);
    search_days(search, &tries);
    memcpy(out, search->from[0].choices, sizeof search->from[0].choices);
    cost = search->from[0].cost;
    day_tries_end(&tries);
    free(search->from);
    free(search->to);
    free(memory);
    free(search);
    teams_end(&teams);
    return cost;
}

/* Runs the day for all members; returns the expected cost with what is held
 * at its end, a value a member. */
static double run_day(const struct teams *teams, struct team *now, int day,
                      const struct plan_day_choice *choice, double *held_cost)
{
    const int *first = &teams->time->day_first[day];
    double sum = 0;

    teams_wake(teams, now);
    teams->pass(teams, now, first[0], first[1], choice, NULL, held_cost);
    for (int number = 0; number < teams->count; number++)
        sum += team_sum(now[number].cost) +
               team_sum(held_cost + (size_t)number * TEAM);
    return sum / teams->members;
}

double plan_course_cost(const struct plan_rules *rules,
                        const struct plan_costs *costs,
                        const struct plan_time *time,
                        const struct plan_flow *flow,
                        const struct plan_stock *stock,
                        const struct plan_day_choice choices[PLAN_MAX_DAYS])
{
    struct teams teams;
    struct team *now;
    void *memory;
    double cost = 0, *held_cost;

    teams_begin(&teams, rules, costs, time, flow);
    now = team_alloc((size_t)teams.count, &memory);
    held_cost = mem_alloc((size_t)teams.count * TEAM, sizeof *held_cost);
    teams_set(&teams, now, stock);
    for (int day = 0; day < time->day_count; day++)
        cost = run_day(&teams, now, day, &choices[day], held_cost);
    free(held_cost);
    free(memory);
    teams_end(&teams);
    return cost;
}
