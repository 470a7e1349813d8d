/* Reading the parameter files of the season. */
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "tree/parameters.h"
#include "tree/season_private.h"

#define BUDS(key, unit)                                                        \
    {                                                                          \
#key, unit, offsetof(struct season_buds, key)                          \
    }
static const struct parameter_row BUDS_ROWS[] = {
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
static const struct parameter_row GENERAL_ROWS[] = {
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
    GENERAL(range_sd_k, "K"),
    GENERAL(range_memory, "1"),
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

static void name_model(const struct parameter_file *buds,
                       const struct parameter_file *general,
                       struct season_model *out)
{
    char *both = mem_format("%s\n%s", buds->bytes, general->bytes);

    digest_hex(both, strlen(both), out->digest);
    free(both);
    (void)snprintf(out->name, sizeof out->name, "%s",
                   parameter_file_word(buds, "name"));
    (void)snprintf(out->version, sizeof out->version, "%s",
                   parameter_file_word(buds, "version"));
}

int season_model_load(const char *folder, enum species species,
                      struct season_model *out, struct error *err)
{
    struct parameter_file buds = {0}, general = {0};
    char *name = buds_file_name(species);
    int status = -1;

    out->species = species;
    if (!parameter_file_open(&buds, folder, name, err) &&
        !parameter_file_open(&general, folder, "season.json", err) &&
        !parameter_file_read(&buds, BUDS_ROWS, &out->buds, err) &&
        !parameter_file_read(&general, GENERAL_ROWS, &out->general, err)) {
        name_model(&buds, &general, out);
        season_sun_make(&out->sun);
        season_curve_make(&out->general, &out->curve);
        status = 0;
    }
    parameter_file_free(&buds);
    parameter_file_free(&general);
    free(name);
    return status;
}
