#include <stdlib.h>

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
