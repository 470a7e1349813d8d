/* Stems in double precision, one at a time. */
#include "tree/stem_heat.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/memory.h"

static const double PI = 3.14159265358979323846;
static const double SLACK_J_M3 = 1e-3; /* less than 1e-9 K */
static const double BEYOND_J_M3 = 1e300;

#define REAL double
#define WHOLE int64_t
#define STEM(name) wide_##name
#define COUNT(stem) ((stem)->count)
#include "tree/stem_body.inc"

struct stem {
    struct wide_stem *wide;
};

/* The new enthalpies come from the fluxes, so that they add up to the last bit
 * whatever the solution's rounding. */
static double wide_take_heat(struct wide_stem *stem,
                             const struct wide_step *step, double outside_c)
{
    double temp_c =
        stem->slope_k_m3_j[0] * stem->next_j_m3[0] + stem->offset_c[0];
    double outer_w_m = stem->face_w_m_k[0] * (outside_c - temp_c);
    double taken_j_m = outer_w_m * step->dt_s;

    for (int i = 0; i < stem->count; i++) {
        double gain = step->dt_s * stem->per_volume_m_m3[i];
        /* Behind the last shell is itself: no flux. */
        int after = i + 1 < stem->count ? i + 1 : i;
        double after_c = stem->slope_k_m3_j[after] * stem->next_j_m3[after] +
                         stem->offset_c[after];
        double inner_w_m = stem->face_w_m_k[after] * (temp_c - after_c);

        stem->enthalpy_j_m3[i] += (outer_w_m - inner_w_m) * gain;
        outer_w_m = inner_w_m;
        temp_c = after_c;
    }
    return taken_j_m;
}

struct stem *stem_new(const struct wood *wood, double radius_m, double depth_m,
                      int shells)
{
    struct stem *stem = mem_alloc(1, sizeof *stem);

    stem->wide = wide_of(wood, radius_m, depth_m / shells, shells, 1);
    return stem;
}

void stem_free(struct stem *stem)
{
    if (!stem)
        return;
    wide_drop(stem->wide);
    free(stem);
}

void stem_settle(struct stem *stem, double temp_c)
{
    for (int i = 0; i < stem->wide->count; i++)
        stem->wide->enthalpy_j_m3[i] =
            wood_enthalpy_j_m3(&stem->wide->wood, temp_c);
}

double stem_step(struct stem *stem, double air_c, double film_w_m2_k,
                 double absorbed_w_m2, double dt_s)
{
    struct wide_step step = wide_step_of(stem->wide, film_w_m2_k, dt_s);

    for (int i = 0; i < stem->wide->count; i++)
        stem->wide->likely_j_m3[i] = stem->wide->enthalpy_j_m3[i];
    wide_one_set_faces(stem->wide, &step, 0);
    wide_one_set_lines(stem->wide, &step, 0, 1);
    return wide_step_alone(stem->wide, &step,
                           air_c + absorbed_w_m2 / film_w_m2_k, 0);
}

double stem_heat_j_m(const struct stem *stem)
{
    double heat_j_m = 0;

    for (int i = 0; i < stem->wide->count; i++)
        heat_j_m +=
            stem->wide->enthalpy_j_m3[i] * wide_volume_m3_m(stem->wide, i);
    return heat_j_m;
}

double stem_temp_c(const struct stem *stem, double depth_m)
{
    return wide_temp_at_c(stem->wide, 0, depth_m);
}

double stem_ice(const struct stem *stem, double depth_m)
{
    double ice_m3 = 0, all_m3 = 0;

    for (int i = 0; i < stem->wide->count; i++) {
        double share = depth_m / stem->wide->width_m - i;
        double part_m3 = wide_volume_m3_m(stem->wide, i) * fmin(share, 1);

        if (share <= 0)
            break;
        all_m3 += part_m3;
        ice_m3 +=
            part_m3 * wood_ice(&stem->wide->wood, stem->wide->enthalpy_j_m3[i]);
    }
    return all_m3 > 0 ? ice_m3 / all_m3 : 0;
}
