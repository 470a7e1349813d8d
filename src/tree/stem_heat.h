/* Heat in wood that freezes: a stem as shells round its pith, and a branch as
 * one body.
 *
 * Enthalpy method: each part holds an enthalpy E in J/m3, 0 when it is just
 * molten at 0 C; E falls by the latent heat while it freezes at 0 C:
 *     T = E / c_thawed above 0, 0 from -L to 0, (E + L) / c_frozen below -L.
 * Steps are fully implicit (backward Euler, Newton on the phases), so that any
 * length is stable; what a step takes in through the bark is what the wood
 * holds more after it.
 *
 * The enthalpy method and the solutions it is tested against: Carslaw and
 * Jaeger, "Conduction of Heat in Solids" (1959); Alexiades and Solomon,
 * "Mathematical Modeling of Melting and Freezing Processes" (1993). */
#ifndef TREE_STEM_HEAT_H
#define TREE_STEM_HEAT_H

struct wood {
    double conductivity_thawed_w_m_k;
    double conductivity_frozen_w_m_k;
    double capacity_thawed_j_m3_k;
    double capacity_frozen_j_m3_k;
    double latent_j_m3; /* of the water that freezes; 0: none */
};

/* Temperature in C, and the share that is ice, of wood of this enthalpy. */
double wood_temp_c(const struct wood *wood, double enthalpy_j_m3);
double wood_ice(const struct wood *wood, double enthalpy_j_m3);
/* Enthalpy at a temperature; at 0 C and below all is ice. */
double wood_enthalpy_j_m3(const struct wood *wood, double temp_c);

struct stem; /* opaque; stem_new to stem_free */

/* A stem of this radius at 0 C, thawed. Shells of equal width reach from the
 * bark to `depth_m`; no heat goes through the inmost face (at depth = radius
 * that is the pith). The wood is copied. radius >= depth > 0, shells >= 1. */
struct stem *stem_new(const struct wood *wood, double radius_m, double depth_m,
                      int shells);
void stem_free(struct stem *stem);
/* All shells at one temperature. */
void stem_settle(struct stem *stem, double temp_c);

/* One step of dt_s seconds in air of air_c with a film coefficient, bark that
 * absorbs so much of the sun (mean over its surface). Returns the heat taken
 * in through the bark, J per metre of stem. */
double stem_step(struct stem *stem, double air_c, double film_w_m2_k,
                 double absorbed_w_m2, double dt_s);

/* Heat above that of just molten wood, J per metre of stem. */
double stem_heat_j_m(const struct stem *stem);
/* At a depth below the bark, straight between the shells' middles. */
double stem_temp_c(const struct stem *stem, double depth_m);
/* Share frozen of the layer from the bark down to a depth, by volume. */
double stem_ice(const struct stem *stem, double depth_m);

/* A branch: a cylinder with one enthalpy. */
struct branch {
    const struct wood *wood; /* borrowed */
    double radius_m;
    double enthalpy_j_m3;
};

/* As stem_step; inside, the resistance from the mean to the bark of a cylinder
 * that warms evenly, radius / (4 conductivity). Returns J per m3. */
double branch_step(struct branch *branch, double air_c, double film_w_m2_k,
                   double absorbed_w_m2, double dt_s);

#endif
