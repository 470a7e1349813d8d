/* Hourly periods: a derived product in texts and whole degrees, read as a
 * fallback. */
#include <string.h>

#include "base/json.h"
#include "base/units.h"
#include "base/words.h"
#include "source/answer.h"
#include "source/nws.h"

enum { LONGEST_PERIOD_S = 3 * SECONDS_PER_HOUR };

/* What is known of one period. */
struct period {
    const cJSON *item;
    utc_s start, end;
};

/* Newer answers may give {unitCode, value} where older ones give a number
 * with its unit beside it. */
static void read_temperature(const struct period *period, struct intake *intake)
{
    const cJSON *item =
        cJSON_GetObjectItemCaseSensitive(period->item, "temperature");
    const char *unit = json_string(period->item, "temperatureUnit");
    struct unit_scale scale;
    struct error err;
    char shown[80], when[ISO_TIME_SIZE];

    if (cJSON_IsObject(item)) {
        nws_read_quantity(item, AIR_TEMP_C, period->start, period->end,
                          ORIGIN_FORECAST, intake);
        return;
    }
    if (unit_find(AIR_TEMP_C, unit, &scale) == 0) {
        intake_json(intake, AIR_TEMP_C, &scale, period->start, period->end,
                    ORIGIN_FORECAST, item);
        return;
    }
    answer_words(unit, shown, sizeof shown);
    iso_time_utc(period->start, when);
    error_set(&err,
              _("temperature at %s left out: temperatureUnit \"%s\" is not "
                "known"),
              when, shown);
    intake_refuse(intake, AIR_TEMP_C, &err);
}

/* One number and the rest of the words after it. */
static const char *take_number(const char *words, double *out)
{
    size_t length = strspn(words, "0123456789.");

    if (!number_parse(words, length, out))
        return NULL;
    words += length;
    return words + strspn(words, " ");
}

/* "18 mph", or "10 to 15 mph", which counts as their middle. */
static bool parse_wind(const char *words, double *out)
{
    double low, high;
    struct unit_scale scale;

    words = take_number(words, &low);
    high = low;
    if (words && strncmp(words, "to ", 3) == 0)
        words = take_number(words + 3, &high);
    if (!words || unit_find(WIND_M_S, words, &scale) < 0)
        return false;
    *out = unit_apply(&scale, (low + high) / 2);
    return true;
}

static void read_wind(const struct period *period, struct intake *intake)
{
    const char *words = json_string(period->item, "windSpeed");
    double wind_m_s;
    struct error err;
    char shown[80], when[ISO_TIME_SIZE];

    if (!words) {
        nws_read_quantity(json_object(period->item, "windSpeed"), WIND_M_S,
                          period->start, period->end, ORIGIN_FORECAST, intake);
        return;
    }
    if (parse_wind(words, &wind_m_s)) {
        intake_value(intake, WIND_M_S, period->start, period->end,
                     ORIGIN_FORECAST, wind_m_s);
        return;
    }
    answer_words(words, shown, sizeof shown);
    iso_time_utc(period->start, when);
    error_set(&err, _("windSpeed at %s left out: \"%s\" is no wind speed"),
              when, shown);
    intake_refuse(intake, WIND_M_S, &err);
}

static void refuse_period(const struct period *period, int number,
                          struct intake *intake)
{
    const char *name = json_string(period->item, "startTime");
    struct error err;
    char shown[80];

    answer_words(name, shown, sizeof shown);
    error_set(&err,
              _("period %d (\"%s\") left out: its times cannot be read, or "
                "it is not an hour long"),
              number, shown);
    intake_refuse(intake, AIR_TEMP_C, &err);
}

static void read_period(const struct period *period, struct intake *intake)
{
    read_temperature(period, intake);
    read_wind(period, intake);
    nws_read_quantity(json_object(period->item, "dewpoint"), DEW_POINT_C,
                      period->start, period->end, ORIGIN_FORECAST, intake);
    nws_read_quantity(json_object(period->item, "relativeHumidity"),
                      REL_HUMIDITY_PCT, period->start, period->end,
                      ORIGIN_FORECAST, intake);
}

void nws_read_periods(const cJSON *properties, struct intake *intake,
                      struct series_source *source)
{
    const cJSON *item;
    int number = 0;

    source->issued = nws_read_time(properties, "updateTime");
    nws_read_elevation(properties, source);
    intake_name(intake, AIR_TEMP_C, "temperature");
    intake_name(intake, WIND_M_S, "windSpeed");
    intake_name(intake, DEW_POINT_C, "dewpoint");
    intake_name(intake, REL_HUMIDITY_PCT, "relativeHumidity");
    cJSON_ArrayForEach(item, json_array(properties, "periods"))
    {
        struct period period = {item, nws_read_time(item, "startTime"),
                                nws_read_time(item, "endTime")};

        number++;
        if (period.start == 0 || period.end <= period.start ||
            period.end - period.start > LONGEST_PERIOD_S)
            refuse_period(&period, number, intake);
        else
            read_period(&period, intake);
    }
}
