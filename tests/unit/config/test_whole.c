/* Whole files: values, defaults, what is missing, and all errors in one
 * run. */
#include "base/memory.h"
#include "config_file.h"

static const char every_key[] = "[operation]\n"
                                "name = \xC3\x89rabli\xC3\xA8re du Nord\n"
                                "time zone = America/Toronto\n"
                                "language = fr\n"
                                "units = metric\n"
                                "models = /opt/models\n"
                                "spool = /var/spool/notes\n"
                                "[bush north]\n"
                                "latitude = 45.0612\n"
                                "longitude = -71.9034\n"
                                "elevation = 1480 ft ; by the map\n"
                                "species = red maple\n"
                                "taps = 140\n"
                                "gathering = vacuum 22 inHg\n"
                                "bucket = 4 gal\n"
                                "fall = 30 ft\n"
                                "tapped = 2026-03-01\n"
                                "[sugarhouse]\n"
                                "storage = 300 gal\n"
                                "storage site = inside\n"
                                "collecting = 150 gal/h\n"
                                "hands = 2\n"
                                "evaporation = 28 gal/h\n"
                                "pan = 2 x 6 ft\n"
                                "type = drop flue\n"
                                "preheater = yes\n"
                                "hood = yes\n"
                                "smallest boil = 60 gal\n"
                                "sweet left in the pan = 12 gal\n"
                                "syrup density = 66.5 Brix\n"
                                "attended from = 06:30\n"
                                "attended to = 22:30\n"
                                "wood = 22 gal syrup per cord\n"
                                "[sources]\n"
                                "use = nws, open-meteo\n"
                                "contact = ann@bush.test\n"
                                "open-meteo url = https://weather.bush.test/\n"
                                "open-meteo key = S3CRET\n"
                                "station = file:///var/lib/bush.csv\n"
                                "[calendar]\n"
                                "publish = /srv/public\n"
                                "listen = [::1]:8420\n"
                                "token file = /etc/thawbell/token\n"
                                "address = https://bush.test/sap\n"
                                "upload = sftp://web.bush.test:2222/srv/sap\n"
                                "upload user = ann\n"
                                "upload password file = /etc/thawbell/web\n"
                                "upload host key = SHA256:uNiVztksCsDhcc0u9e8B"
                                "rMwM4Hq4yHFOeR4bW2Z6qYk\n"
                                "[mail]\n"
                                "server = smtps://mail.bush.test:465\n"
                                "user = ann\n"
                                "password file = /etc/thawbell/password\n"
                                "ca file = /etc/thawbell/mail-ca.pem\n"
                                "from = ann@bush.test\n"
                                "to = ann@bush.test, bob@bush.test\n"
                                "morning = 06:15\n"
                                "alerts = overflow, freeze-up\n"
                                "quiet = 22:00-05:00\n";

static void check_bush(const struct config_bush *bush)
{
    assert_string_equal(bush->name, "north");
    assert_near(bush->latitude, 45.0612, 0);
    assert_near(bush->longitude, -71.9034, 0);
    /* Factors of NIST SP 811 (2008) appendix B: 0.3048 m/ft, 3.785 411 784
     * L/gal, 3.386 389 kPa/inHg. */
    assert_near(bush->elevation_m, 451.104, 1e-9);
    assert_near(bush->vacuum_kpa, 74.500558, 1e-9);
    assert_near(bush->bucket_l, 15.141647136, 1e-9);
    assert_near(bush->fall_m, 9.144, 1e-9);
    assert_int_equal(bush->species, SPECIES_RED_MAPLE);
    assert_int_equal(bush->gathering, GATHERING_VACUUM);
    assert_int_equal(bush->taps, 140);
    assert_true(bush->has_tapped);
    assert_int_equal(bush->tapped.day, 1);
}

static void check_house(const struct config_sugarhouse *house)
{
    assert_true(house->present && house->preheater && house->hood);
    assert_int_equal(house->storage_site, STORAGE_INSIDE);
    assert_int_equal(house->pan_type, PAN_DROP_FLUE);
    assert_near(house->storage_l, 1135.6235352, 1e-9);
    assert_int_equal(house->tank_count, 1);
    assert_near(house->tanks[0].size_l, house->storage_l, 0);
    assert_int_equal(house->tanks[0].site, STORAGE_INSIDE);
    assert_near(house->collecting_l_h, 567.8117676, 1e-9);
    assert_int_equal(house->hands, 2);
    assert_near(house->evaporation_l_h, 105.991529952, 1e-9);
    assert_near(house->pan_area_m2, 1.11483648, 1e-9);
    assert_near(house->smallest_boil_l, 227.12470704, 1e-9);
    assert_near(house->pan_sweet_l, 45.424941408, 1e-9);
    assert_near(house->syrup_brix, 66.5, 0);
    /* 22 gal a cord; cord 3.624 556 m3 (same source). */
    assert_near(house->syrup_l_per_m3_wood, 22.976348, 1e-6);
    assert_int_equal(house->attended_from_min, 390);
    assert_int_equal(house->attended_to_min, 1350);
}

static void check_mail(const struct config_mail *mail)
{
    assert_true(mail->present && mail->has_quiet);
    assert_string_equal(mail->server, "smtps://mail.bush.test:465");
    assert_string_equal(mail->user, "ann");
    assert_string_equal(mail->password_file, "/etc/thawbell/password");
    assert_string_equal(mail->ca_file, "/etc/thawbell/mail-ca.pem");
    assert_string_equal(mail->from, "ann@bush.test");
    assert_int_equal(mail->to_count, 2);
    assert_string_equal(mail->to[1], "bob@bush.test");
    assert_int_equal(mail->morning_min, 375);
    assert_int_equal(mail->alerts, ALERT_OVERFLOW | ALERT_FREEZE_UP);
    assert_int_equal(mail->quiet_from_min, 1320);
    assert_int_equal(mail->quiet_to_min, 300);
}

static void check_upload(const struct config_publish *publish)
{
    assert_string_equal(publish->address, "https://bush.test/sap/");
    assert_string_equal(publish->upload, "sftp://web.bush.test:2222/srv/sap/");
    assert_string_equal(publish->upload_user, "ann");
    assert_string_equal(publish->upload_password_file, "/etc/thawbell/web");
    assert_string_equal(publish->upload_host_key,
                        "uNiVztksCsDhcc0u9e8BrMwM4Hq4yHFOeR4bW2Z6qYk");
}

static void every_key_is_read(void **state)
{
    (void)state;
    struct config_file file = file_read_text(every_key);
    assert_string_equal(file.errors, "");
    assert_string_equal(file.assumed, "");
    const struct config *config = file.config;
    assert_string_equal(config->path, "t.conf");
    assert_string_equal(config->name, "\xC3\x89rabli\xC3\xA8re du Nord");
    assert_string_equal(config->slug, "erabliere-du-nord");
    assert_string_equal(config->zone_name, "America/Toronto");
    assert_string_equal(config->language, "fr");
    assert_int_equal(config->units, UNITS_METRIC);
    assert_string_equal(config->models, "/opt/models");
    assert_string_equal(config->spool, "/var/spool/notes");
    assert_int_equal(config->bush_count, 1);
    check_bush(&config->bushes[0]);
    check_house(&config->sugarhouse);
    assert_int_equal(config->source_count, 2);
    assert_string_equal(config->sources[0].name, "nws");
    assert_null(config->sources[0].base_url);
    assert_string_equal(config->sources[1].base_url,
                        "https://weather.bush.test");
    assert_string_equal(config->sources[1].key, "S3CRET");
    assert_string_equal(config->contact, "ann@bush.test");
    assert_string_equal(config->station, "/var/lib/bush.csv");
    assert_string_equal(config->publish.folder, "/srv/public");
    assert_string_equal(config->publish.listen, "[::1]:8420");
    assert_string_equal(config->publish.token_file, "/etc/thawbell/token");
    check_upload(&config->publish);
    check_mail(&config->mail);
    file_free(&file);
}

/* The file above must hold every key of the table, or a new key would go
 * unread here. */
static void every_key_is_in_the_test(void **state)
{
    (void)state;
    int count;
    const struct config_key *keys = config_keys(&count);
    for (int i = 0; i < count; i++) {
        const char *name = keys[i].key;
        /* In place of others; tests of their own. */
        if (strcmp(name, "place") == 0 || strcmp(name, "tanks") == 0)
            continue;
        if (strncmp(name, "SERVICE", 7) == 0)
            name += 7;
        char line[100];
        snprintf(line, sizeof line, "%s = ", name);
        if (!strstr(every_key, line))
            fail_msg("%s is not in the test", keys[i].key);
    }
}

/* Tanks from the bush to the pan; one without a site stands in the shade. */
static void tanks_are_read(void **state)
{
    (void)state;
    struct config_file file = file_read_text(
        "[bush north]\nlatitude = 45.06\nlongitude = -71.90\n"
        "elevation = 450 m\ntaps = 140\n"
        "[sugarhouse]\ntanks = 300 gal sun, 1000 L, 100 gal inside\n"
        "evaporation = 28 gal/h\n"
        "[sources]\ncontact = ann@bush.test\n");
    const struct config_sugarhouse *house;
    assert_non_null(file.config);
    house = &file.config->sugarhouse;
    assert_int_equal(house->tank_count, 3);
    assert_near(house->tanks[0].size_l, 1135.6235352, 1e-9);
    assert_int_equal(house->tanks[0].site, STORAGE_SUN);
    assert_near(house->tanks[1].size_l, 1000, 1e-9);
    assert_int_equal(house->tanks[1].site, STORAGE_SHADE);
    assert_int_equal(house->tanks[2].site, STORAGE_INSIDE);
    assert_near(house->storage_l, 1135.6235352 + 1000 + 378.5411784, 1e-6);
    file_free(&file);
}

/* Takes out the sentence on the time zone, which depends on the machine. */
static void drop_zone_sentence(char *assumed)
{
    char *start = strstr(assumed, "The time zone is America/");
    assert_non_null(start);
    char *end = strchr(start, '\n') + 1;
    memmove(start, end, strlen(end) + 1);
}

static void five_lines_are_enough(void **state)
{
    (void)state;
    struct config_file file = file_read_text("[bush north]\n"
                                             "latitude = 45.06\n"
                                             "longitude = -71.90\n"
                                             "elevation = 1480 ft\n"
                                             "taps = 140\n"
                                             "[sources]\n"
                                             "contact = ann@bush.test\n");
    assert_string_equal(file.errors, "");
    drop_zone_sentence(file.assumed);
    assert_string_equal(
        file.assumed,
        "The weather comes from open-meteo and metno.\n"
        "The operation is called t, after its file.\n"
        "Units are those of the US, as the elevation is in feet.\n"
        "The trees of bush north are sugar maples.\n"
        "Bush north is gathered in buckets.\n");
    assert_int_equal(file.config->source_count, 2);
    assert_string_equal(file.config->sources[0].name, "open-meteo");
    assert_string_equal(file.config->sources[1].name, "metno");
    assert_string_equal(file.config->language, "en");
    assert_int_equal(file.config->units, UNITS_US);
    assert_false(file.config->mail.present);
    assert_false(file.config->sugarhouse.present);
    file_free(&file);
}

/* Units may be written in capitals, and feet are feet then too. */
static void feet_in_capitals(void **state)
{
    (void)state;
    struct config_file file = file_read_text(
        "[bush north]\nplace = 45.06, -71.90, 1480 FT\ntaps = 140\n"
        "[sources]\ncontact = ann@bush.test\n");
    assert_string_equal(file.errors, "");
    assert_int_equal(file.config->units, UNITS_US);
    file_free(&file);
}

/* A machine whose own zone is Hawaii's or a neighbour would take that one. */
static void no_zone_to_assume(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        "[bush north]\nlatitude = -45\nlongitude = -150\nelevation = 1 m\n"
        "taps = 1\n",
        file_sources, NULL);
    assert_string_equal(file.errors,
                        "t.conf:1: there is no time zone, and this machine's "
                        "own does not go with the bush; add it to "
                        "[operation], as in time zone = America/New_York\n");
    file_free(&file);
}

static void sections_have_defaults(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        file_operation, file_bush, file_sources, "[sugarhouse]\n",
        "storage = 300 gal\npan = 2 x 6 ft\n[mail]\n",
        "server = smtp://localhost\nfrom = ann@bush.test\n",
        "to = ann@bush.test\n", NULL);
    assert_string_equal(file.errors, "");
    assert_string_equal(file.assumed,
                        "The trees of bush north are sugar maples.\n"
                        "Bush north is gathered in buckets.\n"
                        "Nobody is at the fire before 06:00.\n"
                        "The fire must be out by 22:00.\n"
                        "The storage tanks stand in the shade.\n"
                        "The pan is flat.\n"
                        "For the plan, a bucket of unknown size holds 4 gal.\n"
                        "Sap is carried in from the buckets at 150 gal an "
                        "hour.\n"
                        "One person is at work, and does not collect while the "
                        "fire burns.\n"
                        "The morning mail goes out at 05:30.\n");
    assert_near(file.config->sugarhouse.syrup_brix, 66.9, 0);
    assert_int_equal(file.config->sugarhouse.attended_from_min, 360);
    assert_int_equal(file.config->sugarhouse.attended_to_min, 1320);
    assert_int_equal(file.config->mail.morning_min, 330);
    assert_int_equal(file.config->mail.alerts, 0x7F);
    file_free(&file);
}

/* Without a plan, or without buckets, nobody goes round. */
static void rounds_are_assumed_where_there_are_some(void **state)
{
    static const struct {
        const char *bush, *house;
        bool carried, alone, bucket;
    } rounds[] = {
        {"", "storage = 300 gal\n", false, false, false},
        {"", "pan = 2 x 6 ft\n", false, false, false},
        {"gathering = gravity tubing\n",
         "storage = 300 gal\nevaporation = 28 gal/h\n", false, false, false},
        {"", "storage = 300 gal\nevaporation = 28 gal/h\nhands = 2\n", true,
         false, true},
        {"bucket = 4 gal\n",
         "tanks = 9 L\nevaporation = 28 gal/h\ncollecting = 90 gal/h\n", false,
         true, false},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rounds / sizeof rounds[0]; i++) {
        struct config_file file = file_read_parts(
            file_bush, "species = sugar maple\n", rounds[i].bush, file_sources,
            "[operation]\nname = A\nunits = metric\n"
            "time zone = America/New_York\n"
            "[sugarhouse]\nattended from = 06:00\nattended to = 22:00\n",
            rounds[i].house, NULL);
        assert_string_equal(file.errors, "");
        bool carried = strstr(file.assumed,
                              "carried in from the buckets at 570 L an hour");
        bool alone = strstr(file.assumed, "One person is at work");
        bool bucket =
            strstr(file.assumed, "a bucket of unknown size holds 15 L");
        if (carried != rounds[i].carried || alone != rounds[i].alone ||
            bucket != rounds[i].bucket)
            fail_msg("case %zu said: %s", i, file.assumed);
        file_free(&file);
    }
}

static void expect(const char *text, const char *errors)
{
    struct config_file file = file_read_text(text);
    assert_string_equal(file.errors, errors);
    file_free(&file);
}

static void missing_is_named_with_its_section(void **state)
{
    (void)state;
    expect("", "t.conf:1: there is no bush; add [bush NAME] with place "
               "and taps\n"
               "t.conf:1: there is no contact, which the weather services ask "
               "for; add [sources] with a mail address or the address of a "
               "web page, as in contact = ann@example.org\n");
    expect("[bush north]\nlatitude = 45\n\n[bush brook]\nlongitude = -71\n"
           "taps = 1\nelevation = 1 m\n[sources]\n[mail]\n",
           "t.conf:1: [bush north] has no longitude. Needed: degrees from "
           "-180 to 180, west of Greenwich negative, such as -71.90\n"
           "t.conf:1: [bush north] has no elevation. Needed: the height above "
           "the sea, from -430 m to 9000 m, such as 450 m or 1480 ft\n"
           "t.conf:1: [bush north] has no taps. Needed: how many taps, a "
           "whole number from 1 to 100000\n"
           "t.conf:4: [bush brook] has no latitude. Needed: degrees from -90 "
           "to 90, north of the equator positive, such as 45.06\n"
           "t.conf:8: [sources] has no contact. Needed: how the weather "
           "services can reach you, as they ask: a mail address or the "
           "address of a web page, such as ann@example.org\n"
           "t.conf:9: [mail] has no server. Needed: smtps://HOST:PORT, "
           "smtp://HOST:PORT, or smtp://localhost\n"
           "t.conf:9: [mail] has no from. Needed: one bare mail address, such "
           "as ann@example.org\n"
           "t.conf:9: [mail] has no to. Needed: bare mail addresses, with "
           "commas, such as ann@example.org\n");
}

static void all_errors_come_in_one_run_by_line(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        file_bush, file_sources, "[operation]\nunits = imperial\nname = A\n",
        "name = B\nwhat is this\nlanguage = xx\n[operaton]\nname = C\n",
        "[bush]\ntaps = 3\n[bush north]\nbucket = 1 gal\n",
        "[buhs brook]\n[cellar]\n[sugar house]\n", NULL);
    assert_string_equal(
        file.errors,
        "t.conf:10: units: \"imperial\" is not known. Allowed: us or metric\n"
        "t.conf:12: \"name\" was already set on line 11\n"
        "t.conf:13: \"what is this\" is neither [section] nor key = value\n"
        "t.conf:14: language: \"xx\" is not known. Allowed: en or fr\n"
        "t.conf:15: section [operaton] is not known; did you mean "
        "[operation]? Known: operation, bush NAME, sugarhouse, sources, "
        "calendar, mail\n"
        "t.conf:17: [bush] needs a name, as in [bush north]\n"
        "t.conf:19: section [bush north] was already begun on line 1\n"
        "t.conf:21: section [buhs brook] is not known; did you mean [bush "
        "NAME]? Known: operation, bush NAME, sugarhouse, sources, calendar, "
        "mail\n"
        "t.conf:22: section [cellar] is not known. Known: operation, bush "
        "NAME, sugarhouse, sources, calendar, mail\n"
        "t.conf:23: section [sugar house] is not known; did you mean "
        "[sugarhouse]? Known: operation, bush NAME, sugarhouse, sources, "
        "calendar, mail\n");
    file_free(&file);
}

/* Notes take a bush's name without regard to capitals. */
static void names_differ_by_more_than_capitals(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        file_bush, file_sources, "[bush North]\ntaps = 3\n",
        "[bush northern]\nplace = 45, -72, 300 m\ntaps = 1\n", NULL);
    assert_string_equal(file.errors,
                        "t.conf:9: bush North has the name of bush north on "
                        "line 1 but for capitals; two bushes need two names\n");
    file_free(&file);
}

/* U+009B begins a terminal's commands, as ESC [ does (ECMA-48: CSI). */
static void names_hold_no_controls(void **state)
{
    (void)state;
    struct config_file file =
        file_read_parts(file_bush, file_sources,
                        "[bush a\xC2\x9B"
                        "2Jb]\n",
                        "place = 45, -72, 300 m\ntaps = 1\n", NULL);
    assert_string_equal(
        file.errors, "t.conf:9: the bush's name holds a control character\n");
    file_free(&file);
}

static void what_is_there_and_wrong_is_told_once(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        file_bush, file_sources, "[calendar]\nupload = ftp://bush.test/\n",
        "upload user = ann\nupload password file = x\n", NULL);
    assert_string_equal(
        file.errors,
        "t.conf:10: upload = ftp://bush.test/ is not understood. Allowed: "
        "where what is published is sent: https://HOST/FOLDER/ (WebDAV) or "
        "sftp://HOST/FOLDER/\n");
    file_free(&file);
}

static void place_stands_for_three_keys(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        file_sources, "[bush north]\nplace = 45.06, -71.90, 1480 ft\n",
        "taps = 140\n[bush brook]\nplace=46,-72,300 m\ntaps=1\n", NULL);
    assert_string_equal(file.errors, "");
    assert_near(file.config->bushes[0].latitude, 45.06, 0);
    assert_near(file.config->bushes[0].longitude, -71.90, 0);
    assert_near(file.config->bushes[0].elevation_m, 451.104, 1e-9);
    assert_int_equal(file.config->units, UNITS_US);
    assert_near(file.config->bushes[1].latitude, 46, 0);
    file_free(&file);
    file = file_read_parts(file_sources, "[bush north]\ntaps = 140\n",
                           "place = 95, -71.90, 1480\n", NULL);
    assert_string_equal(
        file.errors,
        "t.conf:6: latitude = 95 is out of range. Allowed: degrees from -90 "
        "to 90, north of the equator positive, such as 45.06\n"
        "t.conf:6: elevation = 1480: \"1480\" has no unit; write one of: m or "
        "ft\n");
    file_free(&file);
    file = file_read_parts(file_sources, "[bush north]\ntaps = 140\n",
                           "place = 45,06, -71,90, 1480 ft\n", NULL);
    assert_string_equal(file.errors,
                        "t.conf:6: place = 45,06, -71,90, 1480 ft is not "
                        "understood. Allowed: latitude, longitude and "
                        "elevation in one line, such as 45.06, -71.90, 1480 "
                        "ft\n");
    file_free(&file);
    file = file_read_parts(file_sources, file_bush,
                           "place = 45.06, -71.90, 1480 ft\n", NULL);
    assert_string_equal(file.errors,
                        "t.conf:9: [bush north] has both place and latitude; "
                        "leave one of them out\n");
    file_free(&file);
}

static void too_many_bushes(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 100000);
    text_add(&text, file_sources);
    for (int i = 0; i <= CONFIG_MAX_BUSHES; i++)
        text_addf(&text,
                  "[bush b%d]\nlatitude = 45\nlongitude = -71\n"
                  "elevation = 1 m\ntaps = 1\n",
                  i);
    expect(text.bytes, "t.conf:324: more than 64 bushes in one file; make it "
                       "several operations\n");
    text_free(&text);
}

static void hostile_bytes(void **state)
{
    (void)state;
    static const char nul[] = "[bush north]\nlatitude = 4\0005\n";
    struct config_file file = file_read_bytes(nul, sizeof nul - 1);
    assert_non_null(strstr(file.errors, "t.conf:2: "));
    file_free(&file);
    file = file_read_text("\xFF\xFE[\n");
    assert_non_null(strstr(file.errors, "t.conf:1: the line is not UTF-8\n"));
    file_free(&file);
    char *large = mem_alloc(200 * 1024 + 1, 1);
    memset(large, ';', 200 * 1024);
    file = file_read_text(large);
    assert_string_equal(file.errors,
                        "t.conf: is larger than the 131072 bytes allowed\n");
    file_free(&file);
    free(large);
}

static void long_values_are_cut_in_messages(void **state)
{
    (void)state;
    struct text text;
    text_init(&text, 1000);
    text_add(&text, "[operation]\nunits = ");
    for (int i = 0; i < 60; i++)
        text_add(&text, "\xC3\xA9");
    struct config_file file =
        file_read_parts(text.bytes, "\n", file_bush, file_sources, NULL);
    assert_true(utf8_valid(file.errors, strlen(file.errors)));
    assert_non_null(strstr(file.errors, "\xC3\xA9...\" is not known"));
    file_free(&file);
    text_free(&text);
}

static void windows_files_and_comments(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        "\xEF\xBB\xBF; a comment\r\n", file_bush,
        "; another\r\nbucket = 4 gal ; of tin\r\n", file_sources, NULL);
    assert_string_equal(file.errors, "");
    assert_near(file.config->bushes[0].bucket_l, 15.141647136, 1e-9);
    file_free(&file);
}

static void a_told_default_address_is_no_own_instance(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        file_bush, "[sources]\ncontact = ann@bush.test\nuse = open-meteo\n",
        "open-meteo url = https://api.open-meteo.com\n", NULL);
    assert_null(file.config->sources[0].base_url);
    file_free(&file);
}

static void a_missing_file_is_named(void **state)
{
    (void)state;
    struct error_list errors = {0}, warnings = {0};
    struct config *config;
    assert_int_equal(
        config_read("none.conf", file_services, 4, &config, &errors, &warnings),
        -1);
    assert_string_equal(errors.items[0],
                        "none.conf: cannot be read: No such file or "
                        "directory");
    error_list_free(&errors);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_is_read),
        cmocka_unit_test(every_key_is_in_the_test),
        cmocka_unit_test(tanks_are_read),
        cmocka_unit_test(five_lines_are_enough),
        cmocka_unit_test(feet_in_capitals),
        cmocka_unit_test(no_zone_to_assume),
        cmocka_unit_test(sections_have_defaults),
        cmocka_unit_test(rounds_are_assumed_where_there_are_some),
        cmocka_unit_test(missing_is_named_with_its_section),
        cmocka_unit_test(all_errors_come_in_one_run_by_line),
        cmocka_unit_test(names_differ_by_more_than_capitals),
        cmocka_unit_test(names_hold_no_controls),
        cmocka_unit_test(what_is_there_and_wrong_is_told_once),
        cmocka_unit_test(place_stands_for_three_keys),
        cmocka_unit_test(too_many_bushes),
        cmocka_unit_test(hostile_bytes),
        cmocka_unit_test(long_values_are_cut_in_messages),
        cmocka_unit_test(windows_files_and_comments),
        cmocka_unit_test(a_told_default_address_is_no_own_instance),
        cmocka_unit_test(a_missing_file_is_named),
    };
    return cmocka_run_group_tests(tests, file_setup, file_teardown);
}
