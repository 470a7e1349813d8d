/* What a fit found, in words and as JSON (docs/fit.md). */
#include <math.h>
#include <stdio.h>

#include "base/json.h"
#include "base/words.h"
#include "command/fit.h"

static const char *number_words(int number)
{
    switch (number) {
    case TREE_VOLUME_SHARE:
        return _("volume of a tap");
    case TREE_STORE_TIME_H:
        return _("store runs out, h");
    default:
        return _("taphole ages, per 1000 K h");
    }
}

/* Three digits that count, for people. */
static void three_digits(double value, char out[QUANTITY_SIZE])
{
    snprintf(out, QUANTITY_SIZE, "%.3g", value);
    number_mark(out);
}

static void show_number(const struct fit_number *number, int which)
{
    char prior[QUANTITY_SIZE], own[QUANTITY_SIZE], factor[QUANTITY_SIZE];

    three_digits(number->prior, prior);
    three_digits(number->value, own);
    number_format(exp(number->log_sd), 2, factor);
    (void)printf(_("%-27s %8s %8s   x %s or / %s   %3.0f%% your log\n"),
                 number_words(which), prior, own, factor, factor,
                 100 * number->own_weight);
}

static void in_unit(double litres, enum unit_system units,
                    char out[QUANTITY_SIZE])
{
    number_format(units == UNITS_US ? litres / L_PER_US_GALLON : litres, 1,
                  out);
}

static void show_skill(const struct fit *fit, enum unit_system units)
{
    char before[QUANTITY_SIZE], after[QUANTITY_SIZE], cross[QUANTITY_SIZE];

    in_unit(fit->before.mae_l, units, before);
    in_unit(fit->after.mae_l, units, after);
    in_unit(fit->cross.mae_l, units, cross);
    (void)printf(units == UNITS_US
                     ? _("\nMean error of a collection: %s gal by the "
                         "program's numbers, %s gal by these; told by\n"
                         "numbers that had not seen it, %s gal.\n")
                     : _("\nMean error of a collection: %s L by the "
                         "program's numbers, %s L by these; told by\n"
                         "numbers that had not seen it, %s L.\n"),
                 before, after, cross);
    (void)puts(fit->cross.mae_l < fit->before.mae_l
                   ? _("So your log is worth using.")
                   : _("So your log does not tell more than the program "
                       "knows: better keep the program's numbers."));
}

void fit_show(const struct fit *fit, const struct fit_log *log,
              enum unit_system units)
{
    (void)printf(_("%d collections, %d more without weather; seasons: %d.\n"),
                 fit->rows, fit->left_out, log->season_count);
    if (!fit->enough)
        return;
    (void)printf("\n%-27s %8s %8s   %s\n", "", _("program"), _("yours"),
                 _("how sure (one deviation)"));
    for (int i = 0; i < TREE_NUMBER_COUNT; i++)
        show_number(&fit->numbers[i], i);
    show_skill(fit, units);
}

static void add_number(cJSON *parent, const struct fit *fit, int which)
{
    const struct fit_number *number = &fit->numbers[which];
    cJSON *object = cJSON_AddObjectToObject(
        parent, tree_number_key((enum tree_number)which));

    json_add_rounded(object, "program", number->prior, 5);
    json_add_rounded(object, "own", number->value, 5);
    json_add_rounded(object, "log_sd", number->log_sd, 4);
    json_add_rounded(object, "own_weight", number->own_weight, 4);
}

static void add_skill(cJSON *parent, const char *key, bool known,
                      const struct fit_skill *skill)
{
    cJSON *object;

    if (!known) {
        cJSON_AddNullToObject(parent, key);
        return;
    }
    object = cJSON_AddObjectToObject(parent, key);
    json_add_rounded(object, "mae_l", skill->mae_l, 2);
    if (skill->has_pearson)
        json_add_rounded(object, "pearson", skill->pearson, 4);
    else
        cJSON_AddNullToObject(object, "pearson");
}

cJSON *fit_json(const struct fit *fit, const struct fit_log *log)
{
    cJSON *json = cJSON_CreateObject(), *numbers;

    cJSON_AddNumberToObject(json, "n", fit->rows);
    cJSON_AddNumberToObject(json, "left_out", fit->left_out);
    cJSON_AddNumberToObject(json, "seasons", log->season_count);
    cJSON_AddBoolToObject(json, "enough", fit->enough);
    numbers = cJSON_AddObjectToObject(json, "numbers");
    for (int i = 0; i < TREE_NUMBER_COUNT; i++)
        add_number(numbers, fit, i);
    json_add_rounded(json, "error_sd", fit->error_sd, 4);
    add_skill(json, "program", fit->rows > 0, &fit->before);
    add_skill(json, "own", fit->enough, &fit->after);
    add_skill(json, "cross_validated", fit->has_cross, &fit->cross);
    return json;
}
