#include "sap_files.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/text.h"

static const char AGEING[] = "taphole ageing";

static double three_figures(double value)
{
    char words[32];
    (void)snprintf(words, sizeof words, "%.3g", value);
    return strtod(words, NULL);
}

/* cJSON prints with tabs; our model files stand with two blanks. */
static char *print_file(const cJSON *root)
{
    struct text text;
    char *printed = cJSON_Print(root);
    text_init(&text, 1 << 20);
    for (const char *c = printed; *c; c++) {
        if (*c != '\t')
            text_add_bytes(&text, c, 1);
        else
            text_add(&text, c > printed && c[-1] == ':' ? " " : "  ");
    }
    text_add(&text, "\n");
    free(printed);
    return text_steal(&text);
}

static int settle_number(cJSON *root, const char *path, const char *key,
                         double value)
{
    cJSON *numbers = cJSON_GetObjectItemCaseSensitive(root, "numbers");
    cJSON *number = cJSON_GetObjectItemCaseSensitive(numbers, key);
    double stands;
    if (!json_number(number, "value", &stands)) {
        (void)fprintf(stderr, "%s: no %s\n", path, key);
        return 1;
    }
    (void)printf("%-22s stands at %-8g the data give %.3g\n", key, stands,
                 value);
    cJSON_SetNumberValue(cJSON_GetObjectItemCaseSensitive(number, "value"),
                         three_figures(value));
    return fabs(value - stands) > 0.05 * fabs(stands);
}

/* One file: `ageing` is what it holds, or all else. */
static int settle_file(const struct sap_problem *problem, const char *folder,
                       const char *name, bool ageing, bool write)
{
    char *path = file_join(folder, name), *bytes = NULL;
    struct error err;
    size_t length;
    cJSON *root = NULL;
    int wrong = 0;
    if (file_read(path, 1 << 20, &bytes, &length, &err) != 0 ||
        !(root = json_parse(bytes, length, &err)))
        wrong = 1 + fprintf(stderr, "%s: %s\n", path, err.text);
    for (int i = 0; root && i < problem->free_count; i++) {
        const char *key = problem->free[i].key;
        if ((strcmp(key, AGEING) == 0) == ageing)
            wrong += settle_number(root, path, ageing ? "ageing_per_kkh" : key,
                                   sap_get_number(problem->model, key));
    }
    if (root && !ageing)
        wrong += settle_number(root, path, "full_store_l",
                               sap_get_number(problem->model, "full_store_l"));
    if (root && write) {
        char *text = print_file(root);
        wrong = file_write_whole(path, text, strlen(text), 0644, &err) != 0;
        free(text);
    }
    cJSON_Delete(root);
    free(bytes);
    free(path);
    return wrong;
}

int sap_files_settle(const struct sap_problem *problem, const char *folder,
                     bool write)
{
    return settle_file(problem, folder, "stem.json", false, write) +
           settle_file(problem, folder, "gathering-buckets.json", true, write);
}
