/* The table of keys: what each takes, how it is read, where it goes. */
#include "base/words.h"
#include "config/reading.h"

#define AT(type, field) .offset = offsetof(struct type, field)
#define RANGE(from, to) .min = (from), .max = (to)

static const char *const unit_words[] = {"metric", "us", NULL};
const char *const site_words[] = {"shade", "sun", "inside", NULL};
static const char *const pan_words[] = {"flat", "raised flue", "drop flue",
                                        NULL};

static const struct config_key keys[] = {
    {"operation", "name",
     N_("a name of at most 100 bytes; without it, the file's own name"),
     .read = read_text, AT(config, name), .max = 100},
    {"operation", "time zone",
     N_("a time zone by its IANA name, such as America/New_York"),
     .read = read_zone, AT(config, zone_name)},
    {"operation", "language", N_("en or fr"), .read = read_language,
     AT(config, language)},
    {"operation", "units", N_("us or metric"), .read = read_word,
     AT(config, units), .words = unit_words},
    {"operation", "models",
     N_("a folder with parameter files of one's own, each in place of the "
        "program's of that name"),
     .read = read_path, AT(config, models)},
    {"operation", "spool",
     N_("the folder where notes wait for the daemon, such as "
        "/var/spool/thawbell"),
     .read = read_path, AT(config, spool)},

    {"bush", "place",
     N_("latitude, longitude and elevation in one line, such as 45.06, "
        "-71.90, 1480 ft"),
     .read = read_place},
    {"bush", "latitude",
     N_("degrees from -90 to 90, north of the equator positive, such as "
        "45.06"),
     .required = true, .read = read_number, AT(config_bush, latitude),
     RANGE(-90, 90)},
    {"bush", "longitude",
     N_("degrees from -180 to 180, west of Greenwich negative, such as "
        "-71.90"),
     .required = true, .read = read_number, AT(config_bush, longitude),
     RANGE(-180, 180)},
    {"bush", "elevation",
     N_("the height above the sea, from -430 m to 9000 m, such as 450 m or "
        "1480 ft"),
     .required = true, .read = read_quantity, AT(config_bush, elevation_m),
     RANGE(-430, 9000), .dimension = DIMENSION_HEIGHT_M},
    {"bush", "taps", N_("how many taps, a whole number from 1 to 100000"),
     .required = true, .read = read_integer, AT(config_bush, taps),
     RANGE(1, 100000)},
    {"bush", "species",
     N_("sugar maple, black maple, red maple, silver maple, box elder or "
        "Norway maple"),
     .read = read_species, AT(config_bush, species)},
    {"bush", "gathering",
     N_("buckets, gravity tubing, or vacuum with its strength, such as "
        "vacuum 22 inHg (1 to 30 inHg)"),
     .read = read_gathering},
    {"bush", "bucket",
     N_("what one bucket holds, from 1 L to 100 L, such as 4 gal"),
     .read = read_quantity, AT(config_bush, bucket_l), RANGE(1, 100),
     .dimension = DIMENSION_VOLUME_L},
    {"bush", "fall",
     N_("the fall of gravity tubing from the taps to its end, up to 300 m, "
        "such as 30 ft"),
     .read = read_quantity, AT(config_bush, fall_m), RANGE(0, 300),
     .dimension = DIMENSION_HEIGHT_M},
    {"bush", "tapped", N_("the day of tapping, such as 2026-03-01"),
     .read = read_date},

    {"sugarhouse", "storage",
     N_("what the tanks hold before boiling, such as 300 gal"),
     .read = read_quantity, AT(config_sugarhouse, storage_l), RANGE(1, 1e7),
     .dimension = DIMENSION_VOLUME_L},
    {"sugarhouse", "storage site", N_("shade, sun or inside"),
     .read = read_word, AT(config_sugarhouse, storage_site),
     .words = site_words},
    {"sugarhouse", "tanks",
     N_("in place of storage, up to four tanks in the order from the bush to "
        "the pan, each with its site, such as 300 gal shade, 100 gal inside"),
     .read = read_tanks},
    {"sugarhouse", "collecting",
     N_("how fast sap is carried in from the buckets, such as 150 gal/h"),
     .read = read_quantity, AT(config_sugarhouse, collecting_l_h),
     RANGE(1, 100000), .dimension = DIMENSION_RATE_L_H},
    {"sugarhouse", "hands",
     N_("how many people there are, 1 to 100; one alone does not collect while "
        "the fire burns"),
     .read = read_integer, AT(config_sugarhouse, hands), RANGE(1, 100)},
    {"sugarhouse", "evaporation",
     N_("what the evaporator takes off, such as 28 gal/h"),
     .read = read_quantity, AT(config_sugarhouse, evaporation_l_h),
     RANGE(0.5, 100000), .dimension = DIMENSION_RATE_L_H},
    {"sugarhouse", "pan",
     N_("the size of the pans, such as 2 x 6 ft, 60 x 180 cm or 1.1 m2"),
     .read = read_quantity, AT(config_sugarhouse, pan_area_m2),
     RANGE(0.01, 200), .dimension = DIMENSION_AREA_M2},
    {"sugarhouse", "type", N_("flat, raised flue or drop flue"),
     .read = read_word, AT(config_sugarhouse, pan_type), .words = pan_words},
    {"sugarhouse", "preheater", N_("yes or no"), .read = read_yes_no,
     AT(config_sugarhouse, preheater)},
    {"sugarhouse", "hood", N_("yes or no"), .read = read_yes_no,
     AT(config_sugarhouse, hood)},
    {"sugarhouse", "smallest boil",
     N_("the least sap worth lighting the fire for, such as 60 gal"),
     .read = read_quantity, AT(config_sugarhouse, smallest_boil_l),
     RANGE(0, 1e6), .dimension = DIMENSION_VOLUME_L},
    {"sugarhouse", "sweet left in the pan",
     N_("what stays in the pans between boils, such as 12 gal"),
     .read = read_quantity, AT(config_sugarhouse, pan_sweet_l), RANGE(0, 1e5),
     .dimension = DIMENSION_VOLUME_L},
    {"sugarhouse", "syrup density",
     N_("the density to draw off at, from 60 to 72 Brix, such as 66.9 Brix"),
     .read = read_quantity, AT(config_sugarhouse, syrup_brix), RANGE(60, 72),
     .dimension = DIMENSION_SUGAR_BRIX},
    {"sugarhouse", "attended from",
     N_("the hour from which somebody can be at the fire, such as 06:30"),
     .read = read_clock, AT(config_sugarhouse, attended_from_min),
     RANGE(0, 1439)},
    {"sugarhouse", "attended to",
     N_("the hour by which the fire must be out, such as 22:30; at most "
        "24:00"),
     .read = read_clock, AT(config_sugarhouse, attended_to_min),
     RANGE(1, 1440)},
    {"sugarhouse", "wood",
     N_("the syrup from a measure of stacked wood, such as 22 gal syrup per "
        "cord or 23 L/m3"),
     .read = read_quantity, AT(config_sugarhouse, syrup_l_per_m3_wood),
     RANGE(1, 500), .dimension = DIMENSION_SYRUP_PER_WOOD},

    {"sources", "use",
     N_("weather services in the order of preference, with commas, such as "
        "nws, metno, open-meteo"),
     .read = read_use},
    {"sources", "contact",
     N_("how the weather services can reach you, as they ask: a mail address "
        "or the address of a web page, such as ann@example.org"),
     .required = true, .read = read_contact, AT(config, contact)},
    {"sources", "station",
     N_("your own thermometer's file, such as "
        "file:/var/lib/sensors/bush.csv"),
     .read = read_station, AT(config, station)},
    {"sources", "SERVICE url",
     N_("the https address of a service's own or other instance, such as "
        "https://api.open-meteo.com"),
     .read = read_service_url},
    {"sources", "SERVICE key", N_("the access key that the service gave you"),
     .read = read_service_key, .max = 200, .secret = true},

    {"calendar", "publish",
     N_("the folder for what is published, such as /var/lib/thawbell/public"),
     .read = read_path, AT(config_publish, folder)},
    {"calendar", "listen",
     N_("the numeric address and port to serve on, such as 127.0.0.1:8420"),
     .read = read_listen, AT(config_publish, listen)},
    {"calendar", "token file",
     N_("a file that holds the secret part of the feed's address"),
     .read = read_path, AT(config_publish, token_file)},
    {"calendar", "address",
     N_("where readers find what is published, such as "
        "https://example.org/sap/"),
     .read = read_page_address, AT(config_publish, address)},
    {"calendar", "upload",
     N_("where what is published is sent: https://HOST/FOLDER/ (WebDAV) or "
        "sftp://HOST/FOLDER/"),
     .read = read_upload, AT(config_publish, upload)},
    {"calendar", "upload user",
     N_("the name to log in with there, at most 200 bytes"), .read = read_text,
     AT(config_publish, upload_user), .max = 200},
    {"calendar", "upload password file",
     N_("a file that holds the password, readable by its owner alone"),
     .read = read_path, AT(config_publish, upload_password_file)},
    {"calendar", "upload host key",
     N_("for sftp the host's key as ssh-keygen -lf tells it, such as "
        "SHA256:uNiVztksCsDhcc0u9e8BrMwM4Hq4yHFOeR4bW2Z6qYk"),
     .read = read_host_key, AT(config_publish, upload_host_key)},

    {"mail", "server",
     N_("smtps://HOST:PORT, smtp://HOST:PORT, or smtp://localhost"),
     .required = true, .read = read_mail_server, AT(config_mail, server)},
    {"mail", "user", N_("the name to log in with, at most 200 bytes"),
     .read = read_text, AT(config_mail, user), .max = 200},
    {"mail", "password file",
     N_("a file that holds the password, readable by its owner alone"),
     .read = read_path, AT(config_mail, password_file)},
    {"mail", "ca file",
     N_("a file of certificates to trust instead of the system's, for a mail "
        "server of your own"),
     .read = read_path, AT(config_mail, ca_file)},
    {"mail", "from", N_("one bare mail address, such as ann@example.org"),
     .required = true, .read = read_address, AT(config_mail, from)},
    {"mail", "to",
     N_("bare mail addresses, with commas, such as ann@example.org"),
     .required = true, .read = read_addresses},
    {"mail", "morning", N_("the hour of the morning mail, such as 05:30"),
     .read = read_clock, AT(config_mail, morning_min), RANGE(0, 1439)},
    {"mail", "alerts",
     N_("all, none, or some of: run starting, overflow, spoilage, freeze-up, "
        "plan changed, budding, forecast stale"),
     .read = read_alerts},
    {"mail", "quiet",
     N_("the hours in which no alert is sent, such as 22:00-05:00"),
     .read = read_quiet},
};

const struct config_key *config_keys(int *count)
{
    *count = (int)(sizeof keys / sizeof keys[0]);
    return keys;
}
