/* What is legal but doubtful: warnings. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

/* Line of a key of a bush, else of the bush's heading. */
static int bush_line(const struct config_reading *reading,
                     const struct config_bush *bush, const char *key)
{
    char *section = mem_format("bush %s", bush->name);
    const struct ini_value *value = reading_value(reading, section, key);
    int line = value ? value->line : reading_section_line(reading, section);
    free(section);
    return line;
}

static void doubt_longitude(struct config_reading *reading,
                            const struct config_bush *bush)
{
    const double doubtful_h = 4;
    const char *zone = reading->config->zone_name;
    if (fabs(zone_sun_gap_h(zone, bush->longitude)) <= doubtful_h)
        return;
    bool sign = fabs(zone_sun_gap_h(zone, -bush->longitude)) <= doubtful_h;
    int line = bush_line(reading, bush, "longitude");
    if (sign)
        error_list_add(reading->warnings,
                       _("%s:%d: longitude %g does not go with the time "
                         "zone %s; west of Greenwich it needs a minus sign"),
                       reading->path, line, bush->longitude, zone);
    else
        error_list_add(reading->warnings,
                       _("%s:%d: longitude %g does not go with the time "
                         "zone %s"),
                       reading->path, line, bush->longitude, zone);
}

/* By the place, whose clock may yet stay the same all year, as that of
 * Saskatchewan does. */
static void doubt_fixed_zone(struct config_reading *reading)
{
    const struct config *config = reading->config;
    const struct config_bush *bush = &config->bushes[0];
    const struct ini_value *value =
        reading_value(reading, "operation", "time zone");
    const char *guess = zone_guess_by_place(bush->latitude, bush->longitude);
    if (value && guess && zone_is_fixed(config->zone_name))
        error_list_add(reading->warnings,
                       _("%s:%d: time zone = %s never changes to summer time; "
                         "if the clock at bush %s does, write time zone = %s"),
                       reading->path, value->line, config->zone_name,
                       bush->name, guess);
}

static void doubt_gathering(struct config_reading *reading,
                            const struct config_bush *bush)
{
    if (bush->gathering != GATHERING_GRAVITY_TUBING && bush->fall_m > 0)
        error_list_add(reading->warnings,
                       _("%s:%d: fall counts for gravity tubing only"),
                       reading->path, bush_line(reading, bush, "fall"));
    if (bush->gathering != GATHERING_BUCKETS && bush->bucket_l > 0)
        error_list_add(reading->warnings,
                       _("%s:%d: bucket counts for buckets only"),
                       reading->path, bush_line(reading, bush, "bucket"));
}

/* Two bushes of one sugarhouse lie within a drive of each other. */
static void doubt_neighbours(struct config_reading *reading,
                             const struct config_bush *bush)
{
    const double far_m = 500, far_degrees = 1;
    const struct config_bush *first = &reading->config->bushes[0];
    char here[QUANTITY_SIZE], there[QUANTITY_SIZE];
    enum unit_system units = reading->config->units;
    if (fabs(bush->elevation_m - first->elevation_m) > far_m) {
        height_format(bush->elevation_m, units, here);
        height_format(first->elevation_m, units, there);
        error_list_add(reading->warnings,
                       _("%s:%d: bush %s lies at %s, bush %s at %s; are the "
                         "units right?"),
                       reading->path, bush_line(reading, bush, "elevation"),
                       bush->name, here, first->name, there);
    }
    if (fabs(bush->latitude - first->latitude) > far_degrees ||
        fabs(bush->longitude - first->longitude) > far_degrees)
        error_list_add(reading->warnings,
                       _("%s:%d: bush %s lies more than a degree away from "
                         "bush %s; are the signs right?"),
                       reading->path, bush_line(reading, bush, "latitude"),
                       bush->name, first->name);
}

/* Certainly outside the area that the National Weather Service forecasts:
 * boxes with room to spare around the states, Puerto Rico and Guam. */
static bool outside_us(const struct config_bush *bush)
{
    static const struct {
        double south, north, west, east;
    } boxes[] = {
        {24, 49.5, -125, -66.5}, /* the 48 states */
        {51, 72, -180, -129},    /* Alaska */
        {51, 55, 172, 180},      /* the western Aleutians */
        {18, 23, -161, -154},    /* Hawaii */
        {17, 19, -68, -64},      /* Puerto Rico, Virgin Islands */
        {13, 21, 144, 147},      /* Guam, Northern Marianas */
    };
    for (size_t i = 0; i < sizeof boxes / sizeof boxes[0]; i++)
        if (bush->latitude >= boxes[i].south &&
            bush->latitude <= boxes[i].north &&
            bush->longitude >= boxes[i].west &&
            bush->longitude <= boxes[i].east)
            return false;
    return true;
}

static void doubt_nws(struct config_reading *reading,
                      const struct config_bush *bush)
{
    struct config *config = reading->config;
    if (!config_source_find(config, "nws") || !outside_us(bush))
        return;
    int line = bush_line(reading, bush, "latitude");
    if (config->source_count == 1)
        error_list_add(reading->warnings,
                       _("%s:%d: bush %s lies outside the United States, "
                         "where nws has no forecast; add metno or "
                         "open-meteo to use"),
                       reading->path, line, bush->name);
    else
        error_list_add(reading->warnings,
                       _("%s:%d: bush %s lies outside the United States, "
                         "where nws has no forecast; the other services "
                         "are used"),
                       reading->path, line, bush->name);
}

static void doubt_open_meteo(struct config_reading *reading)
{
    const struct config_source *source =
        config_source_find(reading->config, "open-meteo");
    if (!source || source->base_url || source->key)
        return;
    const struct ini_value *use = reading_value(reading, "sources", "use");
    int line = use ? use->line : 1;
    error_list_add(reading->warnings,
                   _("%s:%d: the free host of open-meteo is for "
                     "non-commercial use; if you sell syrup, get a key "
                     "(open-meteo key), run your own instance (open-meteo "
                     "url), or use nws or metno"),
                   reading->path, line);
}

/* RFC 2606 and RFC 6761 keep these names for examples. */
static void doubt_contact(struct config_reading *reading)
{
    const struct ini_value *value =
        reading_value(reading, "sources", "contact");
    if (value && strstr(value->value, "example."))
        error_list_add(reading->warnings,
                       _("%s:%d: contact = %s is an example, not an address "
                         "at which a service can reach you"),
                       reading->path, value->line, value->value);
}

static double good_day_l(const struct config *config)
{
    double sap_l = 0;
    for (int i = 0; i < config->bush_count; i++)
        sap_l += config->bushes[i].taps *
                 good_day_l_per_tap(config->bushes[i].gathering);
    return sap_l;
}

static void doubt_storage(struct config_reading *reading)
{
    const struct config *config = reading->config;
    const struct config_sugarhouse *house = &config->sugarhouse;
    double sap_l = good_day_l(config);
    if (house->storage_l <= 0 || house->storage_l >= sap_l)
        return;
    char holds[QUANTITY_SIZE], brings[QUANTITY_SIZE];
    volume_format(house->storage_l, config->units, holds);
    volume_format(sap_l, config->units, brings);
    const struct ini_value *value =
        reading_value(reading, "sugarhouse", "storage");
    if (!value)
        value = reading_value(reading, "sugarhouse", "tanks");
    error_list_add(reading->warnings,
                   _("%s:%d: storage of %s is less than a good day of these "
                     "taps brings (about %s); the plan will have to boil the "
                     "same day"),
                   reading->path, value ? value->line : 0, holds, brings);
}

static void doubt_boil(struct config_reading *reading)
{
    const struct config_sugarhouse *house = &reading->config->sugarhouse;
    int heading = reading_section_line(reading, "sugarhouse");
    const struct ini_value *smallest =
        reading_value(reading, "sugarhouse", "smallest boil");
    if (house->present && house->evaporation_l_h <= 0 &&
        house->pan_area_m2 <= 0)
        error_list_add(reading->warnings,
                       _("%s:%d: without evaporation or pan neither boiling "
                         "nor collecting is planned"),
                       reading->path, heading);
    if (house->present && house->storage_l <= 0)
        error_list_add(reading->warnings,
                       _("%s:%d: without storage neither boiling nor "
                         "collecting is planned"),
                       reading->path, heading);
    if (smallest && house->storage_l > 0 &&
        house->smallest_boil_l > house->storage_l)
        error_list_add(reading->warnings,
                       _("%s:%d: the smallest boil is more than the storage "
                         "holds; the fire would never be lit"),
                       reading->path, smallest->line);
}

/* The plan goes by whole hours of the clock, and a fire takes two of them. */
static void doubt_hours(struct config_reading *reading)
{
    const struct ini_value *told =
        reading_value(reading, "sugarhouse", "attended to");
    int from_min, to_min;
    int whole_h = config_planned_hours(reading->config, &from_min, &to_min);
    if (!told)
        told = reading_value(reading, "sugarhouse", "attended from");
    if (told && whole_h < 2)
        error_list_add(reading->warnings,
                       _("%s:%d: in the attended hours there are no two whole "
                         "hours of the clock; the fire would never be lit"),
                       reading->path, told->line);
}

/* Half an hour of the time goes to starting and half to finishing. Where the
 * evaporation is told: a pan's is an estimate, too rough to doubt by. */
static void doubt_fire(struct config_reading *reading)
{
    /* Sap of 2 Brix that makes syrup gives off all but a 44th as steam. */
    const double sap_per_water = 44.0 / 43.0;
    const struct config *config = reading->config;
    const struct config_sugarhouse *house = &config->sugarhouse;
    const struct ini_value *smallest =
        reading_value(reading, "sugarhouse", "smallest boil");
    int from_min, to_min;
    int whole_h = config_planned_hours(config, &from_min, &to_min);
    double sap_l = (whole_h - 1) * house->evaporation_l_h * sap_per_water;
    char takes[QUANTITY_SIZE], wants[QUANTITY_SIZE];
    if (!smallest || house->evaporation_l_h <= 0 || whole_h < 2 ||
        sap_l >= house->smallest_boil_l)
        return;
    volume_format(sap_l, config->units, takes);
    volume_format(house->smallest_boil_l, config->units, wants);
    if (strcmp(takes, wants) == 0)
        return;
    error_list_add(reading->warnings,
                   _("%s:%d: the fire takes %s in the attended hours, less "
                     "than the smallest boil, %s; each boil will take two "
                     "days or more"),
                   reading->path, smallest->line, takes, wants);
}

/* Whether an address to serve on is this machine's own. */
static bool listens_at_home(const char *listen)
{
    bool v6 = listen[0] == '[';
    const char *host = listen + (v6 ? 1 : 0);
    return host_is_loopback(host, strcspn(host, v6 ? "]" : ":"));
}

static void doubt_listen(struct config_reading *reading)
{
    const struct config_publish *publish = &reading->config->publish;
    if (!publish->listen || listens_at_home(publish->listen))
        return;
    int line = reading_value(reading, "calendar", "listen")->line;
    error_list_add(reading->warnings,
                   _("%s:%d: %s can be reached from the network; who knows "
                     "the feed's address can read it"),
                   reading->path, line, publish->listen);
}

/* Is it the port that the server's address names? */
static bool has_port(const struct url_parts *parts, const char *port)
{
    const char *at = parts->host + parts->host_length;
    size_t length = strlen(port);
    if (*at == ']')
        at++;
    return *at == ':' && strncmp(at + 1, port, length) == 0 &&
           at + 1 + length == parts->path;
}

/* 465 is encrypted from the first byte (RFC 8314, 3.3); 587 and 25 begin in
 * clear and change over by STARTTLS (RFC 6409, RFC 3207). The wrong one of the
 * two waits for the other side until it gives up. */
static void doubt_mail_port(struct config_reading *reading)
{
    static const char *const plain[] = {"587", "25"};
    const struct ini_value *value = reading_value(reading, "mail", "server");
    struct url_parts parts;
    if (!value || !url_parse(value->value, &parts))
        return;
    const char *rest = value->value + parts.scheme_length;
    bool implicit = url_has_scheme(value->value, &parts, "smtps");
    if (!implicit && has_port(&parts, "465"))
        error_list_add(reading->warnings,
                       _("%s:%d: port 465 is usually that of smtps://; if no "
                         "mail goes, write smtps%s"),
                       reading->path, value->line, rest);
    for (size_t i = 0; implicit && i < sizeof plain / sizeof plain[0]; i++)
        if (has_port(&parts, plain[i]))
            error_list_add(reading->warnings,
                           _("%s:%d: port %s is usually that of smtp:// with "
                             "STARTTLS; if no mail goes, write smtp%s"),
                           reading->path, value->line, plain[i], rest);
}

void config_doubt(struct config_reading *reading)
{
    const struct config *config = reading->config;
    for (int i = 0; i < config->bush_count; i++) {
        const struct config_bush *bush = &config->bushes[i];
        doubt_longitude(reading, bush);
        doubt_gathering(reading, bush);
        if (i > 0)
            doubt_neighbours(reading, bush);
        doubt_nws(reading, bush);
    }
    doubt_fixed_zone(reading);
    doubt_open_meteo(reading);
    doubt_contact(reading);
    doubt_storage(reading);
    doubt_boil(reading);
    doubt_hours(reading);
    doubt_fire(reading);
    doubt_listen(reading);
    doubt_mail_port(reading);
}
