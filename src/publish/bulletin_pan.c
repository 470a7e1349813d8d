/* The air at the pan, in the bulletin. */
#include "publish/bulletin.h"

void bulletin_take_pressure(struct bulletin *bulletin,
                            const struct series *series, double elevation_m)
{
    struct bulletin_pan pan = {.syrup_brix = bulletin->pan.syrup_brix,
                               .elevation_m = elevation_m};
    utc_s past_hour = bulletin->made % SECONDS_PER_HOUR;
    int found = 0;

    pan.start = bulletin->made - past_hour;
    if (bulletin->pan.hours > 0)
        return;
    for (int hour = 0; hour < BULLETIN_PAN_HOURS; hour++) {
        int row =
            series_row(series, pan.start + (utc_s)hour * SECONDS_PER_HOUR);

        pan.known[hour] =
            row >= 0 && series_get(series, PRESSURE_HPA, row,
                                   &pan.station_pressure_hpa[hour]);
        if (pan.known[hour])
            found = hour + 1;
    }
    pan.hours = found;
    if (found > 0)
        bulletin->pan = pan;
}

static void take_hour(struct bulletin_pressure *out, int count, double hpa)
{
    if (count == 0 || hpa < out->min_hpa)
        out->min_hpa = hpa;
    if (count == 0 || hpa > out->max_hpa)
        out->max_hpa = hpa;
    out->mean_hpa += (hpa - out->mean_hpa) / (count + 1);
}

bool bulletin_pan_pressure(const struct bulletin *bulletin, utc_s from,
                           utc_s to, struct bulletin_pressure *out)
{
    const struct bulletin_pan *pan = &bulletin->pan;
    int count = 0, asked = 0;

    *out = (struct bulletin_pressure){0};
    for (utc_s at = from - from % SECONDS_PER_HOUR; at < to;
         at += SECONDS_PER_HOUR) {
        utc_s hour = (at - pan->start) / SECONDS_PER_HOUR;

        asked++;
        if (at < pan->start || hour >= pan->hours || !pan->known[hour])
            continue;
        take_hour(out, count++, pan->station_pressure_hpa[hour]);
    }
    return count > 0 && count * 2 >= asked;
}
