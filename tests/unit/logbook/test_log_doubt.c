/* What can hardly be is doubted, and no true note is. All invented. */
#include "unit_test.h"

#include "base/units.h"
#include "logbook/log_doubt.h"
#include "logbook_bench.h"

/* 140 taps in buckets, 28 gal/h, tanks of 300 gal. */
#define GAL L_PER_US_GALLON
static const struct log_means means = {140 * GAL, 28 * GAL, 300 * GAL, 66.9};

struct noted {
    enum log_kind kind;
    double days_ago, gal, brix, hours;
};

static void add(struct logbook *book, const struct noted *noted,
                const char *uid)
{
    struct log_record record =
        bench_record(uid, noted->kind,
                     BENCH_NOW - (utc_s)(noted->days_ago * SECONDS_PER_DAY));

    snprintf(record.note.bush, sizeof record.note.bush, "%s",
             noted->kind == LOG_COLLECTED ? "north" : "");
    if (noted->gal > 0)
        bench_figure(&record, noted->kind == LOG_DREW ? LOG_SYRUP_L : LOG_SAP_L,
                     noted->gal * GAL);
    if (noted->brix > 0)
        bench_figure(&record, LOG_SAP_BRIX, noted->brix);
    if (noted->hours > 0)
        bench_figure(&record, LOG_HOURS, noted->hours);
    assert_true(logbook_add(book, &record));
}

/* The doubt about the last of the notes. */
static enum log_doubt doubt(const struct log_means *of,
                            const struct noted *notes, int count,
                            double *usual_l)
{
    struct zone *zone = bench_zone();
    struct logbook book = {0};
    struct log_view view;
    struct log_note last;
    enum log_doubt found;
    char uid[16];

    for (int i = 0; i < count; i++) {
        snprintf(uid, sizeof uid, "n%d", i);
        add(&book, &notes[i], uid);
    }
    last = book.records[count - 1].note;
    logbook_settle(&book);
    log_view_make(&book, false, &view);
    found = log_doubt(&view, zone, &last, of, usual_l);
    log_view_free(&view);
    logbook_free(&book);
    zone_free(zone);
    return found;
}

#define DOUBT(of, usual, ...)                                                  \
    doubt(of, (const struct noted[]){__VA_ARGS__},                             \
          (int)(sizeof((const struct noted[]){__VA_ARGS__}) /                  \
                sizeof(struct noted)),                                         \
          usual)

static void collected(void **state)
{
    const struct log_means none = {.syrup_brix = 66.9};
    double usual_l;

    (void)state;
    /* Nothing noted before: a season at once, and more than that. */
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 0, 2700, 0, 0}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 0, 2900, 0, 0}),
                     LOG_DOUBT_DAYS);
    assert_near(usual_l, 140 * GAL, 1e-9);
    /* A day after the last: three gallons a tap, and six. */
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 1, 100, 0, 0},
                           {LOG_COLLECTED, 0, 420, 0, 0}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 1, 100, 0, 0},
                           {LOG_COLLECTED, 0, 840, 0, 0}),
                     LOG_DOUBT_DAYS);
    /* A bush that is configured no more. */
    assert_int_equal(DOUBT(&none, &usual_l, {LOG_COLLECTED, 0, 90000, 0, 0}),
                     LOG_DOUBT_NONE);
}

static void boiled(void **state)
{
    const struct log_means tanks = {.tanks_l = 300 * GAL, .syrup_brix = 66.9};
    const struct log_means none = {.syrup_brix = 66.9};
    double usual_l;

    (void)state;
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_BOILED, 0, 18000, 0, 0}),
                     LOG_DOUBT_DAY);
    assert_near(usual_l, 24 * 28 * GAL, 1e-9);
    /* 900 gal before reverse osmosis, in eight hours. */
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_BOILED, 0, 900, 0, 8}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_BOILED, 0, 900, 0, 3}),
                     LOG_DOUBT_HOURS);
    assert_near(usual_l, 3 * 28 * GAL, 1e-9);
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_BOILED, 0, 0, 0, 8}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&tanks, &usual_l, {LOG_BOILED, 0, 2900, 0, 0}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&tanks, &usual_l, {LOG_BOILED, 0, 3100, 0, 0}),
                     LOG_DOUBT_TANKS);
    assert_int_equal(DOUBT(&none, &usual_l, {LOG_BOILED, 0, 90000, 0, 0}),
                     LOG_DOUBT_NONE);
}

static void drew(void **state)
{
    const struct log_means none = {.syrup_brix = 66.9};
    double usual_l;

    (void)state;
    /* Without sap noted, or with a boil of no known amount, there is nothing
     * to hold it against. */
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_DREW, 0, 50, 0, 0}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&none, &usual_l, {LOG_BOILED, 0, 0, 0, 8},
                           {LOG_DREW, 0, 50, 0, 0}),
                     LOG_DOUBT_NONE);
    /* Last season's sap is not this one's. */
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 360, 10, 0, 0},
                           {LOG_DREW, 0, 50, 0, 0}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 1, 100, 2, 0},
                           {LOG_DREW, 0, 10, 0, 0}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 1, 100, 2, 0},
                           {LOG_DREW, 0, 20, 0, 0}),
                     LOG_DOUBT_SYRUP);
    assert_near(usual_l, 100 * GAL, 1e-9);
    /* Concentrate gives more; hours of boiling stand for sap. */
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_BOILED, 1, 100, 16, 0},
                           {LOG_DREW, 0, 20, 0, 0}),
                     LOG_DOUBT_NONE);
    assert_int_equal(DOUBT(&means, &usual_l, {LOG_COLLECTED, 2, 9, 0, 0},
                           {LOG_BOILED, 1, 0, 0, 10}, {LOG_DREW, 0, 20, 0, 0}),
                     LOG_DOUBT_NONE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(collected),
        cmocka_unit_test(boiled),
        cmocka_unit_test(drew),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
