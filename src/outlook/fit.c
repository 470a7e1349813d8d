#include "outlook/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "outlook/fit_solve.h"
#include "outlook/outlook.h"
#include "outlook/replay.h"
#include "weather/forcing.h"

enum { ROUNDS = 40 };
static const double KNOWN_SHARE = 0.9;
/* Error of the square roots in sqrt(L per tap), that of the model in use on
 * the two open seasons (docs/model-calibration.md), worth ten collections. */
static const double USUAL_ERROR = 0.45, USUAL_WORTH = 10;
static const double STEP = 0.02; /* of a logarithm, for slopes */

static const double prior_sds[TREE_NUMBER_COUNT] = {
    [TREE_VOLUME_SHARE] = FIT_VOLUME_LOG_SD,
    [TREE_STORE_TIME_H] = FIT_STORE_TIME_LOG_SD,
    [TREE_AGEING_PER_KKH] = FIT_AGEING_LOG_SD,
};

/* What is sought: logarithms of the numbers beside the prior's, and of each
 * season's volume beside the bush's. */
enum { POINT = TREE_NUMBER_COUNT + FIT_MAX_SEASONS };

struct problem {
    struct tree_model *model;
    const struct fit_data *data;
    struct forcing *forcing;
    struct tree_hour *hours; /* scratch */
    double *sum_l;           /* scratch: flow up to each hour */
    double prior[TREE_NUMBER_COUNT];
    double low[TREE_NUMBER_COUNT], high[TREE_NUMBER_COUNT];
    const struct fit_row *rows; /* those with weather; owned */
    int count;
    bool *used; /* of the rows */
    int size;   /* of the point */
};

static double prior_sd(int i)
{
    return i < TREE_NUMBER_COUNT ? prior_sds[i] : FIT_SEASON_LOG_SD;
}

static double row_known_share(const struct forcing *forcing,
                              const struct fit_row *row)
{
    double known_s = 0;

    for (int hour = 0; hour < forcing->hours; hour++) {
        utc_s start = forcing->start + (utc_s)hour * SECONDS_PER_HOUR;
        utc_s end = start + SECONDS_PER_HOUR;
        utc_s from = start > row->from ? start : row->from;
        utc_s to = end < row->to ? end : row->to;

        if (to > from && forcing->known[hour])
            known_s += (double)(to - from);
    }
    return row->to > row->from ? known_s / (double)(row->to - row->from) : 0;
}

/* Flow from the first hour to the instant, L per tap. */
static double flow_until(const struct problem *problem, utc_s instant)
{
    const struct forcing *forcing = problem->forcing;
    double place =
        (double)(instant - forcing->start) / (double)SECONDS_PER_HOUR;
    int hour = (int)floor(place);

    if (place <= 0)
        return 0;
    if (hour >= forcing->hours)
        return problem->sum_l[forcing->hours];
    return problem->sum_l[hour] +
           (place - hour) * problem->hours[hour].sap_l_per_tap;
}

/* What ran in the rows of a season by the model as it stands. */
static void run_season(struct problem *problem, int season, double *ran_l)
{
    struct tree_site site = problem->data->site;

    site.tapped = true;
    site.tapped_at = problem->data->tapped_at[season];
    tree_run(problem->model, &site, problem->forcing, problem->hours);
    for (int hour = 0; hour < problem->forcing->hours; hour++)
        problem->sum_l[hour + 1] =
            problem->sum_l[hour] + problem->hours[hour].sap_l_per_tap;
    for (int i = 0; i < problem->count; i++)
        if (problem->rows[i].season == season)
            ran_l[i] = flow_until(problem, problem->rows[i].to) -
                       flow_until(problem, problem->rows[i].from);
}

/* L per tap that ran, with the volume of the prior. */
static void run(struct problem *problem, const double *point, double *ran_l)
{
    for (int i = TREE_VOLUME_SHARE + 1; i < TREE_NUMBER_COUNT; i++)
        tree_model_set_number(problem->model, (enum tree_number)i,
                              problem->prior[i] * exp(point[i]));
    for (int season = 0; season < problem->data->season_count; season++)
        run_season(problem, season, ran_l);
}

/* What buckets kept of it with the volumes of the point, L per tap. */
static double kept_l(const struct problem *problem, const double *point,
                     const double *ran_l, int row)
{
    int season = TREE_NUMBER_COUNT + problem->rows[row].season;
    double volume = exp(point[TREE_VOLUME_SHARE] + point[season]);

    return tree_kept_l_per_tap(problem->model, ran_l[row] * volume,
                               problem->data->site.bucket_l);
}

static double missed(const struct problem *problem, const double *point,
                     const double *ran_l, int row)
{
    double found_l = problem->rows[row].sap_l / problem->data->taps;

    return problem->used[row]
               ? sqrt(fmax(0, kept_l(problem, point, ran_l, row))) -
                     sqrt(found_l)
               : 0;
}

static int rows_used(const struct problem *problem)
{
    int used = 0;

    for (int i = 0; i < problem->count; i++)
        used += problem->used[i];
    return used;
}

/* Variance of an error that is most likely with these. */
static double error_variance(const struct problem *problem,
                             const double *errors)
{
    double sum = USUAL_WORTH * USUAL_ERROR * USUAL_ERROR;

    for (int i = 0; i < problem->count; i++)
        sum += errors[i] * errors[i];
    return sum / (rows_used(problem) + USUAL_WORTH);
}

/* Minus the logarithm of the probability, but for a constant. */
static double loss_of(const struct problem *problem, const double *point,
                      const double *errors)
{
    double loss = 0.5 * (rows_used(problem) + USUAL_WORTH) *
                  log(error_variance(problem, errors));

    for (int i = 0; i < problem->size; i++)
        loss += 0.5 * point[i] * point[i] / (prior_sd(i) * prior_sd(i));
    return loss;
}

/* How the errors change with each part of the point: [row * size + part]. */
static void find_slopes(struct problem *problem, const double *point,
                        const double *ran_l, const double *errors,
                        double *slopes)
{
    double *moved_l = mem_alloc((size_t)problem->count + 1, sizeof *moved_l);
    double moved[POINT];

    for (int part = 0; part < problem->size; part++) {
        bool of_volume = part == TREE_VOLUME_SHARE || part >= TREE_NUMBER_COUNT;

        memcpy(moved, point, sizeof moved);
        moved[part] += STEP;
        if (!of_volume)
            run(problem, moved, moved_l);
        for (int row = 0; row < problem->count; row++)
            slopes[row * problem->size + part] =
                (missed(problem, moved, of_volume ? ran_l : moved_l, row) -
                 errors[row]) /
                STEP;
    }
    free(moved_l);
}

/* The matrix of second slopes of the loss and, negative, its slopes. */
static void set_up(const struct problem *problem, const double *point,
                   const double *errors, const double *slopes,
                   struct fit_system *system)
{
    double variance = error_variance(problem, errors);

    *system = (struct fit_system){.size = problem->size};
    for (int i = 0; i < problem->size; i++) {
        double held = 1 / (prior_sd(i) * prior_sd(i));

        system->matrix[i][i] = held;
        system->right[i] = -held * point[i];
        for (int row = 0; row < problem->count; row++) {
            const double *of_row = slopes + row * problem->size;

            system->right[i] -= of_row[i] * errors[row] / variance;
            for (int j = 0; j < problem->size; j++)
                system->matrix[i][j] += of_row[i] * of_row[j] / variance;
        }
    }
}

static void judge(struct problem *problem, const double *point, double *ran_l,
                  double *errors)
{
    run(problem, point, ran_l);
    for (int row = 0; row < problem->count; row++)
        errors[row] = missed(problem, point, ran_l, row);
}

/* A step of the damped method; false if none is better. */
static bool step(struct problem *problem, const struct fit_system *system,
                 double *point, double *ran_l, double *errors, double *loss,
                 double *damping)
{
    for (int tries = 0; tries < 12; tries++) {
        double change[POINT], there[POINT] = {0}, there_loss;

        fit_solve(system, *damping, change);
        for (int i = 0; i < problem->size; i++) {
            there[i] = point[i] + change[i];
            if (i < TREE_NUMBER_COUNT)
                there[i] =
                    fmin(fmax(there[i], problem->low[i]), problem->high[i]);
        }
        judge(problem, there, ran_l, errors);
        there_loss = loss_of(problem, there, errors);
        if (there_loss < *loss) {
            memcpy(point, there, sizeof there);
            *loss = there_loss;
            *damping /= 10;
            return true;
        }
        *damping *= 5;
    }
    judge(problem, point, ran_l, errors);
    return false;
}

/* Moves the point from the prior to the most probable one. */
static void seek(struct problem *problem, double point[POINT],
                 struct fit_system *at_end, double *error_sd)
{
    size_t count = (size_t)problem->count + 1;
    double *ran_l = mem_alloc(count, sizeof *ran_l);
    double *errors = mem_alloc(count, sizeof *errors);
    double *slopes = mem_alloc(count * (size_t)problem->size, sizeof *slopes);
    double damping = 1e-3, loss, before;

    memset(point, 0, POINT * sizeof *point);
    judge(problem, point, ran_l, errors);
    loss = loss_of(problem, point, errors);
    for (int round = 0; round < ROUNDS; round++) {
        find_slopes(problem, point, ran_l, errors, slopes);
        set_up(problem, point, errors, slopes, at_end);
        before = loss;
        if (!step(problem, at_end, point, ran_l, errors, &loss, &damping) ||
            before - loss < 1e-7)
            break;
    }
    find_slopes(problem, point, ran_l, errors, slopes);
    set_up(problem, point, errors, slopes, at_end);
    *error_sd = sqrt(error_variance(problem, errors));
    free(ran_l);
    free(errors);
    free(slopes);
}

/* What the point says of each row, all taps; those not used alone, if
 * `unused`. */
static void tell(struct problem *problem, const double *point, bool unused,
                 double *told_l)
{
    double *ran_l = mem_alloc((size_t)problem->count + 1, sizeof *ran_l);

    run(problem, point, ran_l);
    for (int row = 0; row < problem->count; row++)
        if (!unused || !problem->used[row])
            told_l[row] =
                kept_l(problem, point, ran_l, row) * problem->data->taps;
    free(ran_l);
}

static struct fit_skill skill_of(const struct problem *problem,
                                 const double *told_l)
{
    double *found_l = mem_alloc((size_t)problem->count + 1, sizeof *found_l);
    struct replay_skill all;
    struct fit_skill skill;

    for (int row = 0; row < problem->count; row++)
        found_l[row] = problem->rows[row].sap_l;
    replay_score(told_l, found_l, problem->count,
                 OUTLOOK_RUN_L_PER_TAP * problem->data->taps, &all);
    skill = (struct fit_skill){all.mae_l.value, all.pearson.value,
                               all.pearson.known};
    free(found_l);
    return skill;
}

/* Each fold, a stretch of rows, told by the others. */
static struct fit_skill cross(struct problem *problem, double *told_l)
{
    for (int fold = 0; fold < FIT_FOLDS; fold++) {
        struct fit_system system;
        double point[POINT], error_sd;

        for (int row = 0; row < problem->count; row++)
            problem->used[row] = row * FIT_FOLDS / problem->count != fold;
        seek(problem, point, &system, &error_sd);
        tell(problem, point, true, told_l);
    }
    for (int row = 0; row < problem->count; row++)
        problem->used[row] = true;
    return skill_of(problem, told_l);
}

static void take_numbers(const struct problem *problem, const double *point,
                         const struct fit_system *system, struct fit *out)
{
    double variances[FIT_SYSTEM_MAX];

    fit_variances(system, variances);
    for (int i = 0; i < TREE_NUMBER_COUNT; i++) {
        struct fit_number *number = &out->numbers[i];

        number->value = problem->prior[i] * exp(point[i]);
        number->log_sd = sqrt(variances[i]);
        number->own_weight =
            fmax(0, 1 - variances[i] / (prior_sds[i] * prior_sds[i]));
    }
}

static void learn(struct problem *problem, struct fit *out)
{
    double *told_l = mem_alloc((size_t)problem->count + 1, sizeof *told_l);
    const double prior[POINT] = {0};
    struct fit_system system;
    double point[POINT];

    tell(problem, prior, false, told_l);
    out->before = skill_of(problem, told_l);
    out->after = out->before;
    if (out->enough) {
        seek(problem, point, &system, &out->error_sd);
        take_numbers(problem, point, &system, out);
        tell(problem, point, false, told_l);
        out->after = skill_of(problem, told_l);
        out->cross = cross(problem, told_l);
        out->has_cross = true;
    }
    free(told_l);
}

static void begin(struct problem *problem, struct tree_model *model,
                  const struct fit_data *data,
                  const struct fit_bounds bounds[TREE_NUMBER_COUNT],
                  struct fit *out)
{
    *problem = (struct problem){.model = model, .data = data};
    problem->forcing = forcing_from_series(data->series, data->site.latitude,
                                           data->site.longitude);
    problem->hours =
        mem_alloc((size_t)problem->forcing->hours, sizeof *problem->hours);
    problem->sum_l =
        mem_alloc((size_t)problem->forcing->hours + 1, sizeof *problem->sum_l);
    problem->size = TREE_NUMBER_COUNT + data->season_count;
    for (int i = 0; i < TREE_NUMBER_COUNT; i++) {
        double prior = tree_model_number(model, (enum tree_number)i);

        problem->prior[i] = prior;
        /* A number that is 0 has no logarithm: it stays. */
        if (prior > 0) {
            problem->low[i] = log(fmax(bounds[i].min, prior * 1e-3) / prior);
            problem->high[i] = log(fmax(bounds[i].max, prior) / prior);
        }
        out->numbers[i] = (struct fit_number){.prior = prior,
                                              .prior_log_sd = prior_sds[i],
                                              .min = bounds[i].min,
                                              .max = bounds[i].max,
                                              .value = prior,
                                              .log_sd = prior_sds[i]};
    }
}

static struct fit_row *take_rows(struct problem *problem,
                                 const struct fit_data *data, struct fit *out)
{
    struct fit_row *rows = mem_alloc((size_t)data->row_count + 1, sizeof *rows);

    for (int i = 0; i < data->row_count; i++) {
        bool known =
            row_known_share(problem->forcing, &data->rows[i]) >= KNOWN_SHARE;

        if (known)
            rows[problem->count++] = data->rows[i];
        out->left_out += !known;
    }
    problem->rows = rows;
    problem->used = mem_alloc((size_t)problem->count + 1, sizeof(bool));
    for (int i = 0; i < problem->count; i++)
        problem->used[i] = true;
    out->rows = problem->count;
    out->enough = problem->count >= FIT_LEAST_ROWS;
    return rows;
}

void fit_make(struct tree_model *model, const struct fit_data *data,
              const struct fit_bounds bounds[TREE_NUMBER_COUNT],
              struct fit *out)
{
    struct problem problem;
    struct fit_row *rows;

    *out = (struct fit){.error_sd = USUAL_ERROR};
    begin(&problem, model, data, bounds, out);
    rows = take_rows(&problem, data, out);
    if (problem.count > 0)
        learn(&problem, out);
    for (int i = 0; i < TREE_NUMBER_COUNT; i++)
        tree_model_set_number(model, (enum tree_number)i, problem.prior[i]);
    forcing_free(problem.forcing);
    free(problem.hours);
    free(problem.sum_l);
    free(problem.used);
    free(rows);
}
