#include <math.h>

#include "tree/form.h"

double tree_suction_kpa(const struct tree_gathering *gathering,
                        const struct tree_site *site)
{
    double suction_kpa = fmax(site->fall_m, 0) * gathering->fall_kpa_per_m;
    if (site->gathering == GATHERING_VACUUM)
        suction_kpa += fmax(site->vacuum_kpa, 0);
    return fmin(suction_kpa, gathering->suction_max_kpa);
}

void taphole_pass_hour(struct taphole *hole,
                       const struct tree_gathering *gathering,
                       const struct tree_site *site, utc_s instant,
                       double air_temp_c)
{
    hole->open = !site->tapped || instant >= site->tapped_at;
    if (site->tapped && hole->open)
        hole->warm_kh += fmax(air_temp_c - gathering->warm_from_c, 0) / 1000;
}

double taphole_conductance(const struct taphole *hole,
                           const struct tree_gathering *gathering)
{
    return exp(-gathering->ageing_per_kkh * hole->warm_kh);
}
