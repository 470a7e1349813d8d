/* CPU time of the tree, of a bush's outlook by its number of members, and of
 * its plan. Each measure is a line "NAME VALUE UNIT", the least of several
 * rounds: what else the machine does only adds to it.
 *
 * tree_step_alone, tree_step_side_by_side: a step of ten minutes of one tree,
 *     alone and as one of those side by side.
 * tree_step_flop: its stem's arithmetic, counted by hand; a division counts as
 * one, comparisons and picks not at all. tree_rate, machine_rate: arithmetic
 * done side by side, and what this machine does at most in vectors as wide,
 * without fused multiplication, in independent sums and products: the limit.
 * past_hour: an hour of the past, which all members share.
 * outlook_members_N: a bush's outlook, 92 days back and 10 ahead.
 *
 * Weather is invented. Usage: tree_cpu */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "invented.h"
#include "outlook/outlook.h"
#include "steady_zone.h"
#include "tree/grove.h"

enum { ROUNDS = 5, SHELLS = 15, HOURS = 24 * 20, STEPS_PER_HOUR = 6 };

/* By hand, of stem_kernel.inc: 7 for a shell's part of a step's solution, and a
 * sixth of the hour's 10 for its faces and 13 for its row of the system, which
 * is made anew too where a shell changes its phase; that is not counted, nor
 * what is not the stem. */
static const double flop_of_step = SHELLS * (7 + (10.0 + 13.0) / 6);

static void tell(const char *name, double value, const char *unit)
{
    printf("%s %.4g %s\n", name, value, unit);
}

/* Least time of some rounds of a piece of work. */
static double least_ns(void (*work)(void *given), void *given)
{
    double least = INFINITY;

    for (int round = 0; round < ROUNDS; round++) {
        double from = cpu_ns();

        work(given);
        least = fmin(least, cpu_ns() - from);
    }
    return least;
}

static double air_c(int hour)
{
    return 1 + 7 * sin(hour * 2 * acos(-1) / 24);
}

static void pass_hours(void *given)
{
    static const struct grove_hour weather = {12, 30, 30, true, true};
    struct grove *grove = given;
    int lanes = grove_lanes(grove);

    for (int hour = 0; hour < HOURS; hour++) {
        double now_c = air_c(hour), next_c = air_c(hour + 1);

        for (int i = 0; i < lanes; i++)
            grove_set_air(grove, i, now_c + 0.3 * i, next_c + 0.3 * i);
        grove_pass_hour(grove, &weather);
    }
}

/* As wide as grove.c goes. */
#if defined(__x86_64__) && defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__)
#define CLONES __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define CLONES
#endif

enum { CHAINS = 6, LINKS = 200000, WIDE = 16 };
typedef float wide __attribute__((vector_size(4 * WIDE)));

/* Sums and products that do not wait for each other: as many as 16 registers
 * hold. */
CLONES
static void run_chains(void *given)
{
    double *out = given;
    wide sums[CHAINS] = {{0}}, products[CHAINS];

    for (int i = 0; i < CHAINS; i++)
        products[i] = sums[i] + 1.0F;
    for (int link = 0; link < LINKS; link++)
        for (int i = 0; i < CHAINS; i++) {
            sums[i] = sums[i] + 1e-9F;
            products[i] = products[i] * 1.000001F;
        }
    for (int i = 0; i < CHAINS; i++)
        *out += (double)(sums[i][0] + products[i][0]);
}

static int tell_steps(const struct tree_model *model)
{
    const double steps = HOURS * STEPS_PER_HOUR;
    struct grove *alone = grove_new(model->numbers, &model->gathering, 0, -2);
    struct grove *many =
        grove_multiply(alone, grove_widest(), GROVE_MOST_LANES);
    double alone_ns = least_ns(pass_hours, alone) / steps;
    double side_ns = least_ns(pass_hours, many) / steps / grove_lanes(many);
    double sum = 0, chains_ns = least_ns(run_chains, &sum);

    tell("tree_step_alone", alone_ns, "ns");
    tell("tree_step_side_by_side", side_ns, "ns");
    tell("tree_step_flop", flop_of_step, "1");
    tell("tree_rate", flop_of_step / side_ns, "Gflop/s");
    tell("machine_rate", 2.0 * CHAINS * LINKS * WIDE / chains_ns, "Gflop/s");
    grove_free(alone);
    grove_free(many);
    return sum > 0 ? 0 : 1;
}

/* A bush before its outlook is made. */
struct bush {
    struct tree_model *model;
    struct tree_site site;
    struct series *series;
    struct members *members;
    struct zone *zone;
};

static const utc_s now = START + (utc_s)PAST_DAYS * SECONDS_PER_DAY;

static void make_outlook(void *given)
{
    struct bush *bush = given;
    struct civil_date today = zone_date(bush->zone, now);

    outlook_free(outlook_make(bush->model, &bush->site, bush->zone,
                              bush->series, bush->members, NULL, 0, now,
                              civil_date_add(today, -2), 12));
}

static void run_past(void *given)
{
    struct bush *bush = given;
    struct forcing *forcing = forcing_from_series(bush->series, 45, -72);
    struct tree_hour *out = mem_alloc((size_t)forcing->hours, sizeof *out);

    tree_run(bush->model, &bush->site, forcing, out);
    free(out);
    forcing_free(forcing);
}

static int tell_all(void)
{
    static const int counts[] = {1, 10, 31, 50, 100, 200};
    int hours = (PAST_DAYS + AHEAD_DAYS) * 24, failed;
    struct error err;
    struct bush bush = {.site = {.latitude = 45,
                                 .longitude = -72,
                                 .elevation_m = 450,
                                 .tapped = true,
                                 .tapped_at = START + 50 * SECONDS_PER_DAY},
                        .series = invent(hours),
                        .zone = steady_zone()};

    if (tree_model_load(NULL, SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS,
                        &bush.model, &err) != 0) {
        (void)fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    failed = tell_steps(bush.model);
    tell("past_hour", least_ns(run_past, &bush) / hours / 1e3, "us");
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        char name[40];

        bush.members =
            members_from_error_growth(bush.series, now, counts[i], 1);
        (void)snprintf(name, sizeof name, "outlook_members_%d", counts[i]);
        tell(name, least_ns(make_outlook, &bush) / 1e6, "ms");
        members_free(bush.members);
    }
    tree_model_free(bush.model);
    series_free(bush.series);
    zone_free(bush.zone);
    return failed;
}

int main(void)
{
    return tell_all();
}
