#include "publish/bulletin_plan.h"

#include <math.h>
#include <stddef.h>

#include "base/memory.h"
#include "base/words.h"

static const struct bulletin_figure figures[] = {
    {"buckets_hold_l", offsetof(struct bulletin_plan, buckets_hold_l), 0},
    {"tanks_hold_l", offsetof(struct bulletin_plan, tanks_hold_l), 0},
    {"ran_l", offsetof(struct bulletin_plan, ran_l), 0},
    {"boiled_l", offsetof(struct bulletin_plan, boiled_l), 0},
    {"syrup_l", offsetof(struct bulletin_plan, syrup_l), 1},
    {"overflow_l", offsetof(struct bulletin_plan, overflow_l), 0},
    {"spoiled_l", offsetof(struct bulletin_plan, spoiled_l), 0},
    {"loss_chance", offsetof(struct bulletin_plan, loss_chance), 2},
    {NULL, 0, 0}};

void bulletin_lack_write(cJSON *root, const struct bulletin *bulletin)
{
    cJSON *object;

    if (bulletin->lack == LACKS_NOTHING)
        return;
    object = json_add_object(root, "no_plan");
    json_add_text(object, "lacks", plan_lack_word(bulletin->lack));
    json_add_text(object, "words", plan_lack_words(bulletin->lack));
}

/* A word not known here is a newer program's: nothing is said of it. */
static void read_lack(const cJSON *root, struct bulletin *bulletin)
{
    const cJSON *object = json_object(root, "no_plan");
    int lack;

    if (object != NULL &&
        field_word(object, "lacks", plan_lack_from_word, &lack, NULL) == 0)
        bulletin->lack = (enum plan_lack)lack;
}

static void fill_plan(cJSON *object, const struct bulletin *bulletin)
{
    const struct bulletin_plan *plan = &bulletin->plan;

    field_add_time(object, "start", bulletin, plan->start);
    json_add_number(object, "count", plan->hours);
    for (const struct bulletin_figure *figure = figures; figure->key != NULL;
         figure++)
        json_add_rounded(object, figure->key,
                         *(const double *)(const void *)((const char *)plan +
                                                         figure->offset),
                         figure->decimals);
    json_add_numbers(object, "buckets_l", plan->buckets_l, NULL, plan->hours,
                     0);
    json_add_numbers(object, "tanks_l", plan->tanks_l, NULL, plan->hours, 0);
}

void bulletin_plan_write(cJSON *root, const struct bulletin *bulletin)
{
    if (bulletin->plan.hours > 0)
        fill_plan(json_add_object(root, "plan"), bulletin);
}

char *bulletin_plan_json(const struct bulletin *bulletin)
{
    cJSON *object;

    if (bulletin->plan.hours == 0)
        return NULL;
    object = cJSON_CreateObject();
    fill_plan(object, bulletin);
    return json_to_text(object);
}

static int read_levels(const cJSON *object, const char *key, int hours,
                       double **out, struct error *err)
{
    const cJSON *array, *item;
    int hour = 0;

    if (field_array(object, key, &array, err) < 0)
        return -1;
    if (cJSON_GetArraySize(array) != hours)
        return error_set(err, _("\"%s\" does not hold %d values"), key, hours);
    *out = mem_alloc((size_t)hours + 1, sizeof **out);
    cJSON_ArrayForEach(item, array)
    {
        if (!cJSON_IsNumber(item) || !isfinite(item->valuedouble))
            return field_missing(key, err);
        (*out)[hour++] = item->valuedouble;
    }
    return 0;
}

int bulletin_plan_read(const cJSON *root, struct bulletin *bulletin,
                       struct error *err)
{
    struct bulletin_plan *plan = &bulletin->plan;
    const cJSON *object = json_object(root, "plan");

    read_lack(root, bulletin);
    if (object == NULL)
        return 0;
    if (field_time(object, "start", &plan->start, err) != 0 ||
        field_count(object, "count", FIELD_MAX_ROWS, &plan->hours, err) != 0 ||
        field_figures(object, figures, plan, err) != 0)
        return -1;
    return read_levels(object, "buckets_l", plan->hours, &plan->buckets_l,
                       err) != 0
               ? -1
               : read_levels(object, "tanks_l", plan->hours, &plan->tanks_l,
                             err);
}
