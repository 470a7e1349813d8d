#include "weather/forcing.h"

#include <stdlib.h>

#include "base/memory.h"
#include "weather/sun.h"

static const double WIND_IF_MISSING_M_S = 2.0;
static const double CLOUD_IF_MISSING = 0.5;

static struct forcing *forcing_new(utc_s start, int hours)
{
    struct forcing *forcing = mem_alloc(1, sizeof *forcing);
    size_t count = (size_t)hours;

    forcing->start = start;
    forcing->hours = hours;
    forcing->air_temp_c = mem_alloc(count, sizeof *forcing->air_temp_c);
    forcing->shortwave_w_m2 = mem_alloc(count, sizeof *forcing->shortwave_w_m2);
    forcing->wind_m_s = mem_alloc(count, sizeof *forcing->wind_m_s);
    forcing->known = mem_alloc(count, sizeof *forcing->known);
    return forcing;
}

static double first_known_c(const struct series *series)
{
    double temp_c = 0;

    for (int hour = 0; hour < series_hours(series); hour++)
        if (series_get(series, AIR_TEMP_C, hour, &temp_c))
            break;
    return temp_c;
}

struct forcing *forcing_from_series(const struct series *series,
                                    double latitude_deg, double longitude_deg)
{
    struct forcing *forcing =
        forcing_new(series_start(series), series_hours(series));
    double temp_c = first_known_c(series);

    sun_shortwave_hours(latitude_deg, longitude_deg, forcing->start,
                        forcing->hours, CLOUD_IF_MISSING,
                        forcing->shortwave_w_m2);
    for (int hour = 0; hour < forcing->hours; hour++) {
        forcing->known[hour] = series_get(series, AIR_TEMP_C, hour, &temp_c);
        forcing->air_temp_c[hour] = temp_c;
        series_get(series, SHORTWAVE_W_M2, hour,
                   &forcing->shortwave_w_m2[hour]);
        if (!series_get(series, WIND_M_S, hour, &forcing->wind_m_s[hour]))
            forcing->wind_m_s[hour] = WIND_IF_MISSING_M_S;
    }
    return forcing;
}

void forcing_member_air(const struct forcing *forcing,
                        const struct members *members, int member, int first,
                        double *air_temp_c)
{
    int64_t offset = (forcing->start - members->start) / SECONDS_PER_HOUR;
    const double *course =
        members->air_temp_c + (size_t)member * (size_t)members->hours;

    for (int hour = first; hour < forcing->hours; hour++) {
        int64_t row = hour + offset;

        *air_temp_c++ = row >= 0 && row < members->hours
                               ? course[row]
                               : forcing->air_temp_c[hour];
    }
}

void forcing_set_member(struct forcing *forcing, const struct members *members,
                        int member)
{
    forcing_member_air(forcing, members, member, 0, forcing->air_temp_c);
}

void forcing_free(struct forcing *forcing)
{
    if (!forcing)
        return;
    free(forcing->air_temp_c);
    free(forcing->shortwave_w_m2);
    free(forcing->wind_m_s);
    free(forcing->known);
    free(forcing);
}
