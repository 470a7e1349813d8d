#include "weather/diurnal.h"

#include <math.h>

#include "weather/sun.h"

static const double PI = 3.14159265358979323846;
static const double LAG_OF_MAX_H = 1.86;
static const double NIGHT_DECAY = 2.20;
static const double LAG_OF_MIN_H = -0.17;

struct daylight {
    double min_at, sunset; /* UTC seconds */
    double length_h;       /* sunrise to sunset */
};

struct place {
    int64_t first_day;
    const struct diurnal_day *days;
    int count;
    double latitude_deg, longitude_deg;
    int utc_offset_s;
};

static struct daylight daylight_of(const struct place *place, int index)
{
    struct daylight light;
    int64_t day = place->first_day + index;
    utc_s rise, set;

    if (!sun_rise_set(place->latitude_deg, place->longitude_deg, day, &rise,
                      &set)) {
        rise =
            day * SECONDS_PER_DAY + 6 * SECONDS_PER_HOUR - place->utc_offset_s;
        set = rise + 12 * SECONDS_PER_HOUR;
    }
    light.min_at = (double)rise + LAG_OF_MIN_H * SECONDS_PER_HOUR;
    light.sunset = (double)set;
    light.length_h = (double)(set - rise) / SECONDS_PER_HOUR;
    return light;
}

static bool is_known(const struct place *place, int index)
{
    return index >= 0 && index < place->count && place->days[index].known &&
           place->days[index].min_c <= place->days[index].max_c;
}

static double by_day_c(const struct diurnal_day *day, struct daylight light,
                       double at)
{
    double since_min_h = (at - light.min_at) / SECONDS_PER_HOUR;
    double angle = PI * since_min_h / (light.length_h + 2.0 * LAG_OF_MAX_H);

    return day->min_c + (day->max_c - day->min_c) * sin(angle);
}

/* The night after day `index`, to the minimum of the next. */
static double by_night_c(const struct place *place, int index, double at)
{
    struct daylight light = daylight_of(place, index);
    struct daylight next = daylight_of(place, index + 1);
    bool evening = is_known(place, index), dawn = is_known(place, index + 1);
    const struct diurnal_day *before =
        &place->days[evening ? index : index + 1];
    const struct diurnal_day *after = &place->days[dawn ? index + 1 : index];
    double sunset_c = by_day_c(before, light, light.sunset);
    double share = (at - light.sunset) / (next.min_at - light.sunset);
    double left = (exp(-NIGHT_DECAY * share) - exp(-NIGHT_DECAY)) /
                  (1.0 - exp(-NIGHT_DECAY));

    return after->min_c + (sunset_c - after->min_c) * left;
}

static double temp_at_c(const struct place *place, int index, utc_s instant)
{
    struct daylight light = daylight_of(place, index);
    double at = (double)instant;

    if (at < light.min_at)
        return by_night_c(place, index - 1, at);
    if (at > light.sunset)
        return by_night_c(place, index, at);
    return by_day_c(&place->days[index], light, at);
}

struct series *diurnal_series(int64_t first_day, const struct diurnal_day *days,
                              int count, double latitude_deg,
                              double longitude_deg, int utc_offset_s)
{
    struct place place = {first_day,    days,          count,
                          latitude_deg, longitude_deg, utc_offset_s};
    struct series_source source = {.name = "daily"};
    utc_s start = first_day * SECONDS_PER_DAY - utc_offset_s;
    struct series *series;

    if (count < 1 || count > SERIES_MAX_HOURS / 24)
        return NULL;
    series = series_new(start, count * 24);
    series_add_source(series, &source);
    for (int hour = 0; hour < count * 24; hour++) {
        int index = hour / 24;

        if (is_known(&place, index))
            series_set(series, AIR_TEMP_C, hour,
                       temp_at_c(&place, index, series_time(series, hour)),
                       ORIGIN_OBSERVED, 0);
    }
    return series;
}
