/* Reading the parameter files of the season. */
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"
#include "tree/season.h"

enum { MODEL_FILE_MAX = 256 * 1024 };

struct number_row {
    const char *key, *unit;
    size_t offset;
};

#define BUDS(key, unit)                                                        \
    {                                                                          \
#key, unit, offsetof(struct season_buds, key)                          \
    }
static const struct number_row BUDS_ROWS[] = {
    BUDS(day_share, "1"),
    BUDS(base_temp_c, "C"),
    BUDS(daylength_half_h, "h"),
    BUDS(daylength_width_h, "h"),
    BUDS(chill_temp_c, "C"),
    BUDS(chill_width_k, "K"),
    BUDS(chill_effect, "1/100 d"),
    BUDS(chill_reference_d, "d"),
    BUDS(swell_warmth_kd, "K d"),
    BUDS(swell_sd_d, "d"),
    BUDS(break_warmth_kd, "K d"),
    BUDS(break_sd_d, "d"),
    {NULL, NULL, 0},
};

#define GENERAL(key, unit)                                                     \
    {                                                                          \
#key, unit, offsetof(struct season_general, key)                       \
    }
#define HARMONIC(key, index, name)                                             \
    {                                                                          \
        name, "C",                                                             \
            offsetof(struct season_general, key) + (index) * sizeof(double)    \
    }
static const struct number_row GENERAL_ROWS[] = {
    GENERAL(climate_latitude_deg, "deg"),
    GENERAL(climate_elevation_m, "m"),
    HARMONIC(climate_min_c, 0, "climate_min_mean_c"),
    HARMONIC(climate_min_c, 1, "climate_min_cos1_c"),
    HARMONIC(climate_min_c, 2, "climate_min_sin1_c"),
    HARMONIC(climate_min_c, 3, "climate_min_cos2_c"),
    HARMONIC(climate_min_c, 4, "climate_min_sin2_c"),
    HARMONIC(climate_max_c, 0, "climate_max_mean_c"),
    HARMONIC(climate_max_c, 1, "climate_max_cos1_c"),
    HARMONIC(climate_max_c, 2, "climate_max_sin1_c"),
    HARMONIC(climate_max_c, 3, "climate_max_cos2_c"),
    HARMONIC(climate_max_c, 4, "climate_max_sin2_c"),
    GENERAL(climate_per_degree_k, "K/deg"),
    GENERAL(climate_per_km_k, "K/km"),
    GENERAL(anomaly_sd_k, "K"),
    GENERAL(anomaly_memory, "1"),
    GENERAL(run_min_c, "C"),
    GENERAL(run_max_c, "C"),
    GENERAL(run_mean_c, "C"),
    GENERAL(run_width_k, "K"),
    GENERAL(tap_keeps, "1"),
    GENERAL(taphole_ageing, "1/1000 K h"),
    GENERAL(taphole_spent, "1"),
    GENERAL(off_at_swell, "1"),
    GENERAL(off_at_break, "1"),
    GENERAL(off_warm_nights, "d"),
    GENERAL(off_warm_night_step, "1"),
    GENERAL(off_warm_most, "1"),
    GENERAL(off_frost_keeps, "1"),
    GENERAL(pull_risk_from, "1"),
    GENERAL(pull_risk_by, "1"),
    GENERAL(log_memory_d, "d"),
    {NULL, NULL, 0},
};

static const struct number_row *find_number(const struct number_row *rows,
                                            const char *key)
{
    for (; rows->key; rows++) {
        if (strcmp(rows->key, key) == 0) {
            return rows;
        }
    }
    return NULL;
}

static int check_members(const cJSON *entry, const char *path,
                         struct error *err)
{
    static const char *const KNOWN[] = {"value", "unit", "min", "max",
                                        "source"};
    const cJSON *member;

    cJSON_ArrayForEach(member, entry)
    {
        bool known = false;

        for (size_t i = 0; i < sizeof KNOWN / sizeof KNOWN[0]; i++) {
            known = known || strcmp(KNOWN[i], member->string) == 0;
        }
        if (!known) {
            return error_set(err, _("%s: %s: unknown member \"%s\""), path,
                             entry->string, member->string);
        }
    }
    return 0;
}

static int read_number(const cJSON *entry, const char *path,
                       const struct number_row *row, double *out,
                       struct error *err)
{
    const char *unit = json_string(entry, "unit");
    const char *source = json_string(entry, "source");
    double value, min, max;

    if (check_members(entry, path, err)) {
        return -1;
    }
    if (!json_number(entry, "value", &value) ||
        !json_number(entry, "min", &min) || !json_number(entry, "max", &max) ||
        !unit || !source || !*source) {
        return error_set(err,
                         _("%s: %s needs value, unit, min, max and source"),
                         path, row->key);
    }
    if (strcmp(unit, row->unit) != 0) {
        return error_set(err, _("%s: %s is in \"%s\", and must be in \"%s\""),
                         path, row->key, unit, row->unit);
    }
    if (value < min || value > max) {
        return error_set(err, _("%s: %s is %g, outside of %g to %g"), path,
                         row->key, value, min, max);
    }
    *out = value;
    return 0;
}

static int read_numbers(const cJSON *root, const char *path,
                        const struct number_row *rows, void *target,
                        struct error *err)
{
    const cJSON *numbers = json_object(root, "numbers");
    const cJSON *entry;
    int count = 0;

    cJSON_ArrayForEach(entry, numbers)
    {
        const struct number_row *row = find_number(rows, entry->string);

        if (!row) {
            return error_set(err, _("%s: unknown key \"%s\""), path,
                             entry->string);
        }
        if (read_number(entry, path, row,
                        (double *)(void *)((char *)target + row->offset),
                        err)) {
            return -1;
        }
        count++;
    }
    for (; rows->key; rows++, count--) {
        if (!json_object(numbers, rows->key)) {
            return error_set(err, _("%s: the key %s is missing"), path,
                             rows->key);
        }
    }
    return count == 0 ? 0 : error_set(err, _("%s: a key comes twice"), path);
}

static int check_top(const cJSON *root, const char *path, struct error *err)
{
    static const char *const KNOWN[] = {"name", "version", "about", "numbers"};
    const cJSON *member;

    cJSON_ArrayForEach(member, root)
    {
        bool known = false;

        for (size_t i = 0; i < sizeof KNOWN / sizeof KNOWN[0]; i++) {
            known = known || strcmp(KNOWN[i], member->string) == 0;
        }
        if (!known) {
            return error_set(err, _("%s: unknown key \"%s\""), path,
                             member->string);
        }
    }
    if (!json_string(root, "name") || !json_string(root, "version")) {
        return error_set(err, _("%s needs a name and a version"), path);
    }
    return 0;
}

/* A model file: bytes for the digest, and its tree. */
struct model_file {
    char *path, *bytes;
    size_t length;
    cJSON *root;
};

static void model_file_free(struct model_file *file)
{
    free(file->path);
    free(file->bytes);
    cJSON_Delete(file->root);
}

static int model_file_open(const char *folder, const char *name,
                           struct model_file *out, struct error *err)
{
    if (folder) {
        out->path = file_join(folder, name);
    } else {
        char *below = mem_format("models/%s", name);

        out->path = file_find_data(below, err);
        free(below);
    }
    if (!out->path ||
        file_read(out->path, MODEL_FILE_MAX, &out->bytes, &out->length, err)) {
        return -1;
    }
    out->root = json_parse(out->bytes, out->length, err);
    if (!out->root) {
        return error_prefix(err, "%s: ", out->path);
    }
    return check_top(out->root, out->path, err);
}

static char *buds_file_name(enum species species)
{
    char *name = mem_format("buds-%s.json", species_word(species));

    for (char *c = name; *c; c++) {
        if (*c == ' ') {
            *c = '-';
        }
    }
    return name;
}

static void name_model(const struct model_file *buds,
                       const struct model_file *general,
                       struct season_model *out)
{
    char *both = mem_format("%s\n%s", buds->bytes, general->bytes);

    digest_hex(both, strlen(both), out->digest);
    free(both);
    (void)snprintf(out->name, sizeof out->name, "%s",
                   json_string(buds->root, "name"));
    (void)snprintf(out->version, sizeof out->version, "%s",
                   json_string(buds->root, "version"));
}

int season_model_load(const char *folder, enum species species,
                      struct season_model *out, struct error *err)
{
    struct model_file buds = {0}, general = {0};
    char *name = buds_file_name(species);
    int status = -1;

    out->species = species;
    if (!model_file_open(folder, name, &buds, err) &&
        !model_file_open(folder, "season.json", &general, err) &&
        !read_numbers(buds.root, buds.path, BUDS_ROWS, &out->buds, err) &&
        !read_numbers(general.root, general.path, GENERAL_ROWS, &out->general,
                      err)) {
        name_model(&buds, &general, out);
        status = 0;
    }
    model_file_free(&buds);
    model_file_free(&general);
    free(name);
    return status;
}
