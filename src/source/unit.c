#include "source/unit.h"

#include <stddef.h>
#include <string.h>

#include "base/units.h"

#define DEGREE "\xc2\xb0"
#define SQUARED "\xc2\xb2"

struct unit_row {
    const char *name;
    struct unit_scale scale;
};

static const struct unit_row temperatures[] = {
    {DEGREE "C", {1, 0}},
    {"C", {1, 0}},
    {"degC", {1, 0}},
    {"celsius", {1, 0}},
    {DEGREE "F", {5.0 / 9.0, -32 * 5.0 / 9.0}},
    {"F", {5.0 / 9.0, -32 * 5.0 / 9.0}},
    {"degF", {5.0 / 9.0, -32 * 5.0 / 9.0}},
    {"fahrenheit", {5.0 / 9.0, -32 * 5.0 / 9.0}},
    {"K", {1, -273.15}},
    {"kelvin", {1, -273.15}},
    {NULL, {0, 0}},
};

static const struct unit_row speeds[] = {
    {"m/s", {1, 0}},
    {"m_s-1", {1, 0}},
    {"km/h", {1 / 3.6, 0}},
    {"km_h-1", {1 / 3.6, 0}},
    {"mph", {1609.344 / 3600, 0}},
    {"mp/h", {1609.344 / 3600, 0}},
    {"mi_h-1", {1609.344 / 3600, 0}},
    {"kn", {1852.0 / 3600, 0}},
    {"kt", {1852.0 / 3600, 0}},
    {"kts", {1852.0 / 3600, 0}},
    {NULL, {0, 0}},
};

static const struct unit_row pressures[] = {
    {"hPa", {1, 0}},         {"mbar", {1, 0}}, {"mb", {1, 0}},
    {"Pa", {0.01, 0}},       {"kPa", {10, 0}}, {"inHg", {10 * KPA_PER_INHG, 0}},
    {"mmHg", {1.333224, 0}}, {NULL, {0, 0}},
};

static const struct unit_row shares[] = {
    {"%", {1, 0}},
    {"percent", {1, 0}},
    {NULL, {0, 0}},
};

static const struct unit_row depths[] = {
    {"mm", {1, 0}},  {"kg_m-2", {1, 0}}, /* of water, the same as 1 mm */
    {"cm", {10, 0}}, {"inch", {25.4, 0}}, {"in", {25.4, 0}}, {NULL, {0, 0}},
};

static const struct unit_row radiations[] = {
    {"W/m" SQUARED, {1, 0}},
    {"W/m2", {1, 0}},
    {"W_m-2", {1, 0}},
    {NULL, {0, 0}},
};

static const struct unit_row heights[] = {
    {"m", {1, 0}},
    {"ft", {M_PER_FOOT, 0}},
    {NULL, {0, 0}},
};

static const struct unit_row *const units_of[QUANTITY_COUNT] = {
    [AIR_TEMP_C] = temperatures,
    [SHORTWAVE_W_M2] = radiations,
    [WIND_M_S] = speeds,
    [REL_HUMIDITY_PCT] = shares,
    [PRESSURE_HPA] = pressures,
    [PRECIP_MM] = depths,
    [SEA_LEVEL_PRESSURE_HPA] = pressures,
    [CLOUD_PCT] = shares,
    [DEW_POINT_C] = temperatures,
};

/* The NWS has named the same list of units in four ways over the years. */
static const char *skip_prefix(const char *declared)
{
    static const char *const prefixes[] = {
        "unit:",
        "wmoUnit:",
        "nwsUnit:",
        "uc:",
        "http://codes.wmo.int/common/unit/",
        "https://codes.wmo.int/common/unit/",
    };

    for (size_t i = 0; i < sizeof prefixes / sizeof prefixes[0]; i++) {
        size_t length = strlen(prefixes[i]);

        if (strncmp(declared, prefixes[i], length) == 0)
            return declared + length;
    }
    return declared;
}

static int find_row(const struct unit_row *rows, const char *declared,
                    struct unit_scale *out)
{
    if (!declared)
        return -1;
    declared = skip_prefix(declared);
    for (; rows->name; rows++) {
        if (strcmp(rows->name, declared) == 0) {
            *out = rows->scale;
            return 0;
        }
    }
    return -1;
}

int unit_find(enum quantity quantity, const char *declared,
              struct unit_scale *out)
{
    return find_row(units_of[quantity], declared, out);
}

int unit_find_height(const char *declared, struct unit_scale *out)
{
    return find_row(heights, declared, out);
}

double unit_apply(const struct unit_scale *scale, double value)
{
    return value * scale->factor + scale->offset;
}
