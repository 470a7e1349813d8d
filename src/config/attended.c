/* The hours in which somebody can be at the fire, as plans have them. */
#include "config/config.h"

enum { MINUTES_PER_HOUR = 60 };

/* How far past the clock's hour the hours of the weather begin: by half an hour
 * in Newfoundland. */
static int minutes_past_hour(const char *zone_name)
{
    /* 2026-01-15T12:00:00Z: summer time moves by whole hours. */
    const utc_s winter = 1768478400;
    struct zone *zone = zone_open(zone_name, NULL);
    int past_s = zone ? zone_offset_s(zone, winter) % SECONDS_PER_HOUR : 0;

    zone_free(zone);
    if (past_s < 0)
        past_s += SECONDS_PER_HOUR;
    return past_s / 60;
}

int config_planned_hours(const struct config *config, int *from_min,
                         int *to_min)
{
    const struct config_sugarhouse *house = &config->sugarhouse;
    int past = minutes_past_hour(config->zone_name);
    int from_h = (house->attended_from_min - past + MINUTES_PER_HOUR - 1) /
                 MINUTES_PER_HOUR;
    int to_h = (house->attended_to_min - past) / MINUTES_PER_HOUR;

    *from_min = from_h * MINUTES_PER_HOUR + past;
    *to_min = to_h * MINUTES_PER_HOUR + past;
    return to_h > from_h ? to_h - from_h : 0;
}
