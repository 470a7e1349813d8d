/* Each key's messages, as the person reads them. */
#include "config_file.h"

/* A line, told in its section as line 2 of the file, and what is said of it:
 * NULL if nothing. */
struct message_case {
    int at; /* __LINE__ */
    const char *section, *line, *said;
};

#define OF_LATITUDE                                                            \
    "Allowed: degrees from -90 to 90, north of the equator positive, such as " \
    "45.06"
#define OF_TAPS "Allowed: how many taps, a whole number from 1 to 100000"
#define OF_ELEVATION                                                           \
    "Allowed: the height above the sea, from -430 m to 9000 m, such as 450 m " \
    "or 1480 ft"
#define OF_GATHERING                                                           \
    "Allowed: buckets, gravity tubing, or vacuum with its strength, such as "  \
    "vacuum 22 inHg (1 to 30 inHg)"
#define OF_SPECIES                                                             \
    "Allowed: sugar maple, black maple, red maple, silver maple, box elder "   \
    "or Norway maple"
#define OF_USE                                                                 \
    "Allowed: weather services in the order of preference, with commas, such " \
    "as nws, metno, open-meteo"
#define OF_ALERTS                                                              \
    "Allowed: all, none, or some of: run starting, overflow, spoilage, "       \
    "freeze-up, plan changed, budding, forecast stale"

#define THIRTY "000000000000000000000000000000"
#define NINETY THIRTY THIRTY THIRTY

static const struct message_case bush_cases[] = {
    {__LINE__, "bush north", "latitude = -90", NULL},
    {__LINE__, "bush north", "latitude = 90.0001",
     "latitude = 90.0001 is out of range. " OF_LATITUDE},
    {__LINE__, "bush north", "latitude = 45,06",
     "latitude = 45,06 is not understood. " OF_LATITUDE},
    {__LINE__, "bush north", "latitude = 0x2d",
     "latitude = 0x2d is not understood. " OF_LATITUDE},
    {__LINE__, "bush north", "latitude = nan",
     "latitude = nan is not understood. " OF_LATITUDE},
    {__LINE__, "bush north",
     "latitude =", "latitude has no value. " OF_LATITUDE},
    {__LINE__, "bush north", "longitude = -180.5",
     "longitude = -180.5 is out of range. Allowed: degrees from -180 to 180, "
     "west of Greenwich negative, such as -71.90"},
    {__LINE__, "bush north", "longitude = 71.90 W",
     "longitude = 71.90 W is not understood. Allowed: degrees from -180 to "
     "180, west of Greenwich negative, such as -71.90"},
    {__LINE__, "bush north", "elevation = 1480",
     "elevation = 1480: \"1480\" has no unit; write one of: m or ft"},
    {__LINE__, "bush north", "elevation = 1480 feet",
     "elevation = 1480 feet: \"feet\" is not a unit known here; write one of: "
     "m or ft"},
    {__LINE__, "bush north", "elevation = -430 m", NULL},
    {__LINE__, "bush north", "elevation = 9000 m", NULL},
    {__LINE__, "bush north", "elevation = 9001 m",
     "elevation = 9001 m is out of range. " OF_ELEVATION},
    {__LINE__, "bush north", "elevation = -431 m",
     "elevation = -431 m is out of range. " OF_ELEVATION},
    {__LINE__, "bush north", "taps = 1", NULL},
    {__LINE__, "bush north", "taps = 100000", NULL},
    {__LINE__, "bush north", "taps = 0", "taps = 0 is out of range. " OF_TAPS},
    {__LINE__, "bush north", "taps = 100001",
     "taps = 100001 is out of range. " OF_TAPS},
    {__LINE__, "bush north", "taps = 1.5",
     "taps = 1.5 is out of range. " OF_TAPS},
    {__LINE__, "bush north", "taps = many",
     "taps = many is not understood. " OF_TAPS},
    {__LINE__, "bush north", "species = Norway Maple", NULL},
    {__LINE__, "bush north", "species = suger maple",
     "species: \"suger maple\" is not known; did you mean \"sugar maple\"? "
     "" OF_SPECIES},
    {__LINE__, "bush north", "species = oak",
     "species: \"oak\" is not known. " OF_SPECIES},
    {__LINE__, "bush north", "species = white birch",
     "species = white birch: birch sap is driven by root pressure after the "
     "thaw, not by freeze and thaw; it is not forecast here"},
    {__LINE__, "bush north", "gathering = gravity tubing", NULL},
    {__LINE__, "bush north", "gathering = vacuum 74.5 kPa", NULL},
    {__LINE__, "bush north", "gathering = vacuum",
     "gathering = vacuum: the strength is missing, as in vacuum 22 inHg"},
    {__LINE__, "bush north", "gathering = vacuum 22",
     "gathering = vacuum 22: \"22\" has no unit; write one of: inHg, kPa, "
     "hPa or mmHg"},
    {__LINE__, "bush north", "gathering = vacuum 31 inHg",
     "gathering = vacuum 31 inHg is out of range. " OF_GATHERING},
    {__LINE__, "bush north", "gathering = vacum 22 inHg",
     "gathering: \"vacum 22 inHg\" is not known; did you mean \"vacuum\"? "
     "" OF_GATHERING},
    {__LINE__, "bush north", "gathering = pails",
     "gathering: \"pails\" is not known. " OF_GATHERING},
    {__LINE__, "bush north", "bucket = 4 pails",
     "bucket = 4 pails: \"pails\" is not a unit known here; write one of: L, "
     "ml, hl, m3, gal, qt or pt"},
    {__LINE__, "bush north", "tapped = 2026-02-30",
     "tapped = 2026-02-30 is not understood. Allowed: the day of tapping, "
     "such as 2026-03-01"},
    {__LINE__, "bush north", "tapt = 2026-03-01",
     "key \"tapt\" is not known in [bush north]; did you mean \"taps\"?"},
    {__LINE__, "bush north", "storage = 300 gal",
     "key \"storage\" belongs in [sugarhouse], not in [bush north]"},
    {__LINE__, "bush north", "colour of the barn = red",
     "key \"colour of the barn\" is not known in [bush north]; see thawbell "
     "check --keys"},
    /* A value of 99 bytes is shown whole, of one of 100 what fits. */
    {__LINE__, "bush north", "taps = " NINETY "123456789",
     "taps = " NINETY "123456789 is not understood. " OF_TAPS},
    {__LINE__, "bush north", "taps = " NINETY "1234567890",
     "taps = " NINETY "12345... is not understood. " OF_TAPS},
    {__LINE__, "bush north", "elevation = 1480\tft",
     "elevation = 1480\\x09ft: there is a tab or another control character "
     "in it"},
};

static const struct message_case operation_cases[] = {
    {__LINE__, "operation", "time zone = America/New_Yrok",
     "time zone: \"America/New_Yrok\" is not known; did you mean "
     "\"America/New_York\"? Allowed: a time zone by its IANA name, such as "
     "America/New_York"},
    {__LINE__, "operation", "time  zone = America/New_York", NULL},
    {__LINE__, "operation", "timezone = America/New_York",
     "key \"timezone\" is not known in [operation]; did you mean \"time "
     "zone\"?"},
    {__LINE__, "operation", "language = de",
     "language: \"de\" is not known. Allowed: en or fr"},
    {__LINE__, "operation", "units = imperial",
     "units: \"imperial\" is not known. Allowed: us or metric"},
    {__LINE__, "operation", "units = meter",
     "units: \"meter\" is not known. Allowed: us or metric"},
    {__LINE__, "operation", "units = metrik",
     "units: \"metrik\" is not known; did you mean \"metric\"? Allowed: us "
     "or metric"},
    {__LINE__, "operation", "name = a\xC2\x9Bz",
     "name = a\\xC2\\x9Bz: there is a tab or another control character in "
     "it"},
    {__LINE__, "operation", "name = a\xE2\x80\xA8z",
     "name = a\\xE2\\x80\\xA8z: there is a tab or another control character "
     "in it"},
    {__LINE__, "operation", "name = \xC3\x89rabli\xC3\xA8re", NULL},
};

static const struct message_case house_cases[] = {
    {__LINE__, "sugarhouse", "storage = 300",
     "storage = 300: \"300\" has no unit; write one of: L, ml, hl, m3, gal, "
     "qt or pt"},
    {__LINE__, "sugarhouse", "storage = 300 gal", NULL},
    {__LINE__, "sugarhouse", "storage site = barn",
     "storage site: \"barn\" is not known. Allowed: shade, sun or inside"},
    {__LINE__, "sugarhouse", "evaporation = 28 gal",
     "evaporation = 28 gal: \"gal\" is not a unit known here; write one of: "
     "L/h or gal/h"},
    {__LINE__, "sugarhouse", "pan = 60 x 180 cm", NULL},
    {__LINE__, "sugarhouse", "pan = 2 by 6 ft",
     "pan = 2 by 6 ft: \"by 6 ft\" is not a unit known here; write one of: "
     "m2, ft2, or two sides such as 2 x 6 ft"},
    {__LINE__, "sugarhouse", "type = flat",
     "type needs the size of the pans with it, as in pan = 2 x 6 ft"},
    {__LINE__, "sugarhouse", "preheater = maybe",
     "preheater = maybe is not understood. Allowed: yes or no"},
    {__LINE__, "sugarhouse", "syrup density = 59.9 Brix",
     "syrup density = 59.9 Brix is out of range. Allowed: the density to "
     "draw off at, from 60 to 72 Brix, such as 66.9 Brix"},
    {__LINE__, "sugarhouse", "storage = 300 gal\ntanks = 300 gal shade",
     "storage and tanks say the same in two ways; keep one of them"},
    {__LINE__, "sugarhouse", "tanks = 300 shade",
     "tanks = 300 shade: \"300\" has no unit; write one of: L, ml, hl, m3, "
     "gal, "
     "qt or pt"},
    {__LINE__, "sugarhouse", "tanks = 1 L, 2 L, 3 L, 4 L, 5 L",
     "tanks = 1 L, 2 L, 3 L, 4 L, 5 L is not understood. Allowed: in place of "
     "storage, up to four tanks in the order from the bush to the pan, each "
     "with its site, such as 300 gal shade, 100 gal inside"},
    {__LINE__, "sugarhouse", "tanks = 300 gal attic",
     "tanks = 300 gal attic: \"gal attic\" is not a unit known here; write one "
     "of: L, ml, hl, m3, gal, qt or pt"},
    {__LINE__, "sugarhouse", "hands = 0",
     "hands = 0 is out of range. Allowed: how many people there are, 1 to 100; "
     "one alone does not collect while the fire burns"},
    {__LINE__, "sugarhouse", "attended from = 6",
     "attended from = 6 is not understood. Allowed: the hour from which "
     "somebody can be at the fire, such as 06:30"},
    {__LINE__, "sugarhouse", "attended from = 24:00",
     "attended from = 24:00 is out of range. Allowed: the hour from which "
     "somebody can be at the fire, such as 06:30"},
    {__LINE__, "sugarhouse", "attended to = 05:00",
     "attended to (05:00) must come after attended from (06:00) on the same "
     "day; the latest is 24:00"},
    {__LINE__, "sugarhouse", "attended to = 24:00", NULL},
    {__LINE__, "sugarhouse", "attended to = 24:01",
     "attended to = 24:01 is not understood. Allowed: the hour by which the "
     "fire must be out, such as 22:30; at most 24:00"},
    {__LINE__, "sugarhouse", "wood = 22 gal syrup per cord", NULL},
    {__LINE__, "sugarhouse", "wood = 22 gal",
     "wood = 22 gal: \"gal\" is not a unit known here; write one of: gal "
     "syrup per cord or L/m3"},
};

static const struct message_case source_cases[] = {
    {__LINE__, "sources", "use = nws, metno ,open-meteo", NULL},
    {__LINE__, "sources", "use = nws, metnno",
     "use: \"metnno\" is not known; did you mean \"metno\"? " OF_USE},
    {__LINE__, "sources", "use = nws,, metno",
     "use: \"\" is not known. " OF_USE},
    {__LINE__, "sources", "use = nws, nws",
     "use = nws, nws: the same service is named twice"},
    {__LINE__, "sources", "use = open-meteo-ensemble",
     "use: \"open-meteo-ensemble\" is not known. " OF_USE},
    {__LINE__, "sources", "contact = https://bush.test/about", NULL},
    {__LINE__, "sources", "contact = call me",
     "contact = call me: this is neither a mail address (with an @) nor the "
     "address of a web page (with https://)"},
    {__LINE__, "sources", "contact = Ann (ann@bush.test)",
     "contact = Ann (ann@bush.test): leave out brackets, quotes and "
     "backslashes"},
    {__LINE__, "sources", "contact = j\xC3\xB6@bush.test",
     "contact = j\xC3\xB6@bush.test: only plain ASCII can be sent to the "
     "services"},
    {__LINE__, "sources", "station = file:/var/lib/bush.csv", NULL},
    {__LINE__, "sources", "station = /var/lib/bush.csv",
     "station = /var/lib/bush.csv is not understood. Allowed: your own "
     "thermometer's file, such as file:/var/lib/sensors/bush.csv"},
    {__LINE__, "sources", "station = file://host/bush.csv",
     "station = file://host/bush.csv: a file of this machine is written with "
     "one slash or three, as in file:/var/lib/sensors/bush.csv"},
    {__LINE__, "sources", "metno url = http://weather.bush.test",
     "metno url = http://weather.bush.test: only https:// is safe; plain "
     "http:// is for this machine itself, as in http://127.0.0.1:8080"},
    {__LINE__, "sources", "metno url = http://127.0.0.1:8080", NULL},
    {__LINE__, "sources", "metno url = http://[::1]:8080/", NULL},
    {__LINE__, "sources", "metno url = http://10.0.0.1",
     "metno url = http://10.0.0.1: only https:// is safe; plain http:// is "
     "for this machine itself, as in http://127.0.0.1:8080"},
    {__LINE__, "sources", "metno url = http://127.0.0.1.bush.test",
     "metno url = http://127.0.0.1.bush.test: only https:// is safe; plain "
     "http:// is for this machine itself, as in http://127.0.0.1:8080"},
    {__LINE__, "sources", "metno url = https://a:b@bush.test",
     "metno url = https://a:b@bush.test is not understood. Allowed: the "
     "https address of a service's own or other instance, such as "
     "https://api.open-meteo.com"},
    {__LINE__, "sources", "metno url = https://bush.test:70000",
     "metno url = https://bush.test:70000 is not understood. Allowed: the "
     "https address of a service's own or other instance, such as "
     "https://api.open-meteo.com"},
    {__LINE__, "sources", "metno key = S3CRET word",
     "metno key = ***: an access key is one word of plain letters, digits "
     "and signs, at most 200 bytes"},
    {__LINE__, "sources", "open-meto url = https://bush.test",
     "key \"open-meto url\" is not known in [sources]; did you mean "
     "\"open-meteo url\"?"},
};

static const struct message_case publish_cases[] = {
    {__LINE__, "calendar", "listen = 127.0.0.1:8420", NULL},
    {__LINE__, "calendar", "listen = [::1]:8420", NULL},
    {__LINE__, "calendar", "listen = 8420",
     "listen = 8420 is not understood. Allowed: the numeric address and port "
     "to serve on, such as 127.0.0.1:8420"},
    {__LINE__, "calendar", "listen = 127.0.0.1:+8420",
     "listen = 127.0.0.1:+8420 is not understood. Allowed: the numeric address "
     "and port to serve on, such as 127.0.0.1:8420"},
    {__LINE__, "calendar", "listen = ::1:8420",
     "listen = ::1:8420 is not understood. Allowed: the numeric address and "
     "port to serve on, such as 127.0.0.1:8420"},
    {__LINE__, "calendar", "listen = 127.0.0.1:0",
     "listen = 127.0.0.1:0 is not understood. Allowed: the numeric address "
     "and port to serve on, such as 127.0.0.1:8420"},
    {__LINE__, "calendar", "address = http://sugarhouse.local:8420/x", NULL},
    {__LINE__, "calendar", "address = webcal://bush.test/",
     "address = webcal://bush.test/ is not understood. Allowed: where readers "
     "find what is published, such as https://example.org/sap/"},
    {__LINE__, "calendar", "upload = https://bush.test/dav", NULL},
    {__LINE__, "calendar", "upload = http://127.0.0.1:8080/dav/", NULL},
    {__LINE__, "calendar", "upload = http://bush.test/dav/",
     "upload = http://bush.test/dav/: only https:// and sftp:// are safe; "
     "plain http:// is for this machine itself"},
    {__LINE__, "calendar", "upload = ftp://bush.test/",
     "upload = ftp://bush.test/ is not understood. Allowed: where what is "
     "published is sent: https://HOST/FOLDER/ (WebDAV) or "
     "sftp://HOST/FOLDER/"},
    {__LINE__, "calendar", "upload = sftp://ann@bush.test/",
     "upload = sftp://ann@bush.test/: the name to log in with belongs into "
     "upload user"},
    {__LINE__, "calendar", "upload user = ann",
     "upload user needs upload beside it"},
    {__LINE__, "calendar",
     "upload password file = x\nupload = https://bush.test/",
     "upload password file needs upload user beside it"},
    {__LINE__, "calendar",
     "upload = sftp://bush.test/\nupload user = ann\n"
     "upload password file = x",
     "upload needs upload host key beside it"},
    {__LINE__, "calendar", "upload host key = 12:34\nupload = https://b.test/",
     "upload host key = 12:34 is not understood. Allowed: for sftp the host's "
     "key as ssh-keygen -lf tells it, such as "
     "SHA256:uNiVztksCsDhcc0u9e8BrMwM4Hq4yHFOeR4bW2Z6qYk"},
    {__LINE__, "mail", "server = mail.bush.test",
     "server = mail.bush.test is not understood. Allowed: smtps://HOST:PORT, "
     "smtp://HOST:PORT, or smtp://localhost"},
    {__LINE__, "mail", "from = Ann <ann@bush.test>",
     "from = Ann <ann@bush.test>: write the bare address, as in "
     "ann@example.org"},
    {__LINE__, "mail", "from = ann", "from = ann: there is no @ in it"},
    {__LINE__, "mail", "from = a@b@c",
     "from = a@b@c: there is more than one @ in it"},
    {__LINE__, "mail", "from = j\xC3\xB6@bush.test",
     "from = j\xC3\xB6@bush.test: the part before the @ must be plain ASCII: "
     "many mail servers take nothing else"},
    {__LINE__, "mail", "from = ann@b\xC3\xBCsh.test",
     "from = ann@b\xC3\xBCsh.test: write the domain in its ASCII form "
     "(xn--...)"},
    {__LINE__, "mail", "from = .ann@bush.test",
     "from = .ann@bush.test: the part before the @ is no mail name"},
    {__LINE__, "mail", "from = @bush.test",
     "from = @bush.test: the part before the @ is no mail name"},
    {__LINE__, "mail", "from = ann@",
     "from = ann@: the part after the @ is no domain name"},
    {__LINE__, "mail", "from = ann@-bush.test",
     "from = ann@-bush.test: the part after the @ is no domain name"},
    {__LINE__, "mail", "to = ann@bush.test, bob",
     "to = bob: there is no @ in it"},
    {__LINE__, "mail", "to = ann@bush.test, bob@bush.test", NULL},
    {__LINE__, "mail", "alerts = overflow, run startin",
     "alerts: \"run startin\" is not known; did you mean \"run starting\"? "
     "" OF_ALERTS},
    {__LINE__, "mail", "alerts = none", NULL},
    {__LINE__, "mail", "quiet = 22:00 - 5:00", NULL},
    {__LINE__, "mail", "quiet = 22:00",
     "quiet = 22:00 is not understood. Allowed: the hours in which no alert "
     "is sent, such as 22:00-05:00"},
    {__LINE__, "mail", "quiet = 22-05",
     "quiet = 22-05 is not understood. Allowed: the hours in which no alert "
     "is sent, such as 22:00-05:00"},
    {__LINE__, "mail", "quiet = 00:00-24:00",
     "quiet = 00:00-24:00: the two hours are the same; leave quiet out for "
     "none, or write alerts = none"},
    {__LINE__, "mail", "user = ann", "user needs password file beside it"},
    {__LINE__, "mail", "morning = 25:00",
     "morning = 25:00 is not understood. Allowed: the hour of the morning "
     "mail, such as 05:30"},
};

static const char *const needed[][2] = {
    {"bush north", "latitude = 45.06"},
    {"bush north", "longitude = -71.90"},
    {"bush north", "elevation = 450 m"},
    {"bush north", "taps = 140"},
    {"operation", "time zone = America/New_York"},
    {"sources", "contact = ann@bush.test"},
    {"sources", "use = metno"},
    {"mail", "server = smtp://localhost"},
    {"mail", "from = ann@bush.test"},
    {"mail", "to = ann@bush.test"},
};

static bool same_key(const char *a, const char *b)
{
    size_t length = strcspn(a, "=");
    return strncmp(a, b, length) == 0;
}

/* The case's section with its line first, what else is needed after it. */
static void build(const struct message_case *one, struct text *out)
{
    static const char *const others[] = {"bush north", "operation", "sources"};
    text_addf(out, "[%s]\n%s\n", one->section, one->line);
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
        if (strcmp(needed[i][0], one->section) == 0 &&
            !same_key(needed[i][1], one->line) &&
            !(strncmp(one->line, "time", 4) == 0 && needed[i][1][0] == 't' &&
              needed[i][1][4] == ' '))
            text_addf(out, "%s\n", needed[i][1]);
    for (size_t j = 0; j < sizeof others / sizeof others[0]; j++) {
        if (strcmp(others[j], one->section) == 0)
            continue;
        text_addf(out, "[%s]\n", others[j]);
        for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++)
            if (strcmp(needed[i][0], others[j]) == 0)
                text_addf(out, "%s\n", needed[i][1]);
    }
}

static void check_case(const struct message_case *one)
{
    struct text text, said;
    text_init(&text, 10000);
    text_init(&said, 10000);
    build(one, &text);
    if (one->said)
        text_addf(&said, "t.conf:2: %s\n", one->said);
    struct config_file file = file_read_text(text.bytes);
    if (strcmp(file.errors, said.bytes) != 0)
        fail_msg("case of line %d\nsaid:     %sexpected: %s", one->at,
                 file.errors, said.bytes);
    file_free(&file);
    text_free(&text);
    text_free(&said);
}

#define CHECK_ALL(cases)                                                       \
    for (size_t i = 0; i < sizeof(cases) / sizeof(cases)[0]; i++)              \
    check_case(&(cases)[i])

static void bush_keys(void **state)
{
    (void)state;
    CHECK_ALL(bush_cases);
}

static void operation_keys(void **state)
{
    (void)state;
    CHECK_ALL(operation_cases);
}

static void sugarhouse_keys(void **state)
{
    (void)state;
    CHECK_ALL(house_cases);
}

static void source_keys(void **state)
{
    (void)state;
    CHECK_ALL(source_cases);
}

static void publishing_keys(void **state)
{
    (void)state;
    CHECK_ALL(publish_cases);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bush_keys),       cmocka_unit_test(operation_keys),
        cmocka_unit_test(sugarhouse_keys), cmocka_unit_test(source_keys),
        cmocka_unit_test(publishing_keys),
    };
    return cmocka_run_group_tests(tests, file_setup, file_teardown);
}
