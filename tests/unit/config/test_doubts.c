/* What is legal but doubtful. */
#include "config_file.h"

struct doubt_case {
    int at; /* __LINE__ */
    const char *bush, *rest, *warnings;
};

#define PLACE "latitude = 45.06\nlongitude = -71.90\nelevation = 450 m\n"
#define VERMONT "[bush north]\n" PLACE "taps = 100\n"
#define QUEBEC                                                                 \
    "[bush north]\nlatitude = 52.1\nlongitude = -71.90\nelevation = 450 m\n"   \
    "taps = 100\n"
#define CONTACT "[sources]\ncontact = ann@bush.test\n"
#define METNO CONTACT "use = metno\n"
#define MAIL(server)                                                           \
    "[mail]\nserver = " server                                                 \
    "\nfrom = ann@bush.test\nto = bob@bush.test\nmorning = 05:30\n"

static const struct doubt_case cases[] = {
    {__LINE__, VERMONT, METNO, ""},
    {__LINE__, VERMONT, CONTACT "use = metno, open-meteo\n",
     "t.conf:8: the free host of open-meteo is for non-commercial use; if you "
     "sell syrup, get a key (open-meteo key), run your own instance "
     "(open-meteo url), or use nws or metno\n"},
    {__LINE__, VERMONT, CONTACT "use = open-meteo\nopen-meteo key = abc\n", ""},
    {__LINE__, VERMONT,
     CONTACT "use = open-meteo\nopen-meteo url = https://own.bush.test\n", ""},
    {__LINE__, VERMONT, METNO "nws url = https://own.bush.test\n",
     "t.conf:9: this speaks of nws, which is not in use\n"},
    {__LINE__, VERMONT, CONTACT "use = nws\n", ""},
    {__LINE__, QUEBEC, CONTACT "use = nws\n",
     "t.conf:2: bush north lies outside the United States, where nws has no "
     "forecast; add metno or open-meteo to use\n"},
    {__LINE__, QUEBEC, CONTACT "use = nws, metno\n",
     "t.conf:2: bush north lies outside the United States, where nws has no "
     "forecast; the other services are used\n"},
    {__LINE__, VERMONT,
     "[sources]\nuse = metno\ncontact = operator@example.org\n",
     "t.conf:8: contact = operator@example.org is an example, not an address "
     "at which a service can reach you\n"},
    {__LINE__,
     "[bush north]\nlatitude = 45.06\nlongitude = 71.90\nelevation = 450 m\n"
     "taps = 100\n",
     METNO,
     "t.conf:3: longitude 71.9 does not go with the time zone "
     "America/New_York; west of Greenwich it needs a minus sign\n"},
    {__LINE__,
     "[bush north]\nlatitude = 45.06\nlongitude = 10\nelevation = 450 m\n"
     "taps = 100\n",
     METNO,
     "t.conf:3: longitude 10 does not go with the time zone "
     "America/New_York\n"},
    {__LINE__, VERMONT "fall = 30 ft\n", METNO,
     "t.conf:6: fall counts for gravity tubing only\n"},
    {__LINE__, VERMONT "bucket = 4 gal\ngathering = gravity tubing\n", METNO,
     "t.conf:6: bucket counts for buckets only\n"},
    {__LINE__, VERMONT "[bush brook]\n" PLACE "taps = 1\n", METNO, ""},
    {__LINE__,
     VERMONT "[bush brook]\nlatitude = 45.06\nlongitude = -71.90\n"
             "elevation = 1480 m\ntaps = 1\n",
     METNO,
     "t.conf:9: bush brook lies at 1480 m, bush north at 450 m; are the units "
     "right?\n"},
    {__LINE__,
     VERMONT "[bush brook]\nlatitude = 46.5\nlongitude = -71.90\n"
             "elevation = 450 m\ntaps = 1\n",
     METNO,
     "t.conf:7: bush brook lies more than a degree away from bush north; are "
     "the signs right?\n"},
    /* 100 taps, a gallon each: 379 L; on a pump twice that. */
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\nevaporation = 28 gal/h\nstorage = 400 L\n", ""},
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\nevaporation = 28 gal/h\nstorage = 300 L\n",
     "t.conf:11: storage of 300 L is less than a good day of these taps "
     "brings (about 379 L); the plan will have to boil the same day\n"},
    {__LINE__, VERMONT "gathering = vacuum 22 inHg\n",
     METNO "[sugarhouse]\nevaporation = 28 gal/h\nstorage = 400 L\n",
     "t.conf:12: storage of 400 L is less than a good day of these taps "
     "brings (about 757 L); the plan will have to boil the same day\n"},
    {__LINE__, VERMONT, METNO "[sugarhouse]\nstorage = 400 L\n",
     "t.conf:9: without evaporation or pan neither boiling nor collecting is "
     "planned\n"},
    {__LINE__, VERMONT, METNO "[sugarhouse]\npan = 1 m2\n",
     "t.conf:9: without storage neither boiling nor collecting is planned\n"},
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\npan = 1 m2\nstorage = 400 L\nsmallest boil = 401 L\n",
     "t.conf:12: the smallest boil is more than the storage holds; the fire "
     "would never be lit\n"},
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\npan = 1 m2\nstorage = 400 L\n"
           "attended from = 18:00\nattended to = 20:00\n",
     ""},
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\npan = 1 m2\nstorage = 400 L\n"
           "attended from = 18:01\nattended to = 20:59\n",
     "t.conf:13: in the attended hours there are no two whole hours of the "
     "clock; the fire would never be lit\n"},
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\npan = 1 m2\nstorage = 400 L\n"
           "attended from = 21:00\n",
     "t.conf:12: in the attended hours there are no two whole hours of the "
     "clock; the fire would never be lit\n"},
    /* 18:00 to 20:00: an hour's sap, 28 gal of steam and what stays. */
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\nevaporation = 28 gal/h\nstorage = 400 L\n"
           "smallest boil = 60 gal\n"
           "attended from = 17:30\nattended to = 20:30\n",
     "t.conf:12: the fire takes 108 L in the attended hours, less than the "
     "smallest boil, 227 L; each boil will take two days or more\n"},
    {__LINE__, VERMONT,
     METNO "[sugarhouse]\nevaporation = 28 gal/h\nstorage = 400 L\n"
           "smallest boil = 60 gal\n"
           "attended from = 17:00\nattended to = 21:00\n",
     ""},
    {__LINE__, VERMONT, METNO "[calendar]\nlisten = 127.0.0.1:80\n", ""},
    {__LINE__, VERMONT, METNO "[calendar]\nlisten = [::1]:80\n", ""},
    {__LINE__, VERMONT, METNO "[calendar]\nlisten = 0.0.0.0:80\n",
     "t.conf:10: 0.0.0.0:80 can be reached from the network; who knows the "
     "feed's address can read it\n"},
    {__LINE__, VERMONT, METNO "[calendar]\nlisten = [::]:80\n",
     "t.conf:10: [::]:80 can be reached from the network; who knows the "
     "feed's address can read it\n"},
    /* 465 is encrypted from the first byte (RFC 8314, 3.3), 587 and 25 begin in
     * clear and change over by STARTTLS (RFC 6409, RFC 3207). */
    {__LINE__, VERMONT, METNO MAIL("smtps://mail.bush.test:465"), ""},
    {__LINE__, VERMONT, METNO MAIL("smtp://[::465]:587/465"), ""},
    {__LINE__, VERMONT, METNO MAIL("smtps://mail.bush.test"), ""},
    {__LINE__, VERMONT, METNO MAIL("smtp://mail.bush.test:465/bend"),
     "t.conf:10: port 465 is usually that of smtps://; if no mail goes, write "
     "smtps://mail.bush.test:465/bend\n"},
    {__LINE__, VERMONT, METNO MAIL("smtps://[::1]:587"),
     "t.conf:10: port 587 is usually that of smtp:// with STARTTLS; if no mail "
     "goes, write smtp://[::1]:587\n"},
    {__LINE__, VERMONT, METNO MAIL("smtps://mail.bush.test:25"),
     "t.conf:10: port 25 is usually that of smtp:// with STARTTLS; if no mail "
     "goes, write smtp://mail.bush.test:25\n"},
};

static void doubts(void **state)
{
    (void)state;
    static const char zone[] = "[operation]\ntime zone = America/New_York\n"
                               "name = A\nunits = metric\n";
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct config_file file =
            file_read_parts(cases[i].bush, cases[i].rest, zone, NULL);
        if (file.errors[0] || strcmp(file.warnings, cases[i].warnings) != 0)
            fail_msg("case of line %d\nsaid:     %s%sexpected: %s", cases[i].at,
                     file.errors, file.warnings, cases[i].warnings);
        file_free(&file);
    }
}

/* Capitals count before the @ alone. */
static void one_mail_to_an_address(void **state)
{
    (void)state;
    struct config_file file = file_read_parts(
        file_operation, file_bush, METNO,
        "[mail]\nserver = smtp://mail.bush.test\nfrom = ann@bush.test\n"
        "to = bob@bush.test, Bob@bush.test, bob@BUSH.test, eve@bush.test,"
        "bob@bush.test\n",
        NULL);
    assert_string_equal(file.errors, "");
    assert_string_equal(
        file.warnings,
        "t.conf:16: to: bob@BUSH.test stands there twice; one mail is sent to "
        "it\n"
        "t.conf:16: to: bob@bush.test stands there twice; one mail is sent to "
        "it\n");
    assert_int_equal(file.config->mail.to_count, 3);
    assert_string_equal(file.config->mail.to[0], "bob@bush.test");
    assert_string_equal(file.config->mail.to[1], "Bob@bush.test");
    assert_string_equal(file.config->mail.to[2], "eve@bush.test");
    file_free(&file);
}

/* Names of an offset, on a place whose clock changes and on others. */
static void zones_without_summer_time(void **state)
{
    static const struct {
        const char *place, *zone, *warnings;
    } zones[] = {
        {"45.06, -71.90, 450 m", "America/New_York", ""},
        {"45.06, -71.90, 450 m", "EST5EDT", ""},
        {"45.06, -71.90, 450 m", "EST",
         "t.conf:5: time zone = EST never changes to summer time; if the clock "
         "at bush north does, write time zone = America/New_York\n"},
        {"45.06, -71.90, 450 m", "Etc/GMT+5",
         "t.conf:5: time zone = Etc/GMT+5 never changes to summer time; if "
         "the clock at bush north does, write time zone = America/New_York\n"},
        {"46, -114, 900 m", "MST",
         "t.conf:5: time zone = MST never changes to summer time; if the clock "
         "at bush north does, write time zone = America/Denver\n"},
        {"47, -65, 100 m", "GMT+0",
         "t.conf:2: longitude -65 does not go with the time zone GMT+0\n"
         "t.conf:5: time zone = GMT+0 never changes to summer time; if the "
         "clock at bush north does, write time zone = America/Halifax\n"},
        /* Iceland's clock is that of UTC. */
        {"64.1, -21.9, 50 m", "UTC", ""},
    };
    (void)state;
    for (size_t i = 0; i < sizeof zones / sizeof zones[0]; i++) {
        struct config_file file = file_read_parts(
            "[bush north]\nplace = ", zones[i].place,
            "\ntaps = 100\n[operation]\ntime zone = ", zones[i].zone,
            "\nunits = metric\nname = A\n" METNO, NULL);
        if (file.errors[0] || strcmp(file.warnings, zones[i].warnings) != 0)
            fail_msg("%s\nsaid:     %s%sexpected: %s", zones[i].zone,
                     file.errors, file.warnings, zones[i].warnings);
        file_free(&file);
    }
}

/* Newfoundland's hours begin at half past. */
static void whole_hours(void **state)
{
    static const struct {
        const char *zone;
        int from, to;
        int hours, whole_from, whole_to;
    } times[] = {
        {"America/New_York", 390, 1350, 15, 420, 1320},
        {"America/New_York", 420, 1440, 17, 420, 1440},
        {"America/New_York", 1081, 1139, 0, 1140, 1080},
        {"America/St_Johns", 390, 1350, 16, 390, 1350},
        {"America/St_Johns", 0, 1440, 23, 30, 1410},
        {"America/St_Johns", 1080, 1200, 1, 1110, 1170},
    };
    (void)state;
    for (size_t i = 0; i < sizeof times / sizeof times[0]; i++) {
        char *zone = strdup(times[i].zone);
        struct config config = {.zone_name = zone};
        int from, to;
        config.sugarhouse.attended_from_min = times[i].from;
        config.sugarhouse.attended_to_min = times[i].to;
        assert_int_equal(config_planned_hours(&config, &from, &to),
                         times[i].hours);
        assert_int_equal(from, times[i].whole_from);
        assert_int_equal(to, times[i].whole_to);
        free(zone);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(doubts), cmocka_unit_test(one_mail_to_an_address),
        cmocka_unit_test(zones_without_summer_time),
        cmocka_unit_test(whole_hours)};
    return cmocka_run_group_tests(tests, file_setup, file_teardown);
}
