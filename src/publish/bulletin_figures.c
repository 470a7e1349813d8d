#include "publish/bulletin_figures.h"

#include "base/json.h"
#include "publish/bulletin.h"

#define DAY(key, member, decimals)                                             \
    {                                                                          \
        key, offsetof(struct bulletin_day, member), decimals                   \
    }
#define BUSH_DAY(key, member, decimals)                                        \
    {                                                                          \
        key, offsetof(struct outlook_day, member), decimals                    \
    }

const struct bulletin_figure bulletin_day_figures[] = {
    DAY("run_chance", chance, 3),
    DAY("sap_l_p10", sap_l_p10, 1),
    DAY("sap_l_p50", sap_l_p50, 1),
    DAY("sap_l_p90", sap_l_p90, 1),
    DAY("air_min_c", min_c, 1),
    DAY("air_max_c", max_c, 1),
    {NULL, 0, 0}};

const struct bulletin_figure bulletin_bush_day_figures[] = {
    BUSH_DAY("run_chance", chance, 3),
    BUSH_DAY("sap_l_per_tap_p10", sap_l_per_tap_p10, 3),
    BUSH_DAY("sap_l_per_tap_p50", sap_l_per_tap_p50, 3),
    BUSH_DAY("sap_l_per_tap_p90", sap_l_per_tap_p90, 3),
    BUSH_DAY("air_min_c", min_c, 1),
    BUSH_DAY("air_max_c", max_c, 1),
    BUSH_DAY("air_mean_c", mean_c, 1),
    BUSH_DAY("freeze_k_h", freeze_degree_hours, 1),
    BUSH_DAY("thaw_k_h", thaw_degree_hours, 1),
    BUSH_DAY("charge", charge, 3),
    BUSH_DAY("recharge", recharge, 3),
    BUSH_DAY("branch_ice_max", branch_ice_max, 3),
    BUSH_DAY("trunk_ice_max", trunk_ice_max, 3),
    BUSH_DAY("wood_min_c", wood_min_c, 1),
    BUSH_DAY("wood_max_c", wood_max_c, 1),
    BUSH_DAY("taphole", taphole, 3),
    BUSH_DAY("rule_a_l_per_tap", rule_a_l_per_tap, 3),
    BUSH_DAY("rule_b_l_per_tap", rule_b_l_per_tap, 3),
    {NULL, 0, 0}};

void bulletin_figures_round(const struct bulletin_figure *figures, void *row)
{
    for (; figures->key != NULL; figures++) {
        double *value = (void *)((char *)row + figures->offset);

        *value = json_rounded(*value, figures->decimals);
    }
}
