#include "weather/quantity.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/words.h"

/* Bounds that no sugarbush passes; the records behind them are those of the
 * World Meteorological Organization's archive of weather and climate
 * extremes. */
struct trait {
    const char *name;
    double min, max;
    double slack_below, slack_above; /* settled to the bound */
    double max_jump;
    bool sum, over_hour;
};

static const struct trait traits[QUANTITY_COUNT] = {
    /* Coldest in North America -63 C (Snag, Yukon), in the maple's range
     * about -50; hottest anywhere 56.7. A jump of 25 K in an hour is past
     * what a front or a mountain wind does at a maple bush. */
    [AIR_TEMP_C] = {"air_temp_c", -60, 60, 0, 0, 25, false, false},
    /* The solar constant is 1361 W/m2; edges of clouds add to it briefly. */
    [SHORTWAVE_W_M2] = {"shortwave_w_m2", 0, 1500, 20, 0, 0, false, true},
    /* Record gust 113 m/s (Barrow Island). */
    [WIND_M_S] = {"wind_m_s", 0, 115, 0, 0, 0, false, false},
    [REL_HUMIDITY_PCT] = {"rel_humidity_pct", 0, 100, 0, 5, 0, false, false},
    /* 500 hPa lies at 5.6 km; record high 1084.8 hPa (Tosontsengel). */
    [PRESSURE_HPA] = {"pressure_hpa", 500, 1090, 0, 0, 0, false, false},
    /* Record for an hour 305 mm (Holt, Missouri). */
    [PRECIP_MM] = {"precip_mm", 0, 310, 0.1, 0, 0, true, true},
    /* Record low 870 hPa (typhoon Tip). */
    [SEA_LEVEL_PRESSURE_HPA] = {"sea_level_pressure_hpa", 860, 1090, 0, 0, 0,
                                false, false},
    [CLOUD_PCT] = {"cloud_pct", 0, 100, 0, 5, 0, false, false},
    /* Record 35 C (Dhahran); dry arctic air goes below the air's bound. */
    [DEW_POINT_C] = {"dew_point_c", -80, 40, 0, 0, 0, false, false},
};

const char *quantity_name(enum quantity quantity)
{
    return traits[quantity].name;
}

int quantity_from_name(const char *name)
{
    for (int i = 0; i < QUANTITY_COUNT; i++)
        if (strcmp(traits[i].name, name) == 0)
            return i;
    return -1;
}

bool quantity_is_sum(enum quantity quantity)
{
    return traits[quantity].sum;
}

bool quantity_is_over_hour(enum quantity quantity)
{
    return traits[quantity].over_hour;
}

void quantity_range(enum quantity quantity, double *min, double *max)
{
    *min = traits[quantity].min;
    *max = traits[quantity].max;
}

double quantity_settle(enum quantity quantity, double value)
{
    const struct trait *trait = &traits[quantity];

    if (value < trait->min && value >= trait->min - trait->slack_below)
        return trait->min;
    if (value > trait->max && value <= trait->max + trait->slack_above)
        return trait->max;
    return value;
}

int quantity_check(enum quantity quantity, double value, struct error *err)
{
    const struct trait *trait = &traits[quantity];

    if (!isfinite(value))
        return error_set(err, _("%s is not a number"), trait->name);
    if (value < trait->min || value > trait->max)
        return error_set(err, _("%s %.10g is outside %g..%g"), trait->name,
                         value, trait->min, trait->max);
    return 0;
}

double quantity_max_jump(enum quantity quantity)
{
    return traits[quantity].max_jump;
}
