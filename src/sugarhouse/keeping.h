/* How long sap keeps: it spoils like milk.
 *
 * Bacteria that like the cold (Pseudomonas) double in 1/(0.033 (T + 7.6))^2
 * hours at T degrees C (square-root growth law, Ratkowsky et al. 1982, J.
 * Bacteriol. 149:1-5; figures for Pseudomonas after Neumeyer et al. 1997,
 * from memory). Sap that starts clean at some 1e3 a millilitre is spoiled
 * after ten doublings: an assumption of ours, stricter than the rule "below
 * 38 F within seven days". Life used adds up over the hours. */
#ifndef SUGARHOUSE_KEEPING_H
#define SUGARHOUSE_KEEPING_H

enum keeping_site { KEEPING_SHADE, KEEPING_SUN, KEEPING_INSIDE };

/* Share of its life (0 fresh, 1 spoiled) that sap uses in one hour at a
 * temperature; as at 0 C below that. What is ice in it counts as sap. */
double keeping_used_per_h(double sap_temp_c);

/* Temperature of the sap an hour on: it follows the air around the tank with
 * a time constant that grows with the volume (a 1000 L tank: 20 h, going
 * with the cube root; an assumption of ours), never below freezing; in the
 * sun the air counts warmer by 0.01 K per W/m2 of short-wave radiation;
 * inside, the air counts as no colder than 2 C. */
double keeping_next_temp_c(double sap_temp_c, double volume_l,
                           enum keeping_site site, double air_temp_c,
                           double shortwave_w_m2);

/* Light lost by holding: the share of light that syrup from this sap will
 * pass falls as the sap's life is used, from all of it to two thirds at the
 * end (Morselli and Whalen, Can. J. For. Res., found aseptic sap to give
 * light syrup half as often again as ordinary sap; the course in between is
 * an assumption of ours). The notes on held sap tell it as a fifth at
 * KEEPING_BOIL_BY_LIFE, and tests hold them to it. */
double keeping_light_share(double life_used);

/* Life used at which the sap should be on the fire: before it is lost, not
 * after. An assumption of ours: half a day is left then at 50 F. */
#define KEEPING_BOIL_BY_LIFE 0.6

/* What becomes of held sap. */
struct keeping_course {
    double boil_by_h;     /* hours until it should be on the fire; 0: now */
    double hours_left;    /* until it is spoiled; 0: it is */
    double life_used_end; /* at the end of the hours given; 1 at most */
    double temp_c_end;
};

/* Follows volume_l of sap that is at temp_c with life_used behind it through
 * the hours: air_temp_c and shortwave_w_m2 (NULL: none) have `hours` values,
 * at least one. After the last hour it is kept at that hour's temperature. */
struct keeping_course keeping_follow(double temp_c, double life_used,
                                     double volume_l, enum keeping_site site,
                                     const double *air_temp_c,
                                     const double *shortwave_w_m2, int hours);

#endif
