/* The season's table, and what is in buckets and tanks. All invented. */
#include "unit_test.h"

#include "logbook/log_season.h"
#include "logbook/log_stock.h"
#include "logbook_bench.h"

#define HOUR SECONDS_PER_HOUR
#define DAY SECONDS_PER_DAY

static const struct log_bush two[] = {{"north", 140}, {"brook", 60}};

static struct log_record drew(const char *uid, utc_s at, double syrup_l,
                              double light_pct)
{
    struct log_record record = bench_record(uid, LOG_DREW, at);

    bench_figure(&record, LOG_SYRUP_L, syrup_l);
    if (light_pct >= 0)
        bench_figure(&record, LOG_LIGHT_PCT, light_pct);
    return record;
}

static struct log_record boiled(const char *uid, utc_s at, double sap_l,
                                double hours)
{
    struct log_record record = bench_record(uid, LOG_BOILED, at);

    if (sap_l > 0)
        bench_figure(&record, LOG_SAP_L, sap_l);
    if (hours > 0)
        bench_figure(&record, LOG_HOURS, hours);
    return record;
}

static void view_of(const struct log_record *records, int count,
                    struct log_view *view)
{
    struct logbook book = {0};

    for (int i = 0; i < count; i++)
        assert_true(logbook_add(&book, &records[i]));
    logbook_settle(&book);
    log_view_make(&book, false, view);
    logbook_free(&book);
}

static void test_season(void **state)
{
    struct zone *zone = bench_zone();
    struct log_record rows[] = {
        bench_record("tap", LOG_TAPPED, BENCH_NOW - 5 * DAY),
        bench_collected("a", "north", BENCH_NOW - 3 * DAY, 200),
        bench_collected("b", "north", BENCH_NOW - 1 * DAY, 100),
        bench_collected("c", "brook", BENCH_NOW - 1 * DAY, 60),
        bench_collected("d", "", BENCH_NOW - 1 * DAY, 40),
        bench_collected("old", "north", BENCH_NOW - 365 * DAY, 999),
        drew("e", BENCH_NOW - 1 * DAY, 4, 80),
        drew("f", BENCH_NOW, 2, 50),
        drew("g", BENCH_NOW + 4 * DAY, 3, -1),
        boiled("h", BENCH_NOW, 300, 5),
        bench_record("i", LOG_OFF_FLAVOUR, BENCH_NOW + 4 * DAY),
    };
    struct log_season season;
    struct log_view view;

    (void)state;
    bench_figure(&rows[1], LOG_SAP_BRIX, 2.0);
    bench_figure(&rows[2], LOG_SAP_BRIX, 2.6);
    rows[10].note.sign = LOG_SIGN_MILKY;
    view_of(rows, 11, &view);
    log_season_make(&view, zone, 2026, two, 2, &season);
    assert_int_equal(season.taps, 200);
    assert_near(season.bushes[0].sap_l, 300, 0);
    assert_near(season.bushes[1].sap_l, 60, 0);
    assert_near(season.together.sap_l, 400, 0);     /* with what is of all */
    assert_near(season.bushes[0].brix, 2.2, 1e-12); /* by amount */
    assert_false(season.bushes[1].has_brix);
    assert_true(season.bushes[1].has_tapped); /* all bushes */
    assert_near(season.syrup_l, 9, 0);
    assert_near(log_season_ratio(&season), 400 / 9.0, 1e-12);
    assert_near(season.grade_l[GRADE_GOLDEN], 4, 0);
    assert_near(season.grade_l[GRADE_AMBER], 2, 0);
    assert_near(season.unclassed_l, 3, 0);
    /* Thursday and Friday in the week of 2 March, Tuesday in the next. */
    assert_int_equal(season.week_count, 2);
    assert_int_equal(season.weeks[0].monday.day, 2);
    assert_near(season.weeks[0].light_pct, 70, 1e-12);
    assert_false(season.weeks[0].off_flavour);
    assert_int_equal(season.weeks[1].monday.day, 9);
    assert_false(season.weeks[1].has_light);
    assert_true(season.weeks[1].off_flavour);
    log_season_make(&view, zone, 2025, two, 2, &season);
    assert_near(season.together.sap_l, 999, 0);
    assert_int_equal(season.draws, 0);
    assert_near(log_season_ratio(&season), 0, 0);
    log_view_free(&view);
    zone_free(zone);
}

/* Of one bush, what names none is its own. */
static void test_single_bush(void **state)
{
    struct zone *zone = bench_zone();
    struct log_record row = bench_collected("a", "", BENCH_NOW, 80);
    struct log_season season;
    struct log_view view;

    (void)state;
    view_of(&row, 1, &view);
    log_season_make(&view, zone, 2026, two, 1, &season);
    assert_near(season.bushes[0].sap_l, 80, 0);
    log_view_free(&view);
    zone_free(zone);
}

/* A tenth of a litre a tap each hour from two days back on. */
static double flow[72];

static struct log_stock_bush bush(const char *name, bool buckets, int taps)
{
    for (int i = 0; i < 72; i++)
        flow[i] = 0.1;
    return (struct log_stock_bush){.name = name,
                                   .buckets = buckets,
                                   .taps = taps,
                                   .bucket_l = buckets ? 15 : 0,
                                   .flow_start =
                                       BENCH_NOW - BENCH_NOW % HOUR - 48 * HOUR,
                                   .flow_hours = 72,
                                   .sap_l_per_tap = flow};
}

static const struct log_stock_house house = {.storage_l = 1000,
                                             .sap_rate_l_h = 100};

static void stock_of(struct log_record *records, int count,
                     const struct log_stock_bush *bushes, int bush_count,
                     struct log_stock *stock)
{
    struct zone *zone = bench_zone();
    struct log_view view;

    view_of(records, count, &view);
    log_stock_make(&view, zone, BENCH_NOW, bushes, bush_count, &house, stock);
    log_view_free(&view);
    zone_free(zone);
}

static void test_buckets_since_collected(void **state)
{
    struct log_stock_bush bushes[] = {bush("north", true, 140),
                                      bush("brook", true, 60)};
    struct log_record rows[] = {
        bench_collected("a", "north", BENCH_NOW - 10 * HOUR, 300),
        bench_collected("b", "brook", BENCH_NOW - 20 * HOUR, 100),
        /* Not yet, and not this season's. */
        bench_collected("c", "", BENCH_NOW + 1 * HOUR, 50),
        bench_collected("d", "", BENCH_NOW - 200 * DAY, 50)};
    struct log_stock stock;

    (void)state;
    stock_of(rows, 4, bushes, 2, &stock);
    assert_true(stock.has_log);
    assert_near(stock.buckets[0].l, 140 * 0.1 * 10, 1e-9);
    assert_near(stock.buckets[1].l, 60 * 0.1 * 20, 1e-9);
    assert_true(stock.buckets[1].age_h > 9 && stock.buckets[1].age_h < 11);
    assert_near(stock.tanks.l, 400, 1e-9);
    assert_near(stock.tanks.age_h, (300 * 10 + 100 * 20) / 400.0, 1e-9);
}

static void test_buckets_run_over(void **state)
{
    struct log_stock_bush small = bush("north", true, 140);
    struct log_stock stock;

    (void)state;
    small.bucket_l = 2;
    small.has_tapped = true;
    small.tapped = BENCH_NOW - 30 * HOUR;
    stock_of(NULL, 0, &small, 1, &stock);
    assert_near(stock.buckets[0].l, 280, 1e-9);
    assert_near(stock.overflow_l, 140, 1e-9);
    assert_false(stock.has_log);
}

/* Nothing told of the bush: nothing is made up. */
static void test_nothing_known(void **state)
{
    struct log_stock_bush plain = bush("north", true, 140);
    struct log_stock stock;

    (void)state;
    stock_of(NULL, 0, &plain, 1, &stock);
    assert_near(stock.buckets[0].l, 0, 0);
    assert_near(stock.tanks.l, 0, 0);
}

/* Tubing fills the tank by itself; a boil takes from it, by litres or by
 * hours, and never below nothing. */
static void test_tubing_and_boils(void **state)
{
    struct log_stock_bush tubing = bush("brook", false, 60);
    struct log_record rows[] = {
        bench_collected("a", "brook", BENCH_NOW - 20 * HOUR, 500),
        boiled("b", BENCH_NOW - 12 * HOUR, 200, 0),
        boiled("c", BENCH_NOW - 6 * HOUR, 0, 2), /* an hour of full fire */
        boiled("e", BENCH_NOW - 5 * HOUR, 0, 0.5),
        boiled("d", BENCH_NOW + 2 * HOUR, 9999, 0)};
    struct log_record gone[] = {
        bench_collected("a", "brook", BENCH_NOW - 20 * HOUR, 50),
        boiled("b", BENCH_NOW - 19 * HOUR - 1800, 400, 0)};
    struct log_stock stock;

    (void)state;
    stock_of(rows, 5, &tubing, 1, &stock);
    assert_near(stock.tanks.l, 500 + 60 * 0.1 * 20 - 200 - 100, 1e-9);
    assert_near(stock.buckets[0].l, 0, 0);
    stock_of(gone, 2, &tubing, 1, &stock);
    /* Emptied half an hour later, then 19.5 h of flow. */
    assert_true(stock.tanks.l > 60 * 0.1 * 19 &&
                stock.tanks.l < 60 * 0.1 * 20.2);
}

static void test_tanks_hold_no_more(void **state)
{
    struct log_stock_bush north = bush("north", true, 140);
    struct log_record rows[] = {
        bench_collected("a", "north", BENCH_NOW - 9 * HOUR, 700),
        bench_collected("b", "north", BENCH_NOW - 8 * HOUR, 700)};
    struct log_stock stock;

    (void)state;
    stock_of(rows, 2, &north, 1, &stock);
    assert_near(stock.tanks.l, 1000, 1e-9);
    assert_near(stock.overflow_l, 400, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_season),
        cmocka_unit_test(test_single_bush),
        cmocka_unit_test(test_buckets_since_collected),
        cmocka_unit_test(test_buckets_run_over),
        cmocka_unit_test(test_nothing_known),
        cmocka_unit_test(test_tubing_and_boils),
        cmocka_unit_test(test_tanks_hold_no_more),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
