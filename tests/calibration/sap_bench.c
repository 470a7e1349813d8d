#include "sap_bench.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum { BLOCKS = 4, TAPS_2013 = 50 };
static const int YEARS[SAP_SEASONS] = {2013, 2015};

static const struct free_number STEM_FREE[] = {
    {"branch_radius_m", 0.03, 0.4}, {"wind_share", 0.4, 0.4},
    {"uptake_time_h", 4, 0.6},      {"store_time_h", 20, 0.5},
    {"leak_per_h", 0.005, 0.7},     {"taphole ageing", 1, 0.7},
};
enum { STEM_FREE_COUNT = sizeof STEM_FREE / sizeof *STEM_FREE };

static const struct free_number TWO_NODE_FREE[] = {
    {"branch_rate_per_h", 0.8, 0.6}, {"branch_latent_k", 25, 0.4},
    {"trunk_rate_per_h", 0.3, 0.5},  {"trunk_latent_k", 40, 0.4},
    {"store_time_h", 20, 0.5},       {"leak_per_h", 0.005, 0.7},
    {"taphole ageing", 1, 0.7},
};
enum { TWO_NODE_FREE_COUNT = sizeof TWO_NODE_FREE / sizeof *TWO_NODE_FREE };

static void use_all_rows(struct sap_problem *problem)
{
    for (int which = 0; which < SAP_SEASONS; which++)
        memcpy(problem->weights[which], problem->seasons[which].weight,
               sizeof problem->weights[which]);
}

/* The free numbers of the form, but the one that the trial sets. */
static void choose_free(struct sap_bench *bench, const struct sap_trial *trial)
{
    bool stem = strcmp(trial->form, "stem") == 0;
    const struct free_number *all = stem ? STEM_FREE : TWO_NODE_FREE;
    int count = stem ? STEM_FREE_COUNT : TWO_NODE_FREE_COUNT;
    for (int i = 0; i < count; i++)
        if (!trial->key || strcmp(all[i].key, trial->key) != 0)
            bench->free[bench->problem.free_count++] = all[i];
    bench->problem.free = bench->free;
}

int sap_bench_open(struct sap_bench *bench, const char *data,
                   const char *models, const struct sap_trial *trial,
                   struct error *err)
{
    memset(bench, 0, sizeof *bench);
    if (tree_model_load_form(models, trial->form, SPECIES_SUGAR_MAPLE,
                             GATHERING_BUCKETS, &bench->problem.model,
                             err) != 0)
        return -1;
    int most = 0;
    for (int which = 0; which < SAP_SEASONS; which++) {
        if (sap_season_read(data, YEARS[which], &trial->weather,
                            &bench->seasons[which], err) != 0)
            return -1;
        if (bench->seasons[which].forcing->hours > most)
            most = bench->seasons[which].forcing->hours;
    }
    bench->problem.seasons = bench->seasons;
    bench->problem.bucket_l = trial->bucket_l;
    bench->problem.hours = mem_alloc((size_t)most, sizeof(struct tree_hour));
    choose_free(bench, trial);
    use_all_rows(&bench->problem);
    if (trial->key &&
        !sap_set_number(bench->problem.model, trial->key, trial->value))
        return error_set(err, "%s: no such number", trial->key);
    return 0;
}

void sap_bench_close(struct sap_bench *bench)
{
    for (int which = 0; which < SAP_SEASONS; which++)
        sap_season_free(&bench->seasons[which]);
    tree_model_free(bench->problem.model);
    free(bench->problem.hours);
}

/* The volumes of a season with the model as it stands. */
static void volumes(struct sap_bench *bench, int which, double *kept_l)
{
    sap_season_model(&bench->seasons[which], bench->problem.model,
                     bench->problem.bucket_l, bench->problem.hours, kept_l);
}

static struct sap_skill skill_of(const struct sap_season *season,
                                 const double *kept_l)
{
    double same[SAP_MAX_ROWS];
    for (int i = 0; i < season->count; i++)
        same[i] = 1;
    return (struct sap_skill){
        sap_pearson(kept_l, season->litres, same, season->count),
        sap_spearman(kept_l, season->litres, season->count)};
}

double sap_bench_fit(struct sap_bench *bench)
{
    use_all_rows(&bench->problem);
    return sap_fit(&bench->problem);
}

struct sap_skill sap_bench_judge(struct sap_bench *bench, int which)
{
    double kept_l[SAP_MAX_ROWS];
    volumes(bench, which, kept_l);
    return skill_of(&bench->seasons[which], kept_l);
}

struct sap_skill sap_bench_leave_out(struct sap_bench *bench, int which)
{
    use_all_rows(&bench->problem);
    memset(bench->problem.weights[which], 0,
           sizeof bench->problem.weights[which]);
    sap_fit(&bench->problem);
    return sap_bench_judge(bench, which);
}

/* Block of a row; the seasons' blocks are paired early with late. */
static int block_of(const struct sap_season *season, int which, int row)
{
    return (row * BLOCKS / season->count + 2 * which) % BLOCKS;
}

/* The volumes of the rows left out, brought to the season's level by the rows
 * that were not: 2015 does not say how many taps there were. */
static void fill_block(struct sap_bench *bench, int which, int block,
                       double *filled_l)
{
    const struct sap_season *season = &bench->seasons[which];
    double kept_l[SAP_MAX_ROWS], found = 0, model = 0;
    volumes(bench, which, kept_l);
    for (int i = 0; i < season->count; i++) {
        if (block_of(season, which, i) == block)
            continue;
        found += season->litres[i];
        model += kept_l[i];
    }
    for (int i = 0; i < season->count; i++)
        if (block_of(season, which, i) == block)
            filled_l[i] = kept_l[i] * found / model;
}

void sap_bench_blocks(struct sap_bench *bench,
                      struct sap_skill skill[SAP_SEASONS])
{
    double filled_l[SAP_SEASONS][SAP_MAX_ROWS];
    for (int block = 0; block < BLOCKS; block++) {
        use_all_rows(&bench->problem);
        for (int which = 0; which < SAP_SEASONS; which++)
            for (int i = 0; i < bench->seasons[which].count; i++)
                if (block_of(&bench->seasons[which], which, i) == block)
                    bench->problem.weights[which][i] = 0;
        sap_fit(&bench->problem);
        for (int which = 0; which < SAP_SEASONS; which++)
            fill_block(bench, which, block, filled_l[which]);
    }
    for (int which = 0; which < SAP_SEASONS; which++)
        skill[which] = skill_of(&bench->seasons[which], filled_l[which]);
}

void sap_bench_full_store_l(struct sap_bench *bench)
{
    static const char key[] = "full_store_l";
    const struct sap_season *season = &bench->seasons[0];
    double low_l = 0.5, high_l = 100;
    for (int round = 0; round < 40; round++) {
        double kept_l[SAP_MAX_ROWS], sum = 0, middle_l = (low_l + high_l) / 2;
        sap_set_number(bench->problem.model, key, middle_l);
        volumes(bench, 0, kept_l);
        for (int i = 0; i < season->count; i++)
            sum += kept_l[i] * TAPS_2013 - season->litres[i];
        if (sum > 0)
            high_l = middle_l;
        else
            low_l = middle_l;
    }
}
