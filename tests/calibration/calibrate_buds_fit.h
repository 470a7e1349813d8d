/* A grid of shapes of the bud model, each with its best warmth sums. */
#ifndef CALIBRATE_BUDS_FIT_H
#define CALIBRATE_BUDS_FIT_H

#include "calibrate_buds.h"

enum { WARMTHS = 61, AXIS_MAX = 10 };

/* Values tried of each number that shapes the model. */
struct axes {
    double step_k[AXIS_MAX], share[AXIS_MAX], base_c[AXIS_MAX],
        half_h[AXIS_MAX], effect[AXIS_MAX];
    int steps, shares, bases, halves, effects;
    bool gate; /* false: warmth counts in full from 1 January */
};

struct shape {
    double step_k, share, base_c, half_h, effect;
    /* Positions by warmth sum tried and year, for each kind. */
    double at[KINDS][WARMTHS][YEARS];
    double warmth_kd[KINDS][WARMTHS];
};

struct grid {
    struct shape *shapes; /* owned */
    int count;
};

/* The weathers of all years with the step, and its general numbers. */
struct setting {
    struct season_general general;
    struct season_climate climate;
    struct season_weather *weathers; /* owned, YEARS of them */
};

void setting_make(const struct bud_data *data,
                  const struct season_general *general, double step_k,
                  struct setting *out);
void setting_free(struct setting *setting);

/* The numbers of a shape, the others as in `rest`. */
void buds_shape(double share, double base_c, double half_h, double effect,
                const struct season_buds *rest, struct season_buds *out);

struct grid *grid_make(const struct bud_data *data,
                       const struct season_general *general,
                       const struct season_buds *rest, const struct axes *axes);
void grid_free(struct grid *grid);

/* Mean of the shapes, each weighted by its likelihood over the years of
 * `train` (normal errors; the two species count as 1.5 witnesses) and by the
 * prior of the step, and the mean of their predictions. */
struct posterior {
    double step_k, share, base_c, half_h, effect;
    double step_sd_k;
    double predicted[KINDS][YEARS];
};

void grid_posterior(const struct grid *grid, const struct bud_data *data,
                    const bool train[YEARS], struct posterior *out);

/* Errors of each year, predicted from the others, in days. */
void grid_leave_one_out(const struct grid *grid, const struct bud_data *data,
                        double errors[KINDS][YEARS]);

struct result {
    struct season_buds buds[KINDS];
    struct season_general general;
    struct posterior posterior;
};

/* Holds the model files of the folder against the result, or writes it to
 * them. Returns how many numbers differ or could not be written. */
int result_apply(const char *folder, const struct result *result, bool write);

#endif
