/* What a station reports.
 *
 * barometricPressure is the altimeter setting (a recorded answer of KFLG at
 * 2137 m gives 102540 Pa beside "A3028" in its METAR, and 30.28 inHg are
 * 1025.4 hPa): brought to the station's own pressure. Precipitation is not
 * read: a METAR's sums are over odd spans. */
#include <math.h>
#include <string.h>

#include "base/json.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/nws.h"

/* Routine reports come at :51 to :59, automatic ones each 20 minutes. */
enum { SNAP_S = SECONDS_PER_HOUR / 2 - 1 };

static const struct observed {
    enum quantity quantity;
    const char *name;
} observed[] = {
    {AIR_TEMP_C, "temperature"},
    {DEW_POINT_C, "dewpoint"},
    {WIND_M_S, "windSpeed"},
    {REL_HUMIDITY_PCT, "relativeHumidity"},
    {SEA_LEVEL_PRESSURE_HPA, "seaLevelPressure"},
};

/* X has failed the checks of the service, Q is held questionable; older
 * answers write "qc:X". */
static bool is_questioned(const cJSON *item)
{
    const char *quality = json_string(item, "qualityControl");

    if (!quality)
        return false;
    if (strncmp(quality, "qc:", 3) == 0)
        quality += 3;
    return strcmp(quality, "X") == 0 || strcmp(quality, "Q") == 0;
}

static void read_one(const cJSON *properties, const struct observed *what,
                     utc_s time, struct intake *intake)
{
    const cJSON *item = json_object(properties, what->name);
    const cJSON *value = cJSON_GetObjectItemCaseSensitive(item, "value");
    char when[ISO_TIME_SIZE];
    struct error err;

    intake_name(intake, what->quantity, what->name);
    if (!is_questioned(item) || cJSON_IsNull(value)) {
        nws_read_quantity(item, what->quantity, time, time, ORIGIN_OBSERVED,
                          intake);
        return;
    }
    iso_time_utc(time, when);
    error_set(&err,
              _("%s at %s left out: the service itself questions it "
                "(qualityControl %s)"),
              what->name, when, json_string(item, "qualityControl"));
    intake_refuse(intake, what->quantity, &err);
}

/* Station pressure from the altimeter setting, in the standard atmosphere
 * (ISO 2533: 288.15 K and 1013.25 hPa at sea level, 6.5 K/km, exponent
 * g / (R L) = 5.25588). */
static double station_pressure_hpa(double setting_hpa, double elevation_m)
{
    const double sea_hpa = 1013.25, exponent = 5.25588;
    double root = pow(setting_hpa / sea_hpa, 1 / exponent) -
                  0.0065 * elevation_m / 288.15;

    return root > 0 ? sea_hpa * pow(root, exponent) : 0;
}

static void read_pressure(const cJSON *properties, utc_s time,
                          const struct series_source *source,
                          struct intake *intake)
{
    const cJSON *item = json_object(properties, "barometricPressure");
    struct unit_scale scale;
    double value;

    intake_name(intake, PRESSURE_HPA, "barometricPressure");
    if (!json_number(item, "value", &value) || is_questioned(item) ||
        !source->has_elevation ||
        unit_find(PRESSURE_HPA, json_string(item, "unitCode"), &scale) < 0)
        return;
    value = unit_apply(&scale, value);
    if (value > 0)
        value = station_pressure_hpa(value, source->elevation_m);
    intake_value(intake, PRESSURE_HPA, time, time, ORIGIN_OBSERVED, value);
}

void nws_read_observation(const cJSON *properties, struct intake *intake,
                          struct series_source *source)
{
    const char *stamp = json_string(properties, "timestamp");
    struct error err;
    char shown[80];
    utc_s time;

    intake->snap_s = SNAP_S;
    if (iso_time_parse(stamp, 0, &time, NULL) < 0) {
        answer_words(stamp, shown, sizeof shown);
        error_set(&err,
                  _("an observation left out: its timestamp \"%s\" is no "
                    "time"),
                  shown);
        intake_refuse(intake, AIR_TEMP_C, &err);
        return;
    }
    if (time > source->issued)
        source->issued = time;
    nws_read_elevation(properties, source);
    for (size_t i = 0; i < sizeof observed / sizeof observed[0]; i++)
        read_one(properties, &observed[i], time, intake);
    read_pressure(properties, time, source, intake);
}
