#include "tree/stem_heat.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum { NEWTON_ROUNDS = 30, MAX_HALVINGS = 12 };
static const double SLACK_J_M3 = 1e-3; /* less than 1e-9 K */
static const double PI = 3.14159265358979323846;

enum phase { FROZEN, FREEZING, THAWED };

/* T = slope x E + offset within a phase. */
struct line {
    double slope_k_m3_j, offset_c;
};

struct shell {
    double volume_m3_m; /* per metre of stem */
    double enthalpy_j_m3;
    double outer_w_m_k; /* conductance of the outer face, per metre */
    enum phase phase;
    struct line line;
    double next_j_m3, upper, right; /* of the linear system */
};

struct stem {
    struct wood wood;
    double radius_m;
    double width_m; /* of a shell */
    int count;
    struct shell *shells; /* owned; from the bark inwards */
};

double wood_temp_c(const struct wood *wood, double enthalpy_j_m3)
{
    if (enthalpy_j_m3 > 0)
        return enthalpy_j_m3 / wood->capacity_thawed_j_m3_k;
    return fmin(enthalpy_j_m3 + wood->latent_j_m3, 0) /
           wood->capacity_frozen_j_m3_k;
}

double wood_ice(const struct wood *wood, double enthalpy_j_m3)
{
    if (enthalpy_j_m3 >= 0)
        return 0;
    if (enthalpy_j_m3 <= -wood->latent_j_m3)
        return 1;
    return -enthalpy_j_m3 / wood->latent_j_m3;
}

double wood_enthalpy_j_m3(const struct wood *wood, double temp_c)
{
    if (temp_c > 0)
        return temp_c * wood->capacity_thawed_j_m3_k;
    return temp_c * wood->capacity_frozen_j_m3_k - wood->latent_j_m3;
}

static double conductivity(const struct wood *wood, double enthalpy_j_m3)
{
    double ice = wood_ice(wood, enthalpy_j_m3);

    return wood->conductivity_thawed_w_m_k +
           ice * (wood->conductivity_frozen_w_m_k -
                  wood->conductivity_thawed_w_m_k);
}

static enum phase phase_of(const struct wood *wood, double enthalpy_j_m3)
{
    if (enthalpy_j_m3 > 0)
        return THAWED;
    return enthalpy_j_m3 < -wood->latent_j_m3 ? FROZEN : FREEZING;
}

static struct line line_of(const struct wood *wood, enum phase phase)
{
    if (phase == THAWED)
        return (struct line){1 / wood->capacity_thawed_j_m3_k, 0};
    if (phase == FREEZING)
        return (struct line){0, 0};
    return (struct line){1 / wood->capacity_frozen_j_m3_k,
                         wood->latent_j_m3 / wood->capacity_frozen_j_m3_k};
}

struct stem *stem_new(const struct wood *wood, double radius_m, double depth_m,
                      int shells)
{
    struct stem *stem = mem_alloc(1, sizeof *stem);

    stem->wood = *wood;
    stem->radius_m = radius_m;
    stem->width_m = depth_m / shells;
    stem->count = shells;
    stem->shells = mem_alloc((size_t)shells, sizeof *stem->shells);
    for (int i = 0; i < shells; i++) {
        double middle_m = radius_m - (i + 0.5) * stem->width_m;

        stem->shells[i].volume_m3_m = 2 * PI * middle_m * stem->width_m;
    }
    return stem;
}

void stem_free(struct stem *stem)
{
    if (!stem)
        return;
    free(stem->shells);
    free(stem);
}

struct stem *stem_copy(const struct stem *stem)
{
    size_t count = (size_t)stem->count;
    struct stem *copy = mem_alloc(1, sizeof *copy);

    *copy = *stem;
    copy->shells = mem_alloc(count, sizeof *copy->shells);
    memcpy(copy->shells, stem->shells, count * sizeof *copy->shells);
    return copy;
}

void stem_settle(struct stem *stem, double temp_c)
{
    for (int i = 0; i < stem->count; i++)
        stem->shells[i].enthalpy_j_m3 = wood_enthalpy_j_m3(&stem->wood, temp_c);
}

/* The conductances of the faces, with the ice as it is before the step. */
static void set_faces(struct stem *stem, double film_w_m2_k)
{
    double outer_m2_k_w = 1 / film_w_m2_k;

    for (int i = 0; i < stem->count; i++) {
        struct shell *shell = &stem->shells[i];
        double half_m2_k_w =
            stem->width_m / 2 / conductivity(&stem->wood, shell->enthalpy_j_m3);

        shell->outer_w_m_k = 2 * PI * (stem->radius_m - i * stem->width_m) /
                             (outer_m2_k_w + half_m2_k_w);
        outer_m2_k_w = half_m2_k_w;
    }
}

/* Heat that flows into a shell through its outer face, W/m, when each shell's
 * temperature is that of its line at next_j_m3. */
static double inflow_w_m(const struct stem *stem, int i, double outside_c)
{
    if (i >= stem->count)
        return 0;
    const struct shell *shell = &stem->shells[i];
    double temp_c =
        shell->line.slope_k_m3_j * shell->next_j_m3 + shell->line.offset_c;
    double outer_c = outside_c;
    if (i > 0)
        outer_c = shell[-1].line.slope_k_m3_j * shell[-1].next_j_m3 +
                  shell[-1].line.offset_c;
    return shell->outer_w_m_k * (outer_c - temp_c);
}

/* The tridiagonal system of a step for the phases as they are set (Thomas's
 * algorithm); leaves the solution in next_j_m3. */
static void solve_lines(struct stem *stem, double outside_c, double dt_s)
{
    struct shell *shells = stem->shells;
    int last = stem->count - 1;

    for (int i = 0; i <= last; i++) {
        struct shell *shell = &shells[i];
        double per_w_m = dt_s / shell->volume_m3_m;
        double outer = per_w_m * shell->outer_w_m_k;
        double inner = i < last ? per_w_m * shells[i + 1].outer_w_m_k : 0;
        double outer_offset_c = i ? shells[i - 1].line.offset_c : outside_c;
        double diagonal = 1 + (outer + inner) * shell->line.slope_k_m3_j;
        double right = shell->enthalpy_j_m3 +
                       outer * (outer_offset_c - shell->line.offset_c);
        if (i < last)
            right +=
                inner * (shells[i + 1].line.offset_c - shell->line.offset_c);
        if (i > 0) {
            double lower = -outer * shells[i - 1].line.slope_k_m3_j;
            diagonal -= lower * shells[i - 1].upper;
            right -= lower * shells[i - 1].right;
        }
        shell->upper =
            i < last ? -inner * shells[i + 1].line.slope_k_m3_j / diagonal : 0;
        shell->right = right / diagonal;
    }
    shells[last].next_j_m3 = shells[last].right;
    for (int i = last - 1; i >= 0; i--)
        shells[i].next_j_m3 =
            shells[i].right - shells[i].upper * shells[i + 1].next_j_m3;
}

static void set_phase(struct stem *stem, int i, enum phase phase)
{
    stem->shells[i].phase = phase;
    stem->shells[i].line = line_of(&stem->wood, phase);
}

/* Whether an enthalpy lies within the phase that was assumed for it. The slack
 * is rounding's: without it wood just at the end of freezing changes to and
 * fro. */
static bool fits(const struct wood *wood, enum phase phase,
                 double enthalpy_j_m3)
{
    double above_j_m3 = enthalpy_j_m3, below_j_m3 = -enthalpy_j_m3;
    if (phase == THAWED)
        return above_j_m3 > -SLACK_J_M3;
    if (phase == FROZEN)
        return below_j_m3 > wood->latent_j_m3 - SLACK_J_M3;
    return above_j_m3 < SLACK_J_M3 &&
           below_j_m3 < wood->latent_j_m3 + SLACK_J_M3;
}

/* Newton's method on the phases: false if they did not settle. */
static bool solve_phases(struct stem *stem, double outside_c, double dt_s)
{
    for (int i = 0; i < stem->count; i++)
        set_phase(stem, i,
                  phase_of(&stem->wood, stem->shells[i].enthalpy_j_m3));
    for (int round = 0; round < NEWTON_ROUNDS; round++) {
        bool settled = true;

        solve_lines(stem, outside_c, dt_s);
        for (int i = 0; i < stem->count; i++) {
            double next_j_m3 = stem->shells[i].next_j_m3;
            if (fits(&stem->wood, stem->shells[i].phase, next_j_m3))
                continue;
            set_phase(stem, i, phase_of(&stem->wood, next_j_m3));
            settled = false;
        }
        if (settled)
            return true;
    }
    return false;
}

/* Heat taken in, J/m. The new enthalpies come from the fluxes, so that they
 * add up to the last bit whatever the solution's rounding. */
static double take_step(struct stem *stem, double outside_c, double film_w_m2_k,
                        double dt_s, int halvings)
{
    set_faces(stem, film_w_m2_k);
    if (!solve_phases(stem, outside_c, dt_s) && halvings < MAX_HALVINGS)
        return take_step(stem, outside_c, film_w_m2_k, dt_s / 2, halvings + 1) +
               take_step(stem, outside_c, film_w_m2_k, dt_s / 2, halvings + 1);
    double outer_w_m = inflow_w_m(stem, 0, outside_c);
    double taken_j_m = outer_w_m * dt_s;
    for (int i = 0; i < stem->count; i++) {
        double inner_w_m = inflow_w_m(stem, i + 1, outside_c);

        stem->shells[i].enthalpy_j_m3 +=
            (outer_w_m - inner_w_m) * dt_s / stem->shells[i].volume_m3_m;
        outer_w_m = inner_w_m;
    }
    return taken_j_m;
}

double stem_step(struct stem *stem, double air_c, double film_w_m2_k,
                 double absorbed_w_m2, double dt_s)
{
    return take_step(stem, air_c + absorbed_w_m2 / film_w_m2_k, film_w_m2_k,
                     dt_s, 0);
}

double stem_heat_j_m(const struct stem *stem)
{
    double heat_j_m = 0;

    for (int i = 0; i < stem->count; i++)
        heat_j_m += stem->shells[i].enthalpy_j_m3 * stem->shells[i].volume_m3_m;
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
        wood_temp_c(&stem->wood, stem->shells[above].enthalpy_j_m3);
    double below_c =
        wood_temp_c(&stem->wood, stem->shells[below].enthalpy_j_m3);

    return above_c + share * (below_c - above_c);
}

double stem_ice(const struct stem *stem, double depth_m)
{
    double ice_m3 = 0, all_m3 = 0;

    for (int i = 0; i < stem->count; i++) {
        double share = depth_m / stem->width_m - i;

        if (share <= 0)
            break;
        double part_m3 = stem->shells[i].volume_m3_m * fmin(share, 1);
        all_m3 += part_m3;
        ice_m3 +=
            part_m3 * wood_ice(&stem->wood, stem->shells[i].enthalpy_j_m3);
    }
    return all_m3 > 0 ? ice_m3 / all_m3 : 0;
}

double branch_step(struct branch *branch, double air_c, double film_w_m2_k,
                   double absorbed_w_m2, double dt_s)
{
    const struct wood *wood = branch->wood;
    double before_j_m3 = branch->enthalpy_j_m3;
    double inside_m2_k_w =
        branch->radius_m / 4 / conductivity(wood, before_j_m3);
    double gain_j_m3_k =
        dt_s * 2 / branch->radius_m / (1 / film_w_m2_k + inside_m2_k_w);
    double outside_c = air_c + absorbed_w_m2 / film_w_m2_k;
    /* E + gain T(E) grows with E: one phase alone fits. */
    for (int phase = FROZEN; phase <= THAWED; phase++) {
        struct line line = line_of(wood, (enum phase)phase);
        double after_j_m3 =
            (before_j_m3 + gain_j_m3_k * (outside_c - line.offset_c)) /
            (1 + gain_j_m3_k * line.slope_k_m3_j);

        if (phase_of(wood, after_j_m3) == (enum phase)phase) {
            branch->enthalpy_j_m3 = after_j_m3;
            break;
        }
    }
    return branch->enthalpy_j_m3 - before_j_m3;
}
