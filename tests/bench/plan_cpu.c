/* CPU time of a plan for ten days, fifty members, two groups of buckets and
 * three tanks, with its reasons: the least of several runs, since what else
 * the machine does takes caches and clock rate from it. Weather and flow are
 * invented.
 * Usage: plan_cpu MOST_MS */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/units.h"
#include "plan/plan.h"
#include "steady_zone.h"
#include "weather/random.h"

enum { DAYS = 10, HOURS = DAYS * 24, MEMBERS = 50, STREAMS = 3, RUNS = 7 };

static const struct plan_rules rules = {.groups = {{140 * 12.0}, {60 * 12.0}},
                                        .group_count = 2,
                                        .tanks = {{1000, KEEPING_SUN},
                                                  {1000, KEEPING_SHADE},
                                                  {400, KEEPING_INSIDE}},
                                        .tank_count = 3,
                                        .sap_rate_l_h = 110,
                                        .smallest_boil_l = 227,
                                        .collect_l_h = 570,
                                        .hands = 1,
                                        .attended_from_min = 6 * 60 + 30,
                                        .attended_to_min = 22 * 60 + 30};

/* Sap from ten to nineteen o'clock, more or less of it by day and member. */
static void fill_flow(double *sap_l)
{
    struct random random;

    random_seed(&random, 20260305);
    for (int row = 0; row < MEMBERS * STREAMS; row++)
        for (int day = 0; day < DAYS; day++) {
            double litres = fmax(0, 250 + 250 * random_normal(&random));

            for (int hour = 10; hour < 19; hour++)
                sap_l[row * HOURS + day * 24 + hour] = litres / 9;
        }
}

static double plan_once_ms(const struct plan_time *time,
                           const struct plan_flow *flow, int *actions)
{
    struct plan_costs costs = plan_costs_for(&rules);
    struct plan_stock stock = {0};
    clock_t begun = clock();
    struct plan *plan = plan_make(&rules, &costs, time, flow, &stock);
    double ms = (double)(clock() - begun) * 1000 / CLOCKS_PER_SEC;

    *actions = plan->action_count;
    plan_free(plan);
    return ms;
}

int main(int argc, char **argv)
{
    static double air_temp_c[HOURS], sun[HOURS];
    static double sap_l[MEMBERS * STREAMS * HOURS];
    static struct plan_time time;
    struct plan_flow flow = {MEMBERS, STREAMS, HOURS, sap_l};
    struct zone *zone = steady_zone();
    double most_ms, least_ms = 0;
    int actions = 0;

    if (argc != 2 || !number_parse(argv[1], strlen(argv[1]), &most_ms))
        return 2;
    for (int hour = 0; hour < HOURS; hour++) {
        air_temp_c[hour] = 2 + 6 * sin((hour - 9) / 24.0 * 2 * acos(-1));
        sun[hour] = fmax(0, 400 * sin((hour % 24 - 6) / 12.0 * acos(-1)));
    }
    fill_flow(sap_l);
    plan_time_fill(&time, &rules, zone, 1772600400, DAYS, air_temp_c, sun,
                   HOURS, NULL, NULL);
    for (int run = 0; run < RUNS; run++) {
        double ms = plan_once_ms(&time, &flow, &actions);

        least_ms = run == 0 || ms < least_ms ? ms : least_ms;
    }
    zone_free(zone);
    printf("ten days, %d members, three tanks: %.1f ms, %d actions (at most "
           "%.0f ms)\n",
           MEMBERS, least_ms, actions, most_ms);
    return least_ms <= most_ms && actions > 0 ? 0 : 1;
}
