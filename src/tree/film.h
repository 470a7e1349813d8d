/* How well the air at the bark carries heat: the film coefficient of a
 * cylinder across the wind, with long-wave radiation. */
#ifndef TREE_FILM_H
#define TREE_FILM_H

/* Film coefficient of a stem or branch in W/(m2 K).
 *
 * Forced convection after Churchill and Bernstein (1977, J. Heat Transfer
 * 99:300-306), dry air at 0 C and 1013 hPa; wind below 0.1 m/s counts as
 * 0.1 m/s, for still air stirs by itself. Radiation is the linearised
 * 4 emissivity sigma T^3 at 0 C, emissivity of bark 0.95. */
double film_w_m2_k(double diameter_m, double wind_m_s);

#endif
