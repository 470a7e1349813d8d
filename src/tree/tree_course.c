#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "tree/form.h"

struct tree_course {
    const struct tree_model *model;
    const struct tree_site *site;
    int row;     /* the next to be run */
    void *state; /* the form's own */
};

struct tree_course *tree_course_begin(const struct tree_model *model,
                                      const struct tree_site *site,
                                      const struct forcing *forcing)
{
    struct tree_course *course = mem_alloc(1, sizeof *course);

    course->model = model;
    course->site = site;
    course->state = model->form->begin(model, site, forcing);
    return course;
}

struct tree_course *tree_course_copy(const struct tree_course *course)
{
    struct tree_course *copy = mem_alloc(1, sizeof *copy);

    *copy = *course;
    copy->state = course->model->form->state_copy(course->state);
    return copy;
}

void tree_course_free(struct tree_course *course)
{
    if (!course)
        return;
    course->model->form->state_free(course->state);
    free(course);
}

void tree_course_run(struct tree_course *course, const struct forcing *forcing,
                     int to, struct tree_hour *out)
{
    if (to > forcing->hours)
        to = forcing->hours;
    if (to <= course->row)
        return;
    course->model->form->run(course->model, course->site, forcing, course->row,
                             to, course->state, out);
    course->row = to;
}

/* One of the airs, on a copy; the caller frees the rows. */
static struct tree_hour *run_air(const struct tree_course *course,
                                 const struct forcing *forcing,
                                 const double *air_temp_c, int to)
{
    struct tree_course *copy = tree_course_copy(course);
    struct tree_hour *hours =
        mem_alloc((size_t)(to - course->row) + 1, sizeof *hours);
    struct forcing own = *forcing;
    double *own_c = mem_alloc((size_t)forcing->hours + 1, sizeof *own_c);

    memcpy(own_c + course->row, air_temp_c,
           (size_t)(forcing->hours - course->row) * sizeof *own_c);
    own.air_temp_c = own_c;
    tree_course_run(copy, &own, to, hours);
    free(own_c);
    tree_course_free(copy);
    return hours;
}

static void run_one_by_one(const struct tree_course *course,
                           const struct forcing *forcing,
                           const struct tree_air *air, int to,
                           double *const *sap_l_per_tap,
                           struct tree_hour *first)
{
    int rows = to - course->row;

    for (int i = 0; i < air->count; i++) {
        struct tree_hour *hours = run_air(course, forcing, air->temp_c[i], to);

        for (int row = 0; row < rows && sap_l_per_tap[i]; row++)
            sap_l_per_tap[i][row] = hours[row].sap_l_per_tap;
        if (i == 0 && first)
            memcpy(first, hours, (size_t)rows * sizeof *hours);
        free(hours);
    }
}

void tree_course_run_airs(const struct tree_course *course,
                          const struct forcing *forcing,
                          const struct tree_air *air, int to,
                          double *const *sap_l_per_tap, struct tree_hour *first)
{
    const struct tree_form *form = course->model->form;

    if (to > forcing->hours)
        to = forcing->hours;
    if (to <= course->row)
        return;
    if (form->run_side_by_side)
        form->run_side_by_side(course->model, course->site, forcing, air,
                               course->row, to, course->state, sap_l_per_tap,
                               first);
    else
        run_one_by_one(course, forcing, air, to, sap_l_per_tap, first);
}

int tree_course_row(const struct tree_course *course)
{
    return course->row;
}

void tree_run(const struct tree_model *model, const struct tree_site *site,
              const struct forcing *forcing, struct tree_hour *out)
{
    struct tree_course *course = tree_course_begin(model, site, forcing);

    tree_course_run(course, forcing, forcing->hours, out);
    tree_course_free(course);
}
