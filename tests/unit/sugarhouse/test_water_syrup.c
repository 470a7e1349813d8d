/* Water, pressure and syrup against published tables. */
#include "unit_test.h"

#include <math.h>

#include "base/units.h"
#include "sugarhouse/syrup.h"
#include "sugarhouse/water.h"

#define KELVIN 273.15

/* To the printed digits: nine. */
static void assert_nine_digits(double value, double printed)
{
    assert_true(fabs(value - printed) <=
                fabs(printed) * 0.5e-8 + 0.5e-9 * fabs(printed));
}

/* IAPWS R7-97(2012), table 35. */
static void test_saturation_table_35(void **state)
{
    (void)state;
    assert_nine_digits(water_saturation_hpa(300 - KELVIN) / 1e4,
                       0.353658941e-2);
    assert_nine_digits(water_saturation_hpa(500 - KELVIN) / 1e4, 0.263889776e1);
    assert_nine_digits(water_saturation_hpa(600 - KELVIN) / 1e4, 0.123443146e2);
}

/* IAPWS R7-97(2012), table 36: the printed digits are six decimals. */
static void test_boiling_table_36(void **state)
{
    (void)state;
    assert_near(water_boiling_c(0.1e4) + KELVIN, 372.755919, 0.5e-6);
    assert_near(water_boiling_c(1e4) + KELVIN, 453.035632, 0.5e-6);
    assert_near(water_boiling_c(10e4) + KELVIN, 584.149488, 0.5e-6);
}

static void test_boiling_is_the_reverse(void **state)
{
    (void)state;
    for (double hpa = 850; hpa <= 1050; hpa += 7)
        assert_near(water_saturation_hpa(water_boiling_c(hpa)), hpa, 1e-4);
}

/* Outside the line's reach: the end, not a NaN. */
static void test_boiling_out_of_reach(void **state)
{
    (void)state;
    assert_near(water_boiling_c(0), 0, 1e-6);
    assert_near(water_boiling_c(-5), 0, 1e-6);
    assert_true(isfinite(water_boiling_c(1e9)));
}

/* Smithsonian form; check by the US Standard Atmosphere (1976): an altimeter
 * setting of 1013.25 at 450 m is 960.4 hPa there, within the form's 0.3. */
static void test_altimeter(void **state)
{
    (void)state;
    assert_near(pressure_station_from_altimeter_hpa(1013.25, 450), 960.4, 0.4);
}

/* CRC Handbook of Chemistry and Physics, aqueous sucrose, 20 C, kg/m3. */
static void test_density_handbook(void **state)
{
    static const double rows[][2] = {{0, 998.2},   {10, 1038.1}, {20, 1081.0},
                                     {30, 1127.0}, {40, 1176.5}, {50, 1229.5},
                                     {60, 1286.4}, {66, 1322.4}, {70, 1347.2}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_near(sugar_density_kg_m3(rows[i][0], 20), rows[i][1], 0.3);
}

/* Warmer is lighter and sweeter is heavier, over all that a sugarhouse sees.
 */
static void test_density_order(void **state)
{
    (void)state;
    for (double brix = 1; brix <= 68; brix += 1)
        for (double temp_c = 4; temp_c < 100; temp_c += 2) {
            assert_true(sugar_density_kg_m3(brix, temp_c) >
                        sugar_density_kg_m3(brix, temp_c + 2));
            assert_true(sugar_density_kg_m3(brix, temp_c) >
                        sugar_density_kg_m3(brix - 1, temp_c));
        }
}

/* Common practice, no source: syrup boils 7.1 F above water at 66.0 Brix; the
 * trade's range for 66 to 67 is 7.0 to 7.5 F. */
static void test_draw_off_rule(void **state)
{
    double sea_level = 1013.25;

    (void)state;
    assert_near(sugar_boiling_rise_k(66.0, sea_level) * 1.8, 7.1, 0.02);
    assert_in_range((int)(sugar_boiling_rise_k(66.9, sea_level) * 1800), 7100,
                    7500);
    assert_near(f_from_c(syrup_draw_off_c(66.9, sea_level)), 219.2, 0.1);
    /* Lower air, lower boil, and hardly less of a rise. */
    assert_near(sugar_boiling_rise_k(66.0, 900) /
                    sugar_boiling_rise_k(66.0, sea_level),
                0.98, 0.005);
}

/* As the table prints it: one decimal. */
static double printed(double brix)
{
    return round(brix * 10) / 10;
}

static void assert_column(double brix, const double (*rows)[2], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        double temp_c = c_from_f(rows[i][0]);
        double reading =
            hydrometer_reading_brix(brix, temp_c, HYDROMETER_SET_C);

        assert_near(printed(reading), rows[i][1], 0.3 + 1e-9);
    }
}

/* The handbook column for syrup of 66.9 Brix, hydrometer set at 60 F (F and
 * the reading in Brix, both printed to a tenth): a handbook of 2014 that goes
 * with evaporators, so common practice; here it is physics. And for 66.0. */
static void test_hydrometer_handbook(void **state)
{
    static const double heavy[][2] = {
        {209, 59.0}, {202, 59.6}, {193, 60.0}, {185, 60.4}, {176, 60.9},
        {167, 61.4}, {158, 61.8}, {149, 62.3}, {140, 62.8}, {130, 63.3},
        {120, 63.8}, {110, 64.3}, {100, 64.8}, {90, 65.4},  {80, 65.9},
        {70, 66.4},  {60, 66.9},  {50, 67.4}};
    static const double light[][2] = {{209, 58.0}, {202, 58.5}, {193, 59.0},
                                      {185, 59.5}, {180, 59.7}, {176, 60.0},
                                      {167, 60.5}, {158, 61.0}, {149, 61.5}};

    (void)state;
    assert_column(66.9, heavy, sizeof heavy / sizeof heavy[0]);
    assert_column(66.0, light, sizeof light / sizeof light[0]);
}

/* Same handbook: 66.0 is 35.6 Baume, 66.9 is 36. */
static void test_baume(void **state)
{
    (void)state;
    assert_near(baume_of_brix(66.0), 35.6, 0.05);
    assert_near(baume_of_brix(66.9), 36.0, 0.05);
}

/* By the balance with the densities above; beside it the revised rule
 * (Perkins and Isselhardt, University of Vermont: 87.1/x - 0.32 at 66.0). */
static void test_syrup_from_sap(void **state)
{
    static const double rules[] = {65.5, 66.0, 66.9};

    (void)state;
    for (double brix = 1; brix <= 4; brix += 0.5) {
        double ratio = 1 / syrup_from_sap_l(1, brix, 66.0);

        assert_near(ratio, 87.1 / brix - 0.32, 0.012 * ratio);
    }
    /* Common practice, no source: a hundred gallons make two to three. */
    assert_in_range((int)(syrup_from_sap_l(100, 2, 66.9) * 100), 200, 300);
    assert_near(syrup_from_sap_l(sap_for_syrup_l(3, 2.2, 67), 2.2, 67), 3,
                1e-9);
    assert_near(syrup_from_sap_l(100, 0, 66.9), 0, 0);
    /* Each beside the balance for the density that it is of. */
    for (double brix = 1; brix <= 4; brix += 0.5)
        for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
            const struct sap_rule *rule = sap_rule_for(rules[i]);
            double exact = sap_for_syrup_l(1, brix, rules[i]);

            assert_near(rule->syrup_brix, rules[i], 0);
            assert_near(sap_rule_ratio(rule, brix), exact, 0.012 * exact);
        }
    assert_near(sap_rule_ratio(sap_rule_for(66.9), 2), 44.1, 1e-9);
    assert_near(sap_rule_ratio(sap_rule_for(66.0), 2), 43.23, 1e-9);
    assert_near(sap_rule_ratio(sap_rule_for(65.5), 2), 43, 1e-9);
    assert_near(sap_rule_for(60)->syrup_brix, 65.5, 0);
    assert_near(sap_rule_for(66.4)->syrup_brix, 66.0, 0);
    assert_near(sap_rule_for(66.5)->syrup_brix, 66.9, 0);
    assert_near(sap_rule_for(68.9)->syrup_brix, 66.9, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_saturation_table_35),
        cmocka_unit_test(test_boiling_table_36),
        cmocka_unit_test(test_boiling_is_the_reverse),
        cmocka_unit_test(test_boiling_out_of_reach),
        cmocka_unit_test(test_altimeter),
        cmocka_unit_test(test_density_handbook),
        cmocka_unit_test(test_density_order),
        cmocka_unit_test(test_draw_off_rule),
        cmocka_unit_test(test_hydrometer_handbook),
        cmocka_unit_test(test_baume),
        cmocka_unit_test(test_syrup_from_sap),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
