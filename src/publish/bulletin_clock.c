/* The clock on the wall, and the nights. */
#include "publish/bulletin.h"

enum { NIGHT_FROM_H = 6, NIGHT_TO_H = 21 }; /* after noon: 18:00 to 09:00 */

static int offset_s(const struct bulletin *bulletin, utc_s instant)
{
    int found = 0;

    if (bulletin->zone != NULL)
        return zone_offset_s(bulletin->zone, instant);
    for (int i = 0; i < bulletin->offset_count; i++)
        if (i == 0 || bulletin->offsets[i].from <= instant)
            found = bulletin->offsets[i].offset_s;
    return found;
}

struct civil_time bulletin_civil(const struct bulletin *bulletin, utc_s instant)
{
    int offset = offset_s(bulletin, instant);
    int64_t day = utc_day(instant + offset);
    int second = (int)(instant + offset - day * SECONDS_PER_DAY);

    return (struct civil_time){.date = civil_date_from_day_number(day),
                               .hour = second / SECONDS_PER_HOUR,
                               .minute = second / 60 % 60,
                               .second = second % 60,
                               .offset_s = offset};
}

struct civil_date bulletin_date(const struct bulletin *bulletin, utc_s instant)
{
    return bulletin_civil(bulletin, instant).date;
}

utc_s bulletin_noon(const struct bulletin *bulletin, struct civil_date date)
{
    utc_s noon = civil_day_number(date) * SECONDS_PER_DAY + SECONDS_PER_DAY / 2;

    return noon - offset_s(bulletin, noon - offset_s(bulletin, noon));
}

static bool air_at(const struct bulletin_bush *bush, utc_s instant,
                   double *temp_c)
{
    utc_s hour = (instant - bush->outlook->start) / SECONDS_PER_HOUR;

    if (instant < bush->outlook->start || hour >= bush->outlook->hours ||
        !bush->air_known[hour])
        return false;
    *temp_c = bush->air_temp_c[hour];
    return true;
}

static void count_hour(struct bulletin_night *night, bool first, utc_s instant,
                       double temp_c)
{
    if (first || temp_c < night->min_c) {
        night->min_c = temp_c;
        night->min_at = instant;
    }
    if (temp_c > 0)
        return;
    if (night->freezing_hours == 0)
        night->freeze_from = instant;
    night->freeze_until = instant + SECONDS_PER_HOUR;
    night->freezing_hours++;
}

bool bulletin_bush_night(const struct bulletin *bulletin,
                         const struct bulletin_bush *bush,
                         struct civil_date evening, struct bulletin_night *out)
{
    utc_s from = bulletin_noon(bulletin, evening);
    utc_s to = bulletin_noon(bulletin, civil_date_add(evening, 1));
    int known = 0;
    double temp_c;

    *out = (struct bulletin_night){0};
    if (bush->outlook == NULL || bush->air_temp_c == NULL)
        return false;
    for (utc_s at = from; at < to; at += SECONDS_PER_HOUR) {
        utc_s after_noon_h = (at - from) / SECONDS_PER_HOUR;

        if (!air_at(bush, at, &temp_c))
            continue;
        count_hour(out, out->min_at == 0, at, temp_c);
        if (after_noon_h >= NIGHT_FROM_H && after_noon_h < NIGHT_TO_H)
            known++;
    }
    return known * 10 >= (NIGHT_TO_H - NIGHT_FROM_H) * 9;
}

bool bulletin_night(const struct bulletin *bulletin, struct civil_date evening,
                    struct bulletin_night *out)
{
    if (bulletin->bush_count > 0)
        return bulletin_bush_night(bulletin, &bulletin->bushes[0], evening,
                                   out);
    *out = (struct bulletin_night){0};
    return false;
}
