#include "tree/stem_heat.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum { NEWTON_ROUNDS = 30, MAX_HALVINGS = 12, COLUMNS = 9 };
static const double SLACK_J_M3 = 1e-3; /* less than 1e-9 K */
static const double PI = 3.14159265358979323846;
static const double BEYOND_J_M3 = 1e300;

/* Compiled for wider vectors too where the C library chooses between the two
 * as it loads the program. Neither has fused multiplication: the bits are the
 * same. Sanitizers would have to be up before that choice is made. */
#if defined(__x86_64__) && defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__)
#define CLONES __attribute__((target_clones("avx2", "default")))
#else
#define CLONES
#endif
#define INLINE static inline __attribute__((always_inline))

struct stem {
    struct wood wood;
    double radius_m;
    double width_m; /* of a shell */
    int count, lanes;
    /* From the bark inwards; in all but the first two `i * lanes + k` is shell
     * i of stem k. */
    double *volume_m3_m; /* per metre of stem, a shell each; owned, and with it
                            all columns below */
    double *shape;       /* 2 pi r / (half a shell's width) of the outer face */
    double *enthalpy_j_m3;
    double *face_w_m_k;  /* conductance of the outer face, per metre */
    double *likely_j_m3; /* of the phase that is assumed for the step */
    /* T = slope x E + offset within a phase, and from where to where. */
    double *slope_k_m3_j, *offset_c, *least_j_m3, *most_j_m3;
    double *upper, *next_j_m3; /* of the linear system, and its solution */
};

static void lay_columns(struct stem *stem, double *memory)
{
    size_t shells = (size_t)stem->count;
    size_t cells = shells * (size_t)stem->lanes;
    double **columns[COLUMNS] = {
        &stem->enthalpy_j_m3, &stem->face_w_m_k, &stem->likely_j_m3,
        &stem->slope_k_m3_j,  &stem->offset_c,   &stem->least_j_m3,
        &stem->most_j_m3,     &stem->upper,      &stem->next_j_m3};

    stem->volume_m3_m = memory;
    stem->shape = memory + shells;
    for (size_t i = 0; i < COLUMNS; i++)
        *columns[i] = memory + 2 * shells + i * cells;
}

static struct stem *stem_of(const struct wood *wood, double radius_m,
                            double width_m, int shells, int lanes)
{
    struct stem *stem = mem_alloc(1, sizeof *stem);
    size_t doubles = (size_t)shells * (2 + (size_t)COLUMNS * (size_t)lanes);

    stem->wood = *wood;
    stem->radius_m = radius_m;
    stem->width_m = width_m;
    stem->count = shells;
    stem->lanes = lanes;
    lay_columns(stem, mem_alloc(doubles, sizeof(double)));
    for (int i = 0; i < shells; i++) {
        double outer_m = radius_m - i * width_m;

        stem->volume_m3_m[i] = 2 * PI * (outer_m - width_m / 2) * width_m;
        stem->shape[i] = 2 * PI * outer_m / (width_m / 2);
    }
    return stem;
}

struct stem *stem_new(const struct wood *wood, double radius_m, double depth_m,
                      int shells)
{
    return stem_of(wood, radius_m, depth_m / shells, shells, 1);
}

void stem_free(struct stem *stem)
{
    if (!stem)
        return;
    free(stem->volume_m3_m);
    free(stem);
}

/* One lane of a stem into one of another. */
static void copy_lane(struct stem *to, int to_lane, const struct stem *from,
                      int from_lane)
{
    for (int i = 0; i < to->count; i++)
        to->enthalpy_j_m3[i * to->lanes + to_lane] =
            from->enthalpy_j_m3[i * from->lanes + from_lane];
}

static struct stem *copy_to_lanes(const struct stem *stem, int lane, int lanes)
{
    struct stem *copy =
        stem_of(&stem->wood, stem->radius_m, stem->width_m, stem->count, lanes);

    for (int k = 0; k < lanes; k++)
        copy_lane(copy, k, stem, lane);
    return copy;
}

struct stem *stem_copy(const struct stem *stem)
{
    return copy_to_lanes(stem, 0, 1);
}

struct stem *stem_side_by_side(const struct stem *stem)
{
    return copy_to_lanes(stem, 0, STEM_LANES);
}

void stem_settle(struct stem *stem, double temp_c)
{
    for (int i = 0; i < stem->count * stem->lanes; i++)
        stem->enthalpy_j_m3[i] = wood_enthalpy_j_m3(&stem->wood, temp_c);
}

double stem_enthalpy_j_m3(const struct stem *stem, int shell)
{
    return stem->enthalpy_j_m3[shell * stem->lanes];
}

void stem_set_enthalpy(struct stem *stem, int shell, double enthalpy_j_m3)
{
    for (int k = 0; k < stem->lanes; k++)
        stem->enthalpy_j_m3[shell * stem->lanes + k] = enthalpy_j_m3;
}

/* What a step needs of the wood, the same for all shells. */
struct step {
    double thawed_w_m_k, more_frozen_w_m_k; /* conductivity */
    double latent_j_m3, ice_per_j_m3;
    double thawed_slope_k_m3_j, frozen_slope_k_m3_j, frozen_offset_c;
    double film_w_m2_k, absorbed_k, dt_s;
    bool last_try; /* is taken as it comes out */
};

static struct step step_of(const struct stem *stem, double film_w_m2_k,
                           double absorbed_w_m2, double dt_s)
{
    const struct wood *wood = &stem->wood;

    return (struct step){
        .thawed_w_m_k = wood->conductivity_thawed_w_m_k,
        .more_frozen_w_m_k =
            wood->conductivity_frozen_w_m_k - wood->conductivity_thawed_w_m_k,
        .latent_j_m3 = wood->latent_j_m3,
        .ice_per_j_m3 =
            wood->latent_j_m3 > 0 ? 1 / wood->latent_j_m3 : BEYOND_J_M3,
        .thawed_slope_k_m3_j = 1 / wood->capacity_thawed_j_m3_k,
        .frozen_slope_k_m3_j = 1 / wood->capacity_frozen_j_m3_k,
        .frozen_offset_c = wood->latent_j_m3 / wood->capacity_frozen_j_m3_k,
        .film_w_m2_k = film_w_m2_k,
        .absorbed_k = absorbed_w_m2 / film_w_m2_k,
        .dt_s = dt_s};
}

#define GROUPS 1
#define LANES 1
#define KERNEL(name) one_##name
#include "tree/stem_kernel.inc"
#define GROUPS 2
#define LANES 4
#define KERNEL(name) many_##name
#include "tree/stem_kernel.inc"

static void step_one(const struct stem *stem, const struct step *step,
                     const double *air_c, int64_t *missed, double *taken_j_m)
{
    one_step(stem, step, air_c, missed, taken_j_m);
}

_Static_assert(STEM_LANES == 2 * 4, "as many as the kernel has");

CLONES
static void step_many(const struct stem *stem, const struct step *step,
                      const double *air_c, int64_t *missed, double *taken_j_m)
{
    many_step(stem, step, air_c, missed, taken_j_m);
}

static void take_step(struct stem *stem, const struct step *step,
                      const double *air_c, double *taken_j_m, int halvings);

/* A lane whose phases did not settle, in two steps of half the length. */
/* NOLINTNEXTLINE(misc-no-recursion): at most MAX_HALVINGS deep */
static double halve_step(struct stem *stem, const struct step *step, int lane,
                         double air_c, int halvings)
{
    struct stem *one = copy_to_lanes(stem, lane, 1);
    struct step half = *step;
    double first_j_m, second_j_m;

    half.dt_s /= 2;
    half.last_try = halvings + 1 == MAX_HALVINGS;
    take_step(one, &half, &air_c, &first_j_m, halvings + 1);
    take_step(one, &half, &air_c, &second_j_m, halvings + 1);
    copy_lane(stem, lane, one, 0);
    stem_free(one);
    return first_j_m + second_j_m;
}

/* NOLINTNEXTLINE(misc-no-recursion): as above */
static void take_step(struct stem *stem, const struct step *step,
                      const double *air_c, double *taken_j_m, int halvings)
{
    int64_t missed[STEM_LANES];

    if (stem->lanes == 1)
        step_one(stem, step, air_c, missed, taken_j_m);
    else
        step_many(stem, step, air_c, missed, taken_j_m);
    for (int k = 0; k < stem->lanes; k++)
        if (missed[k] != 0)
            taken_j_m[k] = halve_step(stem, step, k, air_c[k], halvings);
}

double stem_step(struct stem *stem, double air_c, double film_w_m2_k,
                 double absorbed_w_m2, double dt_s)
{
    struct step step = step_of(stem, film_w_m2_k, absorbed_w_m2, dt_s);
    double taken_j_m;

    take_step(stem, &step, &air_c, &taken_j_m, 0);
    return taken_j_m;
}

void stem_step_side_by_side(struct stem *stem, const double *air_c,
                            double film_w_m2_k, double absorbed_w_m2,
                            double dt_s)
{
    struct step step = step_of(stem, film_w_m2_k, absorbed_w_m2, dt_s);
    double taken_j_m[STEM_LANES];

    take_step(stem, &step, air_c, taken_j_m, 0);
}

double stem_heat_j_m(const struct stem *stem)
{
    double heat_j_m = 0;

    for (int i = 0; i < stem->count; i++)
        heat_j_m += stem->enthalpy_j_m3[i * stem->lanes] * stem->volume_m3_m[i];
    return heat_j_m;
}

double stem_temp_c(const struct stem *stem, double depth_m)
{
    double place = depth_m / stem->width_m - 0.5;
    int last = stem->count - 1;
    int above = (int)fmin(fmax(floor(place), 0), last);
    int below = above < last ? above + 1 : last;
    double share = fmin(fmax(place - above, 0), 1);
    double above_c =
        wood_temp_c(&stem->wood, stem->enthalpy_j_m3[above * stem->lanes]);
    double below_c =
        wood_temp_c(&stem->wood, stem->enthalpy_j_m3[below * stem->lanes]);

    return above_c + share * (below_c - above_c);
}

void stem_ice_side_by_side(const struct stem *stem, double depth_m, double *out)
{
    double all_m3 = 0;

    for (int k = 0; k < stem->lanes; k++)
        out[k] = 0;
    for (int i = 0; i < stem->count; i++) {
        double share = depth_m / stem->width_m - i;
        double part_m3 = stem->volume_m3_m[i] * fmin(share, 1);

        if (share <= 0)
            break;
        all_m3 += part_m3;
        for (int k = 0; k < stem->lanes; k++)
            out[k] +=
                part_m3 *
                wood_ice(&stem->wood, stem->enthalpy_j_m3[i * stem->lanes + k]);
    }
    for (int k = 0; k < stem->lanes; k++)
        out[k] = all_m3 > 0 ? out[k] / all_m3 : 0;
}

double stem_ice(const struct stem *stem, double depth_m)
{
    double ice[STEM_LANES] = {0};

    stem_ice_side_by_side(stem, depth_m, ice);
    return ice[0];
}
