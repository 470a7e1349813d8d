/* The parameter files that a fit writes. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "command/fit.h"
#include "tree/parameters.h"

static const char OWN_VERSION[] = "+fit";

static cJSON *entry_of(const struct parameter_file *file,
                       enum tree_number number)
{
    cJSON *numbers = cJSON_GetObjectItemCaseSensitive(file->root, "numbers");

    return cJSON_GetObjectItemCaseSensitive(numbers, tree_number_key(number));
}

int fit_bounds_read(const struct tree_model *model, enum species species,
                    enum gathering gathering,
                    struct fit_bounds bounds[TREE_NUMBER_COUNT],
                    struct error *err)
{
    int status = 0;

    for (int i = 0; i < TREE_NUMBER_COUNT && status == 0; i++) {
        enum tree_number number = (enum tree_number)i;
        char *name = tree_number_file(model, species, gathering, number);
        struct parameter_file file;

        status = parameter_file_open(&file, NULL, name, err);
        if (status == 0 &&
            (!json_number(entry_of(&file, number), "min", &bounds[i].min) ||
             !json_number(entry_of(&file, number), "max", &bounds[i].max)))
            status = error_set(err, _("%s: %s: is missing"), file.path,
                               tree_number_key(number));
        parameter_file_free(&file);
        free(name);
    }
    return status;
}

/* Four digits, within the bounds. */
static double rounded(const struct fit_number *number)
{
    double digits = 3 - floor(log10(number->value));
    double scale = pow(10, digits);
    double value = round(number->value * scale) / scale;

    return fmin(fmax(value, number->min), number->max);
}

static void set_text(cJSON *object, const char *key, const char *words)
{
    cJSON_ReplaceItemInObjectCaseSensitive(object, key,
                                           cJSON_CreateString(words));
}

static void set_source(cJSON *entry, const struct fit *fit,
                       const struct fit_target *target,
                       const struct fit_number *number)
{
    char first[ISO_DATE_SIZE], last[ISO_DATE_SIZE];
    char *words;

    iso_date(target->first, first);
    iso_date(target->last, last);
    words = mem_format(
        "fitted to %d collections from %s to %s, which weigh %.0f %% beside "
        "the program's %.4g; within %.0f %% up or down (one deviation)",
        fit->rows, first, last, 100 * number->own_weight, number->prior,
        100 * expm1(number->log_sd));
    set_text(entry, "source", words);
    free(words);
}

static void set_version(cJSON *root)
{
    const char *version = json_string(root, "version");
    size_t length = strlen(version), own = strlen(OWN_VERSION);
    char *words;

    if (length >= own && strcmp(version + length - own, OWN_VERSION) == 0)
        return;
    words = mem_format("%s%s", version, OWN_VERSION);
    set_text(root, "version", words);
    free(words);
}

static int write_file(const char *path, const cJSON *root, struct error *err)
{
    char *printed = cJSON_Print(root);
    char *words = mem_format("%s\n", printed);
    int status = file_write_whole(path, words, strlen(words), 0644, err);

    cJSON_free(printed);
    free(words);
    return status;
}

static int write_number(const struct fit *fit, const struct fit_target *target,
                        enum tree_number number, struct text *told,
                        struct error *err)
{
    char *name = tree_number_file(target->model, target->species,
                                  target->gathering, number);
    char *path = file_join(target->folder, name);
    double value = rounded(&fit->numbers[number]), before = 0;
    struct parameter_file file;
    int status = parameter_file_open(&file, target->folder, name, err);
    cJSON *entry = status == 0 ? entry_of(&file, number) : NULL;

    if (status == 0 && !json_number(entry, "value", &before))
        status = error_set(err, _("%s: %s: is missing"), file.path,
                           tree_number_key(number));
    if (status == 0) {
        cJSON_SetNumberValue(cJSON_GetObjectItemCaseSensitive(entry, "value"),
                             value);
        set_source(entry, fit, target, &fit->numbers[number]);
        set_version(file.root);
        status = write_file(path, file.root, err);
    }
    if (status == 0)
        text_addf(told, _("%s: %s is %.4g now, was %.4g.\n"), path,
                  tree_number_key(number), value, before);
    parameter_file_free(&file);
    free(path);
    free(name);
    return status;
}

/* None of the files may be there already. */
static int check_free(const struct fit_target *target, struct error *err)
{
    int status = 0;

    for (int i = 0; i < TREE_NUMBER_COUNT && status == 0; i++) {
        char *name = tree_number_file(target->model, target->species,
                                      target->gathering, (enum tree_number)i);
        char *path = file_join(target->folder, name);

        if (file_exists(path))
            status = error_set(err,
                               _("%s is there already; --replace changes it. "
                                 "Nothing is written"),
                               path);
        free(path);
        free(name);
    }
    return status;
}

int fit_write(const struct fit *fit, const struct fit_target *target,
              struct text *told, struct error *err)
{
    struct tree_model *model = NULL;
    int status = target->replace ? 0 : check_free(target, err);

    if (status == 0)
        status = file_make_folder(target->folder, 0755, err);
    for (int i = 0; i < TREE_NUMBER_COUNT && status == 0; i++)
        status = write_number(fit, target, (enum tree_number)i, told, err);
    /* What is written must be what is read. */
    if (status == 0)
        status = tree_model_load(target->folder, target->species,
                                 target->gathering, &model, err);
    tree_model_free(model);
    return status;
}
