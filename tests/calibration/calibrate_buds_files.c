/* The model files: held against what the data give, or brought up to date. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/text.h"
#include "calibrate_buds_fit.h"

/* What goes to the model files. */
struct change {
    const char *key;
    double value;
    int decimals;
};

static int compare_or_set(cJSON *numbers, const char *path,
                          const struct change *change, bool write)
{
    cJSON *entry = cJSON_GetObjectItemCaseSensitive(numbers, change->key);
    double scale = pow(10.0, change->decimals);
    double value = round(change->value * scale) / scale;
    double stands;

    if (!entry || !json_number(entry, "value", &stands)) {
        (void)fprintf(stderr, "%s: no %s\n", path, change->key);
        return 1;
    }
    if (write) {
        cJSON_SetNumberValue(cJSON_GetObjectItemCaseSensitive(entry, "value"),
                             value);
        return 0;
    }
    if (fabs(stands - value) > 1e-9) {
        (void)printf("%s: %s stands at %g, the data give %g\n", path,
                     change->key, stands, value);
        return 1;
    }
    return 0;
}

/* cJSON prints with tabs; our model files stand with two blanks. */
static char *with_blanks(const char *printed)
{
    struct text text;

    text_init(&text, 1 << 20);
    for (const char *c = printed; *c; c++) {
        if (*c == '\t') {
            text_add(&text, c > printed && c[-1] == ':' ? " " : "  ");
        } else {
            text_add_bytes(&text, c, 1);
        }
    }
    text_add(&text, "\n");
    return text_steal(&text);
}

static int apply(const char *folder, const char *name,
                 const struct change *changes, bool write)
{
    char *path = file_join(folder, name), *bytes, *printed;
    struct error err;
    size_t length;
    cJSON *root;
    int wrong = 0;

    if (file_read(path, 1 << 20, &bytes, &length, &err) ||
        !(root = json_parse(bytes, length, &err))) {
        (void)fprintf(stderr, "%s: %s\n", path, err.text);
        exit(1);
    }
    for (; changes->key; changes++) {
        wrong +=
            compare_or_set(cJSON_GetObjectItemCaseSensitive(root, "numbers"),
                           path, changes, write);
    }
    if (write) {
        char *text;

        printed = cJSON_Print(root);
        text = with_blanks(printed);
        wrong += file_write_whole(path, text, strlen(text), 0644, &err) != 0;
        free(text);
        free(printed);
    }
    cJSON_Delete(root);
    free(bytes);
    free(path);
    return wrong;
}

/* A species without data of its own takes the numbers of those that have,
 * times a factor; its standard deviations stay as its file states them. */
static int apply_buds(const char *folder, const char *name,
                      const struct season_buds *buds, double factor, bool own,
                      bool write)
{
    const struct change changes[] = {
        {"base_temp_c", buds->base_temp_c, 2},
        {"daylength_half_h", buds->daylength_half_h, 2},
        {"day_share", buds->day_share, 2},
        {"swell_warmth_kd", buds->swell_warmth_kd * factor, 1},
        {"break_warmth_kd", buds->break_warmth_kd * factor, 1},
        {own ? "swell_sd_d" : NULL, buds->swell_sd_d, 2},
        {own ? "break_sd_d" : NULL, buds->break_sd_d, 2},
        {NULL, 0.0, 0},
    };

    return apply(folder, name, changes, write);
}

static int apply_general(const char *folder,
                         const struct season_general *general, bool write)
{
    const double *low = general->climate_min_c, *high = general->climate_max_c;
    const struct change changes[] = {
        {"climate_min_mean_c", low[0], 2},
        {"climate_min_cos1_c", low[1], 2},
        {"climate_min_sin1_c", low[2], 2},
        {"climate_min_cos2_c", low[3], 2},
        {"climate_min_sin2_c", low[4], 2},
        {"climate_max_mean_c", high[0], 2},
        {"climate_max_cos1_c", high[1], 2},
        {"climate_max_sin1_c", high[2], 2},
        {"climate_max_cos2_c", high[3], 2},
        {"climate_max_sin2_c", high[4], 2},
        {"anomaly_sd_k", general->anomaly_sd_k, 2},
        {"anomaly_memory", general->anomaly_memory, 2},
        {"range_sd_k", general->range_sd_k, 2},
        {"range_memory", general->range_memory, 2},
        {NULL, 0.0, 0},
    };

    return apply(folder, "season.json", changes, write);
}

int result_apply(const char *folder, const struct result *r, bool write)
{
    /* First bloom at 19 against 24 C-days above 10 C (Ohio State University
     * Extension): silver maple wants 19/24 of the warmth of red maple. */
    const double silver = 19.0 / 24.0;
    struct season_buds between = r->buds[0];

    between.swell_warmth_kd =
        0.5 * (r->buds[0].swell_warmth_kd + r->buds[1].swell_warmth_kd);
    between.break_warmth_kd =
        0.5 * (r->buds[0].break_warmth_kd + r->buds[1].break_warmth_kd);
    return apply_buds(folder, "buds-sugar-maple.json", &r->buds[0], 1.0, true,
                      write) +
           apply_buds(folder, "buds-red-maple.json", &r->buds[1], 1.0, true,
                      write) +
           apply_buds(folder, "buds-silver-maple.json", &r->buds[1], silver,
                      false, write) +
           apply_buds(folder, "buds-box-elder.json", &between, 1.0, false,
                      write) +
           apply_buds(folder, "buds-black-maple.json", &r->buds[0], 1.0, false,
                      write) +
           apply_buds(folder, "buds-norway-maple.json", &r->buds[0], 1.0, false,
                      write) +
           apply_general(folder, &r->general, write);
}
