/* A time zone for those who told none. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/memory.h"
#include "config/reading.h"

static const char zone_folder[] = "/usr/share/zoneinfo/";

char *zone_guess_system(void)
{
    static const char mark[] = "zoneinfo/";
    char target[512];
    ssize_t length = readlink("/etc/localtime", target, sizeof target - 1);
    if (length <= 0)
        return NULL;
    target[length] = '\0';
    const char *name = strstr(target, mark);
    return name ? mem_copy_text(name + strlen(mark)) : NULL;
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

/* "+DDMM", "+DDMMSS", "+DDDMM" or "+DDDMMSS" as degrees. */
static double iso6709_degrees(const char *words, size_t length)
{
    size_t degree_digits = length == 5 || length == 7 ? 2 : 3;
    double parts[3] = {0, 0, 0};
    size_t at = 1;
    for (int i = 0; i < 3 && at < length; i++) {
        size_t digits = i == 0 ? degree_digits : 2;
        for (size_t j = 0; j < digits && at < length; j++, at++)
            parts[i] = 10 * parts[i] + (words[at] - '0');
    }
    double degrees = parts[0] + parts[1] / 60 + parts[2] / 3600;
    return words[0] == '-' ? -degrees : degrees;
}

/* Cosine of the angle between two places seen from the Earth's centre. */
static double closeness(double lat_a, double lon_a, double lat_b, double lon_b)
{
    const double radians = acos(-1) / 180;
    return sin(lat_a * radians) * sin(lat_b * radians) +
           cos(lat_a * radians) * cos(lat_b * radians) *
               cos((lon_a - lon_b) * radians);
}

/* Looks at one line "CC<tab>+4042-07400<tab>America/New_York[<tab>…]". */
static void consider_line(const char *line, size_t length, double latitude,
                          double longitude, double *best, char **name)
{
    const char *place = memchr(line, '\t', length);
    if (line[0] == '#' || !place)
        return;
    place++;
    size_t lat_length = 1 + strcspn(place + 1, "+-\t");
    const char *lon = place + lat_length;
    size_t lon_length = strcspn(lon, "\t\n");
    if (lon[lon_length] != '\t')
        return;
    double near =
        closeness(latitude, longitude, iso6709_degrees(place, lat_length),
                  iso6709_degrees(lon, lon_length));
    if (near <= *best)
        return;
    *best = near;
    const char *word = lon + lon_length + 1;
    free(*name);
    *name = mem_copy_bytes(word, strcspn(word, "\t\n"));
}

char *zone_guess_nearest(double latitude, double longitude)
{
    enum { TABLE_BYTES = 1 << 20 };
    char *path = file_join(zone_folder, "zone1970.tab");
    char *bytes = NULL;
    size_t length;
    int failed = file_read(path, TABLE_BYTES, &bytes, &length, NULL);
    free(path);
    if (failed)
        return NULL;
    char *name = NULL;
    double best = -2;
    for (const char *line = bytes; *line;) {
        size_t line_length = strcspn(line, "\n");
        consider_line(line, line_length, latitude, longitude, &best, &name);
        line += line_length + (line[line_length] == '\n' ? 1 : 0);
    }
    free(bytes);
    return name;
}
