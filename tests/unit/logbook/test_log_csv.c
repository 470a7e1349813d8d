/* CSV: what is written reads back the same; files by hand. */
#include "unit_test.h"

#include "logbook/log_csv.h"
#include "logbook/log_json.h"
#include "logbook_bench.h"
#include "test_seed.h"

/* A random test's generator: splitmix64 (Steele, Lea and Flood 2014). */
static uint64_t draw(uint64_t *seed)
{
    uint64_t z = *seed += UINT64_C(0x9e3779b97f4a7c15);

    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static int below(uint64_t *seed, int limit)
{
    return (int)(draw(seed) % (uint64_t)limit);
}

/* All 53 bits of the fraction. */
static double between(uint64_t *seed, double low, double high)
{
    return low + (high - low) * (double)(draw(seed) >> 11) / 9007199254740992.0;
}

static void random_figures(uint64_t *seed, struct log_record *record)
{
    static const double ranges[LOG_FIGURE_COUNT][2] = {
        {0, 5000}, {0.5, 5}, {0.5, 20}, {0, 200}, {60, 70}, {0, 100}};

    for (int i = 0; i < LOG_FIGURE_COUNT; i++)
        if (log_kind_takes(record->note.kind, (enum log_figure)i) &&
            (below(seed, 3) > 0 || i == LOG_SAP_L || i == LOG_SYRUP_L))
            bench_figure(record, (enum log_figure)i,
                         between(seed, ranges[i][0], ranges[i][1]));
}

static struct log_record random_record(uint64_t *seed, int row)
{
    static const char *const bushes[] = {"", "north", "brook", "east, far",
                                         "\"the\" slope"};
    static const char *const remarks[] = {
        "",   "first run",           "a, b",          "he said \"stop\"",
        "#7", "érable \xE2\x80\x93", " blank before", "=1+1"};
    /* Around the whole year, so also on both days of the clock's change. */
    utc_s at = BENCH_NOW + (utc_s)between(seed, -180, 180) * SECONDS_PER_DAY +
               below(seed, SECONDS_PER_DAY);
    char uid[LOG_UID_SIZE];
    struct log_record record;

    log_uid_make(at, draw(seed), uid);
    record = bench_record(uid, (enum log_kind)below(seed, LOG_KIND_COUNT), at);
    record.written = BENCH_NOW + row;
    snprintf(record.note.bush, sizeof record.note.bush, "%s",
             bushes[below(seed, 5)]);
    snprintf(record.note.remark, sizeof record.note.remark, "%s",
             remarks[below(seed, 8)]);
    if (record.note.kind == LOG_OFF_FLAVOUR)
        record.note.sign = (enum log_sign)(1 + below(seed, LOG_SIGN_COUNT - 1));
    random_figures(seed, &record);
    if (record.note.kind == LOG_DREW && !record.note.has[LOG_LIGHT_PCT]) {
        record.note.has_grade = below(seed, 2) == 0;
        record.note.grade = (enum grade)below(seed, GRADE_COUNT);
    }
    if (!record.note.has_grade)
        record.note.grade = GRADE_GOLDEN;
    return record;
}

static void random_book(uint64_t *seed, int rows, struct logbook *book)
{
    for (int row = 0; row < rows; row++) {
        struct log_record record = random_record(seed, row), other;
        char uid[LOG_UID_SIZE];

        assert_int_equal(log_record_check(&record, NULL), 0);
        assert_true(logbook_add(book, &record));
        if (below(seed, 4) > 0)
            continue;
        log_uid_make(record.written, draw(seed), uid);
        other = random_record(seed, row);
        other.written = BENCH_NOW + rows + row;
        other.change = below(seed, 3) == 0 ? LOG_REMOVAL : LOG_CORRECTION;
        if (other.change == LOG_REMOVAL)
            other.note = (struct log_note){.kind = LOG_TAPPED};
        snprintf(other.target, sizeof other.target, "%s", record.uid);
        assert_true(logbook_add(book, &other));
    }
    logbook_settle(book);
}

static void read_back(const char *csv, const struct zone *zone,
                      struct logbook *book, int expected_known)
{
    struct error err = {""};
    int known;

    if (log_csv_read(csv, strlen(csv), zone, BENCH_NOW, book, &known, &err) !=
        0)
        fail_msg("%s", err.text);
    assert_int_equal(known, expected_known);
    logbook_settle(book);
}

/* import(export(x)) = x, records, history and numbers. */
static void test_there_and_back(void **state)
{
    uint64_t seed = test_seed();
    struct zone *zone = bench_zone();

    (void)state;
    for (int round = 0; round < 40; round++) {
        struct logbook book = {0}, back = {0};
        char *csv, *again;

        random_book(&seed, 1 + below(&seed, 60), &book);
        csv = log_csv_write(&book, zone, true);
        read_back(csv, zone, &back, 0);
        assert_int_equal(back.count, book.count);
        for (int i = 0; i < book.count; i++)
            if (!bench_same_record(&book.records[i], &back.records[i]))
                fail_msg("record %d differs:\n%s", i, csv);
        again = log_csv_write(&back, zone, true);
        assert_string_equal(again, csv);
        /* And through the spool's form. */
        free(csv);
        csv = log_json_write("bend", &book);
        logbook_free(&back);
        assert_int_equal(log_json_read(csv, strlen(csv), "bend", &back, NULL),
                         0);
        for (int i = 0; i < book.count; i++)
            assert_true(bench_same_record(&book.records[i], &back.records[i]));
        free(csv);
        csv = log_csv_write(&book, zone, true);
        /* Once more into the same: nothing new. */
        read_back(csv, zone, &back, book.count);
        assert_int_equal(back.count, book.count);
        free(again);
        free(csv);
        logbook_free(&back);
        logbook_free(&book);
    }
    zone_free(zone);
}

/* Without the history: what stands is the same. */
static void test_what_stands_is_the_same(void **state)
{
    uint64_t seed = test_seed();
    struct zone *zone = bench_zone();
    struct logbook book = {0}, back = {0};
    struct log_view view, view_back;
    char *csv;

    (void)state;
    random_book(&seed, 80, &book);
    csv = log_csv_write(&book, zone, false);
    read_back(csv, zone, &back, 0);
    log_view_make(&book, false, &view);
    log_view_make(&back, false, &view_back);
    assert_int_equal(view.count, view_back.count);
    for (int i = 0; i < view.count; i++)
        if (strcmp(view.entries[i].uid, view_back.entries[i].uid) != 0 ||
            !bench_same_note(&view.entries[i].note, &view_back.entries[i].note))
            fail_msg("entry %d differs:\n%s", i, csv);
    log_view_free(&view);
    log_view_free(&view_back);
    free(csv);
    logbook_free(&back);
    logbook_free(&book);
    zone_free(zone);
}

/* As somebody keeps it in a spreadsheet. */
static void test_by_hand(void **state)
{
    static const char csv[] =
        "\xEF\xBB\xBFkind,time,bush,sap_gal,sap_brix,syrup_gal,grade\r\n"
        "tapped,2026-03-01,north,,,,\r\n"
        "collected,2026-03-07 17:30,north,42,2.1,,\r\n"
        "collected,2026-03-07 17:30,north,42,2.1,,\r\n"
        "drew,2026-03-08T21:00-04:00,,,,1.5,very dark\r\n";
    struct zone *zone = bench_zone();
    struct logbook book = {0};
    char *dated;

    (void)state;
    read_back(csv, zone, &book, 0);
    assert_int_equal(book.count, 4); /* two alike are two */
    assert_int_equal(book.records[0].note.at, 1772384400); /* noon, EST */
    assert_near(book.records[1].note.figure[LOG_SAP_L], 158.987294928, 1e-9);
    assert_int_equal(book.records[1].note.at, 1772922600);
    assert_int_equal(book.records[3].note.at, 1773018000);
    assert_int_equal(book.records[3].note.grade, GRADE_VERY_DARK);
    /* Numbered by the time noted; read twice, added once. */
    assert_int_equal(book.records[3].number, 4);
    read_back(csv, zone, &book, 4);
    dated = log_csv_write(&book, zone, false);
    assert_non_null(strstr(dated, "2026-03-08T21:00:00-04:00"));
    free(dated);
    logbook_free(&book);
    zone_free(zone);
}

static void test_other_words(void **state)
{
    static const char csv[] = "kind,time,bush,sign\n"
                              "off-flavor,2026-04-09,north,buddy\n";
    struct zone *zone = bench_zone();
    struct logbook book = {0};
    char *usual;

    (void)state;
    read_back(csv, zone, &book, 0);
    assert_int_equal(book.records[0].note.kind, LOG_OFF_FLAVOUR);
    assert_int_equal(book.records[0].note.sign, LOG_SIGN_OFF_TASTE);
    usual = log_csv_write(&book, zone, false);
    assert_non_null(strstr(usual, "off-flavour"));
    assert_non_null(strstr(usual, "off taste"));
    free(usual);
    logbook_free(&book);
    zone_free(zone);
}

static void refused(const char *csv, const char *words)
{
    struct zone *zone = bench_zone();
    struct logbook book = {0};
    struct error err = {""};
    int known;

    assert_int_equal(
        log_csv_read(csv, strlen(csv), zone, BENCH_NOW, &book, &known, &err),
        -1);
    if (strstr(err.text, words) == NULL)
        fail_msg("\"%s\" does not say \"%s\"", err.text, words);
    assert_int_equal(book.count, 0);
    logbook_free(&book);
    zone_free(zone);
}

/* One bad row and nothing is taken; its line is named. */
static void test_refused_by_line(void **state)
{
    (void)state;
    refused("time,kind,colour\n", "\"colour\" is not known");
    refused("time;kind;sap_l\n2026-03-01;collected;4,5\n",
            "semicolons or tabs part the cells; commas are wanted");
    refused("time\n2026-03-01\n", "\"kind\" is missing");
    refused("time,kind\n2026-03-01,tapped\n2026-03-02,tappd\n",
            "line 3: kind \"tappd\" is not known");
    refused("time,kind\n2026-03-01,\n", "line 2: kind is empty");
    refused("time,kind\nyesterday,tapped\n",
            "line 2: \"yesterday\" is no time");
    refused("time,kind,sap_l\n2026-03-01,collected,much\n",
            "line 2: sap_l \"much\" is not a number");
    refused("time,kind,sap_l\n2026-03-01,collected,\n",
            "line 2: \"collected\" needs an amount");
    refused("time,kind,sap_l,sap_gal\n2026-03-01,collected,4,1\n",
            "line 2: sap_gal is told twice");
    refused("time,kind,uid\n2026-03-01,tapped,a\n2026-03-01,pulled,a\n",
            "line 3: the uid a stands there twice");
    refused("time,kind,change\n,,removal\n",
            "line 2: a correction or removal needs the target's uid");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_there_and_back),
        cmocka_unit_test(test_what_stands_is_the_same),
        cmocka_unit_test(test_by_hand),
        cmocka_unit_test(test_other_words),
        cmocka_unit_test(test_refused_by_line),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
