#include "calibrate_buds_fit.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"

/* Prior of the step between the stations: a manual reading in the morning
 * is colder than an electronic one to midnight by about half a kelvin to one
 * and a half (Karl and others 1986, J. Climate Appl. Meteor. 25:145-160, from
 * memory). */
static const double STEP_PRIOR_K = 1.0, STEP_PRIOR_SD_K = 0.7;
/* Sugar and red maple err together (r about 0.5 to 0.9). */
static const double WITNESSES_PER_KIND = 0.75;
static const double NUMBERS_FITTED = 4.0;

void setting_make(const struct bud_data *data,
                  const struct season_general *general, double step_k,
                  struct setting *out)
{
    struct daily *daily = bud_data_stepped(data, step_k);
    struct error err;

    out->general = *general;
    climate_fit(daily, &out->general);
    season_climate_at(&out->general, SITE_LATITUDE, SITE_ELEVATION_M,
                      &out->climate);
    out->weathers = mem_alloc(YEARS, sizeof *out->weathers);
    for (int i = 0; i < YEARS; i++) {
        if (season_weather_from_daily(daily, FIRST_YEAR + i, &out->general,
                                      &out->climate, &out->weathers[i], &err)) {
            (void)fprintf(stderr, "%s\n", err.text);
            exit(1);
        }
    }
    daily_free(daily);
}

void setting_free(struct setting *setting)
{
    free(setting->weathers);
}

void buds_shape(double share, double base_c, double half_h, double effect,
                const struct season_buds *rest, struct season_buds *out)
{
    *out = *rest;
    out->base_temp_c = base_c;
    out->daylength_half_h = half_h;
    out->day_share = share;
    out->chill_effect = effect;
}

static double warmth_at(const struct season_course *course, double position)
{
    int day = (int)floor(position);
    double before = day > 0 ? course->warmth_kd[day - 1] : 0.0;

    return before + (position - day) * (course->warmth_kd[day] - before);
}

static void try_warmths(const struct bud_data *data, int kind,
                        const struct season_course *courses,
                        struct shape *shape)
{
    double mean = 0.0, squares = 0.0, sd;

    for (int i = 0; i < YEARS; i++) {
        double w = warmth_at(&courses[i], data->bud_break[kind][i]);

        mean += w / YEARS;
        squares += w * w / YEARS;
    }
    sd = fmax(0.02 * mean, sqrt(fmax(0.0, squares - mean * mean)));
    for (int j = 0; j < WARMTHS; j++) {
        double w = mean + sd * 1.5 * (2.0 * j / (WARMTHS - 1) - 1.0);

        shape->warmth_kd[kind][j] = w;
        for (int i = 0; i < YEARS; i++) {
            shape->at[kind][j][i] =
                season_course_reach(&courses[i], fmax(w, 0.1));
        }
    }
}

static void shape_fill(const struct bud_data *data,
                       const struct setting *setting,
                       const struct season_buds *buds,
                       struct season_course *courses, struct shape *shape)
{
    for (int i = 0; i < YEARS; i++) {
        season_course_run(buds, &setting->weathers[i], SITE_LATITUDE,
                          &courses[i]);
    }
    for (int kind = 0; kind < KINDS; kind++) {
        try_warmths(data, kind, courses, shape);
    }
}

/* All shapes of one step; `effect` runs fastest. */
static void fill_step(const struct bud_data *data,
                      const struct setting *setting,
                      const struct season_buds *rest, const struct axes *axes,
                      double step_k, struct grid *grid)
{
    struct season_course *courses = mem_alloc(YEARS, sizeof *courses);
    int inner = axes->halves * axes->effects, outer = axes->bases * inner;

    for (int n = 0; n < axes->shares * outer; n++) {
        struct shape *shape = &grid->shapes[grid->count++];
        struct season_buds buds;

        shape->step_k = step_k;
        shape->share = axes->share[n / outer];
        shape->base_c = axes->base_c[n % outer / inner];
        shape->half_h = axes->half_h[n % inner / axes->effects];
        shape->effect = axes->effect[n % axes->effects];
        buds_shape(shape->share, shape->base_c,
                   axes->gate ? shape->half_h : -100.0, shape->effect, rest,
                   &buds);
        shape_fill(data, setting, &buds, courses, shape);
    }
    free(courses);
}

struct grid *grid_make(const struct bud_data *data,
                       const struct season_general *general,
                       const struct season_buds *rest, const struct axes *axes)
{
    struct grid *grid = mem_alloc(1, sizeof *grid);
    size_t count = (size_t)(axes->steps * axes->shares * axes->bases) *
                   (size_t)(axes->halves * axes->effects);

    grid->shapes = mem_alloc(count, sizeof *grid->shapes);
    for (int i = 0; i < axes->steps; i++) {
        struct setting setting;

        setting_make(data, general, axes->step_k[i], &setting);
        fill_step(data, &setting, rest, axes, axes->step_k[i], grid);
        setting_free(&setting);
    }
    return grid;
}

void grid_free(struct grid *grid)
{
    free(grid->shapes);
    free(grid);
}

static double sum_squares(const struct bud_data *data,
                          const struct shape *shape, int kind, int j,
                          const bool train[YEARS])
{
    double sum = 0.0;

    for (int i = 0; i < YEARS; i++) {
        double error = shape->at[kind][j][i] - data->bud_break[kind][i];

        sum += train[i] ? error * error : 0.0;
    }
    return sum;
}

/* The warmth sum with the least squares over the training years. */
static int best_warmth(const struct bud_data *data, const struct shape *shape,
                       int kind, const bool train[YEARS], double *least)
{
    int best = 0;

    *least = DBL_MAX;
    for (int j = 0; j < WARMTHS; j++) {
        double sum = sum_squares(data, shape, kind, j, train);

        if (sum < *least) {
            *least = sum;
            best = j;
        }
    }
    return best;
}

/* A shape as it fits the training years. */
struct fitted {
    double squares;
    int warmth[KINDS];
};

static double fit_shapes(const struct grid *grid, const struct bud_data *data,
                         const bool train[YEARS], struct fitted *out)
{
    double least = DBL_MAX;

    for (int n = 0; n < grid->count; n++) {
        out[n].squares = 0.0;
        for (int kind = 0; kind < KINDS; kind++) {
            double squares;

            out[n].warmth[kind] =
                best_warmth(data, &grid->shapes[n], kind, train, &squares);
            out[n].squares += squares;
        }
        least = fmin(least, out[n].squares);
    }
    return least;
}

static void posterior_add(const struct shape *shape,
                          const struct fitted *fitted, double weight,
                          struct posterior *out)
{
    out->step_k += weight * shape->step_k;
    out->step_sd_k += weight * shape->step_k * shape->step_k;
    out->share += weight * shape->share;
    out->base_c += weight * shape->base_c;
    out->half_h += weight * shape->half_h;
    out->effect += weight * shape->effect;
    for (int kind = 0; kind < KINDS; kind++) {
        for (int i = 0; i < YEARS; i++) {
            out->predicted[kind][i] +=
                weight * shape->at[kind][fitted->warmth[kind]][i];
        }
    }
}

static double shape_weight(const struct shape *shape, double excess,
                           double variance)
{
    double prior = (shape->step_k - STEP_PRIOR_K) / STEP_PRIOR_SD_K;

    return exp(-0.5 * excess / variance * WITNESSES_PER_KIND -
               0.5 * prior * prior);
}

void grid_posterior(const struct grid *grid, const struct bud_data *data,
                    const bool train[YEARS], struct posterior *out)
{
    struct fitted *fitted = mem_alloc((size_t)grid->count, sizeof *fitted);
    double least = fit_shapes(grid, data, train, fitted);
    double sum = 0.0, years = 0.0, variance;

    for (int i = 0; i < YEARS; i++) {
        years += train[i];
    }
    variance = least / (KINDS * (years - NUMBERS_FITTED));
    for (int n = 0; n < grid->count; n++) {
        sum +=
            shape_weight(&grid->shapes[n], fitted[n].squares - least, variance);
    }
    *out = (struct posterior){0};
    for (int n = 0; n < grid->count; n++) {
        double weight =
            shape_weight(&grid->shapes[n], fitted[n].squares - least, variance);

        posterior_add(&grid->shapes[n], &fitted[n], weight / sum, out);
    }
    out->step_sd_k =
        sqrt(fmax(0.0, out->step_sd_k - out->step_k * out->step_k));
    free(fitted);
}

void grid_leave_one_out(const struct grid *grid, const struct bud_data *data,
                        double errors[KINDS][YEARS])
{
    for (int left_out = 0; left_out < YEARS; left_out++) {
        struct posterior posterior;
        bool train[YEARS];

        for (int i = 0; i < YEARS; i++) {
            train[i] = i != left_out;
        }
        grid_posterior(grid, data, train, &posterior);
        for (int kind = 0; kind < KINDS; kind++) {
            errors[kind][left_out] = posterior.predicted[kind][left_out] -
                                     data->bud_break[kind][left_out];
        }
    }
}
