#include "sugarhouse/ice.h"

#include <math.h>

static const double sugar_frozen_in = 0.25;
static const double most_frozen = 0.95;
static const double keep_from_share = 0.5;

struct ice_split ice_split_sap(double sap_kg, double sap_brix,
                               double frozen_share)
{
    struct ice_split split = {.liquid_kg = sap_kg, .liquid_brix = sap_brix};
    double frozen = frozen_share < most_frozen ? frozen_share : most_frozen;
    double held;

    if (frozen <= 0)
        return split;
    held = pow(1 - frozen, sugar_frozen_in); /* sugar in the liquid */
    split.liquid_kg = sap_kg * (1 - frozen);
    split.liquid_brix = sap_brix * held / (1 - frozen);
    split.ice_kg = sap_kg * frozen;
    split.ice_brix = sap_brix * (1 - held) / frozen;
    split.sugar_share = 1 - held;
    return split;
}

bool ice_worth_discarding(double frozen_share)
{
    return frozen_share > 0 && frozen_share <= keep_from_share;
}
