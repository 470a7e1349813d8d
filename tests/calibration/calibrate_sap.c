/* The sap calibration: fits the free numbers of models/stem.json on the bucket
 * collections of MacLeish Field Station of 2013 and 2015 (CC0), says how well
 * they tell a season left out, and what other forms and choices reach (--all).
 * Holds the numbers that it finds against those of the files, or, with
 * --write, brings models/stem.json and models/gathering-buckets.json up to
 * date. Deterministic.
 *
 *   calibrate_sap DATA-FOLDER MODELS-FOLDER [--all] [--write] */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/memory.h"
#include "sap_bench.h"
#include "sap_files.h"

enum { SKIPPED = 77 }; /* as ctest is told */
/* A bucket holds 3 to 4 US gallons, by the data's notes. */
#define BUCKET_L 13.2

static const struct sap_trial TRIALS[] = {
    {"stem, as it is used",
     "stem",
     NULL,
     0,
     {false, false, false, 17},
     BUCKET_L},
    {"without sun", "stem", "sun_share", 0, {true, false, false, 17}, BUCKET_L},
    {"sun on bark 10 times",
     "stem",
     "sun_share",
     .03,
     {.collected_hour = 17},
     BUCKET_L},
    {"sun on bark 30 times",
     "stem",
     "sun_share",
     .1,
     {.collected_hour = 17},
     BUCKET_L},
    {"wind as 2 m/s", "stem", NULL, 0, {false, true, false, 17}, BUCKET_L},
    {"air temperature alone",
     "stem",
     NULL,
     0,
     {true, true, false, 17},
     BUCKET_L},
    {"each day's extremes alone",
     "stem",
     NULL,
     0,
     {true, true, true, 17},
     BUCKET_L},
    {"collected at 13:00", "stem", NULL, 0, {.collected_hour = 13}, BUCKET_L},
    {"collected at 15:00", "stem", NULL, 0, {.collected_hour = 15}, BUCKET_L},
    {"collected at 19:00", "stem", NULL, 0, {.collected_hour = 19}, BUCKET_L},
    {"buckets without a rim", "stem", NULL, 0, {.collected_hour = 17}, 0},
    {"no recharge from the stem",
     "stem",
     "stem_recharge_share",
     0,
     {.collected_hour = 17},
     BUCKET_L},
    {"recharge half from the stem",
     "stem",
     "stem_recharge_share",
     .5,
     {.collected_hour = 17},
     BUCKET_L},
    {"water drawn in at once",
     "stem",
     "uptake_time_h",
     .1,
     {.collected_hour = 17},
     BUCKET_L},
    {"twice the latent heat",
     "stem",
     "latent_j_m3",
     1.57e8,
     {.collected_hour = 17},
     BUCKET_L},
    {"stem of 20 cm",
     "stem",
     "stem_radius_m",
     .1,
     {.collected_hour = 17},
     BUCKET_L},
    {"stem of 45 cm",
     "stem",
     "stem_radius_m",
     .225,
     {.collected_hour = 17},
     BUCKET_L},
    {"hole of 3 cm",
     "stem",
     "tap_depth_m",
     .03,
     {.collected_hour = 17},
     BUCKET_L},
    {"hole of 8 cm",
     "stem",
     "tap_depth_m",
     .08,
     {.collected_hour = 17},
     BUCKET_L},
    {"no leak", "stem", "leak_per_h", 0, {.collected_hour = 17}, BUCKET_L},
    {"no taphole ageing",
     "stem",
     "taphole ageing",
     0,
     {.collected_hour = 17},
     BUCKET_L},
    {"two nodes", "two-node", NULL, 0, {.collected_hour = 17}, BUCKET_L},
};

enum { TRIAL_COUNT = sizeof TRIALS / sizeof *TRIALS };

static void print_row(const char *words, struct sap_bench *bench)
{
    struct sap_skill left[SAP_SEASONS], blocks[SAP_SEASONS], all[SAP_SEASONS];
    double sum = 0;
    for (int which = 0; which < SAP_SEASONS; which++)
        left[which] = sap_bench_leave_out(bench, which);
    sap_bench_blocks(bench, blocks);
    double loss = sap_bench_fit(bench);
    for (int which = 0; which < SAP_SEASONS; which++) {
        all[which] = sap_bench_judge(bench, which);
        sum += left[which].pearson + blocks[which].pearson;
    }
    (void)printf("%-28s", words);
    for (int which = 0; which < SAP_SEASONS; which++)
        (void)printf("  %5.3f %5.3f", left[which].pearson,
                     left[which].spearman);
    (void)printf("  %5.3f %5.3f  %5.3f", blocks[0].pearson, blocks[1].pearson,
                 sum / 4);
    (void)printf("  %5.3f %5.3f  %6.4f\n", all[0].pearson, all[1].pearson,
                 loss);
    (void)fflush(stdout);
}

static void print_head(void)
{
    (void)printf("%-28s  %-11s  %-11s  %-11s  %-5s  %-11s  %s\n", "",
                 "2013, fit", "2015, fit", "blocks left", "mean", "fitted on",
                 "loss");
    (void)printf("%-28s  %-11s  %-11s  %-11s  %-5s  %-11s\n", "", "on 2015",
                 "on 2013", "out", "of 4", "both");
    (void)printf("%-28s  %-11s  %-11s  %-11s  %-5s  %-11s\n\n", "",
                 "r     rank", "r     rank", "2013  2015", "r", "2013  2015");
}

static int try_one(const char *data, const char *models,
                   const struct sap_trial *trial)
{
    struct sap_bench bench;
    struct error err;
    int result = sap_bench_open(&bench, data, models, trial, &err);
    if (result == 0)
        print_row(trial->words, &bench);
    else
        (void)fprintf(stderr, "%s: %s\n", trial->words, err.text);
    sap_bench_close(&bench);
    return result;
}

/* What a thermometer that is off would do to the numbers as they stand. */
static void print_offsets(struct sap_bench *bench)
{
    (void)printf("\nair read with an error of      2013   2015\n");
    for (int half = -2; half <= 2; half++) {
        (void)printf("%+.1f K                       ", half / 2.0);
        for (int which = 0; which < SAP_SEASONS; which++) {
            struct forcing *forcing = bench->seasons[which].forcing;
            for (int hour = 0; hour < forcing->hours; hour++)
                forcing->air_temp_c[hour] += half / 2.0;
            (void)printf("  %5.3f", sap_bench_judge(bench, which).pearson);
            for (int hour = 0; hour < forcing->hours; hour++)
                forcing->air_temp_c[hour] -= half / 2.0;
        }
        (void)printf("\n");
    }
    (void)printf("\n");
}

/* Fits the form in use and holds the files against it. Returns how many
 * numbers differ. */
static int settle(const char *data, const char *models, bool all, bool write)
{
    struct sap_bench bench;
    struct error err;
    int wrong = 1;
    if (sap_bench_open(&bench, data, models, &TRIALS[0], &err) == 0) {
        sap_bench_fit(&bench);
        sap_bench_full_store_l(&bench);
        if (all)
            print_offsets(&bench);
        wrong = sap_files_settle(&bench.problem, models, write);
    } else {
        (void)fprintf(stderr, "%s\n", err.text);
    }
    sap_bench_close(&bench);
    return wrong;
}

static bool has_word(int count, char **words, const char *word)
{
    for (int i = 3; i < count; i++)
        if (strcmp(words[i], word) == 0)
            return true;
    return false;
}

int main(int count, char **words)
{
    if (count < 3) {
        (void)fprintf(stderr, "usage: calibrate_sap DATA-FOLDER MODELS-FOLDER "
                              "[--all] [--write]\n");
        return 2;
    }
    char *needed = file_join(words[1], "whately-sap-2013.csv");
    bool found = file_exists(needed);
    free(needed);
    if (!found) {
        const char *ci = getenv("CI");
        (void)printf("skipped: needs the open data named in docs\n");
        return ci && strcmp(ci, "true") == 0 ? 1 : SKIPPED;
    }
    bool all = has_word(count, words, "--all");
    int trials = all ? TRIAL_COUNT : 0;
    if (all)
        print_head();
    for (int i = 0; i < trials; i++)
        if (try_one(words[1], words[2], &TRIALS[i]) != 0)
            return 1;
    return settle(words[1], words[2], all, has_word(count, words, "--write")) !=
           0;
}
