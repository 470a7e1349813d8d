/* A tree of our invention in the place of the real one, so that the outlook
 * can be reckoned by hand: every hour above 0 C gives 0.05 L per tap and
 * kelvin, frost freezes all wood, each hour of frost adds 0.05 to the store
 * and each hour of thaw takes 0.02. These definitions stand in for those of
 * the library, which is then not linked. */
#ifndef FAKE_TREE_H
#define FAKE_TREE_H

#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "tree/tree.h"

struct tree_model {
    int nothing;
};

const char *tree_model_name(const struct tree_model *model)
{
    (void)model;
    return "fake";
}

const char *tree_model_version(const struct tree_model *model)
{
    (void)model;
    return "1/2/3";
}

const char *tree_model_digest(const struct tree_model *model)
{
    (void)model;
    return "abc";
}

static int fake_tree_runs;  /* how often a tree was begun or copied */
static int fake_tree_hours; /* that were run */

struct tree_course {
    int row;
    double charge;
};

static struct tree_hour fake_tree_hour(struct tree_course *course,
                                       double temp_c)
{
    bool frost = temp_c < 0;
    struct tree_hour hour = {
        .sap_l_per_tap = 0.05 * fmax(0, temp_c),
        .branch_ice = frost ? 1 : 0,
        .trunk_ice = frost ? 0.25F : 0,
        .wood_temp_c = (float)(temp_c / 2),
        .taphole = (float)(1.0 - 0.001 * course->row),
    };

    course->charge = fmin(1, fmax(0, course->charge + (frost ? 0.05 : -0.02)));
    hour.charge = (float)course->charge;
    return hour;
}

struct tree_course *tree_course_begin(const struct tree_model *model,
                                      const struct tree_site *site,
                                      const struct forcing *forcing)
{
    (void)model;
    (void)site;
    (void)forcing;
    fake_tree_runs++;
    return mem_alloc(1, sizeof(struct tree_course));
}

struct tree_course *tree_course_copy(const struct tree_course *course)
{
    struct tree_course *copy = mem_alloc(1, sizeof *copy);

    fake_tree_runs++;
    *copy = *course;
    return copy;
}

void tree_course_free(struct tree_course *course)
{
    free(course);
}

int tree_course_row(const struct tree_course *course)
{
    return course->row;
}

void tree_course_run(struct tree_course *course, const struct forcing *forcing,
                     int to, struct tree_hour *out)
{
    for (; course->row < to; course->row++, fake_tree_hours++)
        *out++ = fake_tree_hour(course, forcing->air_temp_c[course->row]);
}

void tree_course_run_airs(const struct tree_course *course,
                          const struct forcing *forcing,
                          const struct tree_air *air, int to,
                          double *const *sap_l_per_tap, struct tree_hour *first)
{
    (void)forcing;
    for (int i = 0; i < air->count; i++) {
        struct tree_course copy = *course;

        fake_tree_runs++;
        for (int n = 0; copy.row < to; copy.row++, fake_tree_hours++, n++) {
            struct tree_hour hour =
                fake_tree_hour(&copy, air->temp_c[i][n]);

            if (sap_l_per_tap[i])
                sap_l_per_tap[i][n] = hour.sap_l_per_tap;
            if (i == 0 && first)
                first[n] = hour;
        }
    }
}

double day_rule_a_l_per_tap(double min_c, double max_c)
{
    return min_c < -1.1 && max_c > 2.2 ? 3.0 : 0.0;
}

double day_rule_b_l_per_tap(double min_c, double max_c)
{
    return max_c - min_c;
}

#endif
