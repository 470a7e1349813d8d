/* The numbers of a model that a bush's own log may move. */
#include <string.h>

#include "base/memory.h"
#include "tree/form.h"

static const char *const keys[TREE_NUMBER_COUNT] = {
    [TREE_VOLUME_SHARE] = "volume_share",
    [TREE_STORE_TIME_H] = "store_time_h",
    [TREE_AGEING_PER_KKH] = "ageing_per_kkh",
};

const char *tree_number_key(enum tree_number number)
{
    return keys[number];
}

static double *form_number(const struct tree_model *model, const char *key)
{
    const struct parameter_row *row = model->form->rows;

    while (row->key && strcmp(row->key, key) != 0)
        row++;
    return row->key ? (double *)((char *)model->numbers + row->offset) : NULL;
}

static double *place_of(struct tree_model *model, enum tree_number number)
{
    if (number == TREE_VOLUME_SHARE)
        return &model->species.volume_share;
    if (number == TREE_AGEING_PER_KKH)
        return &model->gathering.ageing_per_kkh;
    return form_number(model, keys[number]);
}

double tree_model_number(const struct tree_model *model,
                         enum tree_number number)
{
    struct tree_model copy = *model;

    const double *place = place_of(&copy, number);

    return place != NULL ? *place : 0;
}

void tree_model_set_number(struct tree_model *model, enum tree_number number,
                           double value)
{
    double *place = place_of(model, number);

    if (place != NULL)
        *place = value;
}

char *tree_number_file(const struct tree_model *model, enum species species,
                       enum gathering gathering, enum tree_number number)
{
    char *name;

    if (number == TREE_VOLUME_SHARE)
        name = mem_format("sap-%s.json", species_word(species));
    else if (number == TREE_AGEING_PER_KKH)
        name = mem_format("gathering-%s.json", gathering_word(gathering));
    else
        name = mem_format("%s.json", model->form->name);
    for (char *p = name; *p; p++)
        if (*p == ' ')
            *p = '-';
    return name;
}
