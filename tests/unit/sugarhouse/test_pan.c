/* The numbers at the pan together. */
#include "unit_test.h"

#include "base/units.h"
#include "sugarhouse/pan.h"
#include "sugarhouse/syrup.h"
#include "sugarhouse/water.h"

static const double cups_c[] = {95, 60, 20};

static struct pan_order order(void)
{
    return (struct pan_order){.air = {960, 955, 970},
                              .evaporator = {.rate_l_h = 100, .sweet_l = 45},
                              .syrup_brix = 66.9,
                              .sap_l = 800,
                              .sap_brix = 2.1,
                              .sap_temp_c = 4,
                              .cups_c = cups_c,
                              .cup_count = 3};
}

/* The hydrometer column of the handbook for 66.9 Brix at 60 F, in Baume, F
 * and reading (common practice, no source; the Brix column is checked in
 * test_water_syrup.c): within a fifth of a degree. */
static void test_baume_column(void **state)
{
    static const double rows[][2] = {
        {209, 32.0},  {202, 32.25}, {193, 32.5},  {185, 32.75}, {176, 33.0},
        {167, 33.25}, {158, 33.5},  {149, 33.75}, {140, 34.0},  {130, 34.25},
        {120, 34.5},  {110, 34.75}, {100, 35.0},  {90, 35.25},  {80, 35.5},
        {70, 35.75},  {60, 36.0},   {50, 36.25}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(pan_cup_at(66.9, c_from_f(rows[i][0])).baume, rows[i][1],
                    0.2);
    /* Hot test at 211 F: 59.1 Brix, 32.1 Baume; cold at 60 F: 66.9 and 36. */
    assert_near(pan_cup_at(66.9, c_from_f(211)).brix, 59.1, 0.3);
    assert_near(pan_cup_at(66.9, c_from_f(211)).baume, 32.1, 0.2);
    assert_near(pan_cup_at(66.9, HYDROMETER_SET_C).brix, 66.9, 1e-6);
}

/* Higher pressure, hotter pan; the rise hardly moves. */
static void test_over_the_hours(void **state)
{
    struct pan_order day = order();
    struct pan_numbers numbers;

    (void)state;
    pan_numbers_make(&day, &numbers);
    assert_near(numbers.water.c, water_boiling_c(960), 0);
    assert_near(numbers.water.min_c, water_boiling_c(955), 0);
    assert_near(numbers.draw_off.max_c, syrup_draw_off_c(66.9, 970), 0);
    assert_near(numbers.rise_k * 1.8, 7.2, 0.15);
    assert_int_equal(numbers.cup_count, 3);
    assert_near(numbers.cups[1].cup_c, 60, 0);
}

static void test_boil_and_pans(void **state)
{
    struct pan_order day = order();
    struct pan_numbers numbers;

    (void)state;
    pan_numbers_make(&day, &numbers);
    assert_near(numbers.boil.syrup_l, syrup_from_sap_l(800, 2.1, 66.9), 1e-9);
    assert_near(numbers.boil.syrup_l * numbers.ratio, 800, 1e-6);
    assert_near(numbers.rule_syrup_l, 800 * 2.1 / 88.2, 1e-9);
    assert_near(numbers.rule->syrup_brix, 66.9, 0);
    assert_near(numbers.sweet.l, 45, 0);
    assert_true(numbers.dry_start_l > 0 &&
                numbers.dry_start_l < numbers.boil.syrup_l);
    /* No pan told, none made up. */
    assert_near(numbers.finish_l, 0, 0);
    day.evaporator.area_m2 = 1.1;
    day.evaporator.sweet_l = 0;
    pan_numbers_make(&day, &numbers);
    /* Two inches over the pan at work. */
    assert_near(numbers.sweet.l, 1.1 * 0.0508 * 1000, 1e-9);
    /* 3/4 in of syrup, less what these two inches hold already. */
    assert_near(numbers.finish_l,
                smallest_boil_l(&day.evaporator, 2.1, 66.9, numbers.sweet.l,
                                numbers.sweet.brix),
                1e-9);
    assert_true(numbers.finish_l > 300 &&
                numbers.finish_l < sap_for_syrup_l(1.1 * 19.05, 2.1, 66.9));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_baume_column),
        cmocka_unit_test(test_over_the_hours),
        cmocka_unit_test(test_boil_and_pans),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
