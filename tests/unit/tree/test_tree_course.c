/* A tree that is run in parts, or copied where courses part, is the tree that
 * is run in one: for each form, under weather of chance. */
#include "unit_test.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "test_seed.h"
#include "tree/tree.h"
#include "weather/random.h"

enum { HOURS = 24 * 40 };

static const char *const forms[] = {"stem", "two-node"};

struct bench {
    struct random random;
    struct tree_model *model;
    struct tree_site site;
    struct forcing forcing;
    double air_c[HOURS], sun_w_m2[HOURS], wind_m_s[HOURS];
    bool known[HOURS];
    struct tree_hour whole[HOURS], parts[HOURS];
};

static void draw_air(struct bench *bench, int from)
{
    double mean_c = 0;

    for (int hour = from; hour < HOURS; hour++) {
        mean_c = 0.98 * mean_c + 0.9 * random_normal(&bench->random);
        bench->air_c[hour] = mean_c + 6 * sin(hour * acos(-1) / 12);
    }
}

static struct bench *begin(const char *form, uint64_t seed)
{
    struct bench *bench = mem_alloc(1, sizeof *bench);
    struct error err = {""};

    random_seed(&bench->random, seed);
    if (tree_model_load_form(NULL, form, SPECIES_SUGAR_MAPLE, GATHERING_BUCKETS,
                             &bench->model, &err) != 0)
        fail_msg("%s", err.text);
    bench->site = (struct tree_site){.latitude = 45,
                                     .longitude = -72,
                                     .elevation_m = 450,
                                     .tapped = true,
                                     .tapped_at = 100 * 3600};
    bench->forcing = (struct forcing){
        0, HOURS, bench->air_c, bench->sun_w_m2, bench->wind_m_s, bench->known};
    draw_air(bench, 0);
    for (int hour = 0; hour < HOURS; hour++) {
        bench->sun_w_m2[hour] = 300 * random_even(&bench->random);
        bench->wind_m_s[hour] = 5 * random_even(&bench->random);
        bench->known[hour] = random_even(&bench->random) > 0.02;
    }
    return bench;
}

static void end(struct bench *bench)
{
    tree_model_free(bench->model);
    free(bench);
}

static void run_whole(struct bench *bench)
{
    tree_run(bench->model, &bench->site, &bench->forcing, bench->whole);
}

static void expect_same(const struct bench *bench, int from)
{
    for (int hour = from; hour < HOURS; hour++) {
        const struct tree_hour *a = &bench->whole[hour];
        const struct tree_hour *b = &bench->parts[hour];

        assert_near(b->sap_l_per_tap, a->sap_l_per_tap, 1e-12);
        assert_near(b->charge, a->charge, 1e-12);
        assert_near(b->branch_ice, a->branch_ice, 1e-12);
        assert_near(b->trunk_ice, a->trunk_ice, 1e-12);
        assert_near(b->wood_temp_c, a->wood_temp_c, 1e-12);
        assert_near(b->taphole, a->taphole, 1e-12);
    }
}

/* Something must run, or the comparison says nothing. */
static void expect_sap(const struct bench *bench)
{
    double sum = 0;

    for (int hour = 0; hour < HOURS; hour++)
        sum += bench->whole[hour].sap_l_per_tap;
    assert_true(sum > 1);
}

static void parts_are_the_whole(void **state)
{
    uint64_t seed = test_seed();

    (void)state;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        struct bench *bench = begin(forms[i], seed);
        struct tree_course *course =
            tree_course_begin(bench->model, &bench->site, &bench->forcing);

        run_whole(bench);
        expect_sap(bench);
        while (tree_course_row(course) < HOURS) {
            int at = tree_course_row(course);
            int to = at + (int)(100 * random_even(&bench->random));

            tree_course_run(course, &bench->forcing, to, bench->parts + at);
        }
        assert_int_equal(tree_course_row(course), HOURS);
        expect_same(bench, 0);
        tree_course_free(course);
        end(bench);
    }
}

/* Courses part at a row; each goes on from its own copy, and none disturbs
 * another or what they came from. */
static void copies_go_their_own_way(void **state)
{
    uint64_t seed = test_seed();
    const int parting = 24 * 25;

    (void)state;
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        struct bench *bench = begin(forms[i], seed);
        struct tree_course *shared =
            tree_course_begin(bench->model, &bench->site, &bench->forcing);

        tree_course_run(shared, &bench->forcing, parting, bench->parts);
        for (int member = 0; member < 5; member++) {
            struct tree_course *own = tree_course_copy(shared);

            /* The hour before looks ahead to the row it parts at. */
            draw_air(bench, parting + 1);
            run_whole(bench);
            tree_course_run(own, &bench->forcing, HOURS,
                            bench->parts + parting);
            expect_same(bench, 0);
            tree_course_free(own);
        }
        assert_int_equal(tree_course_row(shared), parting);
        tree_course_free(shared);
        end(bench);
    }
}

/* Airs that part at a row, run side by side: to the last bit what a copy of
 * the tree gives in each, however many there are. */
static void airs_side_by_side_are_those_alone(void **state)
{
    enum { AIRS = 51, PARTING = 24 * 25 };
    static const int counts[] = {5, 17, AIRS};
    const size_t tries = sizeof counts / sizeof *counts;
    uint64_t seed = test_seed();
    double *airs_c = mem_alloc(AIRS * HOURS, sizeof *airs_c);
    double *sap_l = mem_alloc(AIRS * HOURS, sizeof *sap_l);
    struct tree_hour *first = mem_alloc(HOURS, sizeof *first);
    const double *air_c[AIRS], *later_c[AIRS];
    double *out[AIRS];

    (void)state;
    for (size_t i = 0; i < tries * sizeof forms / sizeof *forms; i++) {
        struct tree_air air = {counts[i % tries], later_c};
        struct bench *bench = begin(forms[i / tries], seed);
        struct tree_course *shared =
            tree_course_begin(bench->model, &bench->site, &bench->forcing);

        tree_course_run(shared, &bench->forcing, PARTING, bench->parts);
        for (int k = 0; k < air.count; k++) {
            draw_air(bench, PARTING + 1);
            air_c[k] =
                memcpy(airs_c + k * HOURS, bench->air_c, sizeof bench->air_c);
            later_c[k] = air_c[k] + PARTING;
            out[k] = sap_l + k * HOURS;
        }
        tree_course_run_airs(shared, &bench->forcing, &air, HOURS, out, first);
        assert_int_equal(tree_course_row(shared), PARTING);
        for (int k = 0; k < air.count; k++) {
            memcpy(bench->air_c, air_c[k], sizeof bench->air_c);
            run_whole(bench);
            expect_sap(bench);
            for (int hour = PARTING; hour < HOURS; hour++)
                assert_true(out[k][hour - PARTING] ==
                            bench->whole[hour].sap_l_per_tap);
            if (k == 0)
                memcpy(bench->parts + PARTING, first,
                       (HOURS - PARTING) * sizeof *first);
            if (k == 0)
                expect_same(bench, PARTING);
        }
        tree_course_free(shared);
        end(bench);
    }
    free(first);
    free(sap_l);
    free(airs_c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parts_are_the_whole),
        cmocka_unit_test(copies_go_their_own_way),
        cmocka_unit_test(airs_side_by_side_are_those_alone),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
