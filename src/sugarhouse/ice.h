/* Ice in buckets, and the sugar that goes with it if it is thrown out.
 *
 * Freezing water leaves sugar behind, but not all. With the share k of the
 * sugar at the front that freezes in, the liquid that is left holds
 * x (1 - f)^(k - 1) when the share f is ice (Scheil 1942, Z. Metallkunde
 * 34:70-72; from memory); the ice holds the rest. k = 0.25 is an assumption
 * of ours: with it, the ice of sap of 2 % holds 0.5 to 0.7 %, in the range of
 * what sugarmakers tell (common practice, no source). */
#ifndef SUGARHOUSE_ICE_H
#define SUGARHOUSE_ICE_H

#include <stdbool.h>

struct ice_split {
    double liquid_kg, liquid_brix;
    double ice_kg, ice_brix;
    double sugar_share; /* of all the sugar, in the ice: 0..1 */
};

/* Sap of sap_brix, sap_kg in all, of which frozen_share (0..1, at most 0.95
 * is reckoned with) is ice. Sugar closes: liquid and ice hold what the sap
 * held. */
struct ice_split ice_split_sap(double sap_kg, double sap_brix,
                               double frozen_share);

/* Whether the ice is better thrown out. Common practice, no source: thin ice
 * goes, ice over half the bucket stays. */
bool ice_worth_discarding(double frozen_share);

#endif
