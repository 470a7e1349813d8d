#include <math.h>

#include "tree/stem_heat.h"

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

/* E after a step of E' = E + gain (outside - T(E')): the right side alone says
 * in which phase that is. */
static double after_j_m3(const struct wood *wood, double before_j_m3,
                         double gain_j_m3_k, double outside_c)
{
    double molten_j_m3 = before_j_m3 + gain_j_m3_k * outside_c;

    if (molten_j_m3 > 0)
        return molten_j_m3 / (1 + gain_j_m3_k / wood->capacity_thawed_j_m3_k);
    if (molten_j_m3 >= -wood->latent_j_m3)
        return molten_j_m3;
    return (molten_j_m3 -
            gain_j_m3_k * wood->latent_j_m3 / wood->capacity_frozen_j_m3_k) /
           (1 + gain_j_m3_k / wood->capacity_frozen_j_m3_k);
}

double branch_step(struct branch *branch, double air_c, double film_w_m2_k,
                   double absorbed_w_m2, double dt_s)
{
    const struct wood *wood = branch->wood;
    double before_j_m3 = branch->enthalpy_j_m3;
    double conductivity_w_m_k =
        wood->conductivity_thawed_w_m_k +
        wood_ice(wood, before_j_m3) *
            (wood->conductivity_frozen_w_m_k - wood->conductivity_thawed_w_m_k);
    double inside_m2_k_w = branch->radius_m / 4 / conductivity_w_m_k;
    double gain_j_m3_k =
        dt_s * 2 / branch->radius_m / (1 / film_w_m2_k + inside_m2_k_w);

    branch->enthalpy_j_m3 = after_j_m3(wood, before_j_m3, gain_j_m3_k,
                                       air_c + absorbed_w_m2 / film_w_m2_k);
    return branch->enthalpy_j_m3 - before_j_m3;
}
