#include "daemon/schedule.h"

/* The first instant at or after `from` that shows the hour or a later one of
 * that day: what a gap holds is looked for minute by minute. */
static utc_s after_gap(const struct zone *zone, struct civil_date date,
                       int minute, utc_s from)
{
    utc_s instant = from;

    for (;;) {
        struct civil_time civil = zone_civil(zone, instant);
        int side = civil_date_compare(civil.date, date);

        if (side > 0 || (side == 0 && civil.hour * 60 + civil.minute >= minute))
            return instant;
        instant += 60;
    }
}

utc_s schedule_instant(const struct zone *zone, struct civil_date date,
                       int minute)
{
    utc_s instant = zone_instant(zone, date, minute / 60, minute % 60, 0);
    struct civil_time civil = zone_civil(zone, instant);

    if (civil_date_compare(civil.date, date) == 0 &&
        civil.hour * 60 + civil.minute == minute)
        return instant;
    return after_gap(zone, date, minute, instant - SECONDS_PER_DAY / 4);
}

utc_s schedule_next(const struct zone *zone, int minute, utc_s now)
{
    struct civil_date date = civil_date_add(zone_date(zone, now), -1);
    utc_s instant;

    do {
        instant = schedule_instant(zone, date, minute);
        date = civil_date_add(date, 1);
    } while (instant <= now);
    return instant;
}

bool schedule_due(const struct zone *zone, int minute, struct civil_date done,
                  utc_s now, struct civil_date *date)
{
    struct civil_date today = zone_date(zone, now);

    *date = today;
    if (schedule_instant(zone, today, minute) > now)
        *date = civil_date_add(today, -1);
    if (done.year == 0)
        return civil_date_compare(*date, today) == 0;
    return civil_date_compare(done, *date) < 0 ||
           civil_date_compare(done, civil_date_add(today, 1)) > 0;
}

bool schedule_turn_due(utc_s next, utc_s now)
{
    return now >= next || next - now > SCHEDULE_LONGEST_REST_S;
}

/* FNV-1a (Fowler, Noll, Vo), the low bits mixed once more. */
int schedule_spread_s(const char *key, int rest_s)
{
    uint64_t hash = 14695981039346656037ULL;

    if (rest_s <= 0)
        return 0;
    for (const char *c = key; *c != '\0'; c++)
        hash = (hash ^ (unsigned char)*c) * 1099511628211ULL;
    hash ^= hash >> 29;
    return (int)(hash % (uint64_t)rest_s);
}

int schedule_wait_ms(utc_s now, utc_s next, int longest_ms)
{
    if (next <= now)
        return 0;
    if (next - now >= longest_ms / 1000 + 1)
        return longest_ms;
    return (int)(next - now) * 1000 < longest_ms ? (int)(next - now) * 1000
                                                 : longest_ms;
}
