/* A time zone for those who told none. */
#include <math.h>
#include <string.h>
#include <unistd.h>

#include "base/memory.h"
#include "config/reading.h"

char *zone_of_link(const char *target)
{
    static const char mark[] = "zoneinfo/";
    const char *name = strstr(target, mark);
    struct zone *zone = name ? zone_open(name + strlen(mark), NULL) : NULL;
    if (!zone)
        return NULL;
    zone_free(zone);
    return mem_copy_text(name + strlen(mark));
}

char *zone_guess_system(void)
{
    char target[512];
    ssize_t length = readlink("/etc/localtime", target, sizeof target - 1);
    if (length <= 0)
        return NULL;
    target[length] = '\0';
    return zone_of_link(target);
}

bool zone_is_fixed(const char *zone_name)
{
    /* The names of the tz database's files etcetera and backward that are of
     * an offset, not of a place. */
    static const char *const names[] = {
        "EST", "MST",  "HST",   "UTC",   "UCT",       "Zulu",
        "GMT", "GMT0", "GMT+0", "GMT-0", "Greenwich", "Universal",
    };
    if (strncmp(zone_name, "Etc/", 4) == 0)
        return true;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (strcmp(zone_name, names[i]) == 0)
            return true;
    return false;
}

double zone_sun_gap_h(const char *zone_name, double longitude)
{
    /* 2026-01-15T12:00:00Z: no summer time north of the equator. */
    const utc_s winter = 1768478400;
    struct zone *zone = zone_open(zone_name, NULL);
    if (!zone)
        return 0;
    double gap_h = zone_offset_s(zone, winter) / 3600.0 - longitude / 15.0;
    zone_free(zone);
    return remainder(gap_h, 24);
}

const char *zone_guess_by_place(double latitude, double longitude)
{
    static const struct {
        double west; /* the zone reaches from here to the row before's */
        const char *zone;
    } rows[] = {
        {-67.5, "America/Halifax"},    {-87.5, "America/New_York"},
        {-102, "America/Chicago"},     {-114.5, "America/Denver"},
        {-130, "America/Los_Angeles"},
    };
    const double south = 24, north = 60, east = -59.5;
    if (latitude < south || latitude > north || longitude > east)
        return NULL;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (longitude > rows[i].west)
            return rows[i].zone;
    return NULL;
}
