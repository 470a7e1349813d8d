/* Held sap followed through the hours; sweet in the pans. */
#include "unit_test.h"

#include "base/units.h"
#include "sugarhouse/boil.h"
#include "sugarhouse/keeping.h"
#include "sugarhouse/syrup.h"

#define ONE_BAR_HPA 1000

static struct keeping_course held_at(double temp_c, double life_used)
{
    double air[48];

    for (int hour = 0; hour < 48; hour++)
        air[hour] = temp_c;
    return keeping_follow(temp_c, life_used, 200, KEEPING_SHADE, air, NULL, 48);
}

/* At one temperature the course ends when its life is used, inside the hours
 * given and beyond; the warning comes before. */
static void test_hours_left(void **state)
{
    (void)state;
    for (double temp_c = 1; temp_c < 22; temp_c += 2) {
        struct keeping_course course = held_at(temp_c, 0);
        double hours = 1 / keeping_used_per_h(temp_c);

        assert_near(course.hours_left, hours, 0.02);
        assert_near(course.boil_by_h, hours * KEEPING_BOIL_BY_LIFE, 0.02);
        assert_near(course.life_used_end, hours > 48 ? 48 / hours : 1, 1e-3);
    }
    /* Half a day is left at 50 F when the warning is due. */
    assert_near(held_at(10, 0).hours_left - held_at(10, 0).boil_by_h, 12, 0.3);
}

static void test_already_old(void **state)
{
    struct keeping_course late = held_at(5, 0.8), gone = held_at(5, 1.2);

    (void)state;
    assert_near(late.boil_by_h, 0, 0);
    assert_near(late.hours_left, 0.2 / keeping_used_per_h(5), 0.02);
    assert_near(gone.hours_left, 0, 0);
    assert_near(gone.life_used_end, 1, 0);
}

static void test_sun_shortens(void **state)
{
    double air[72], sun[72];
    struct keeping_course shade, lit;

    (void)state;
    for (int hour = 0; hour < 72; hour++) {
        air[hour] = 8;
        sun[hour] = hour % 24 < 8 ? 500 : 0;
    }
    shade = keeping_follow(4, 0, 100, KEEPING_SHADE, air, sun, 72);
    lit = keeping_follow(4, 0, 100, KEEPING_SUN, air, sun, 72);
    assert_true(lit.hours_left < shade.hours_left - 3);
    assert_true(lit.boil_by_h < lit.hours_left);
}

static struct boil_order order(void)
{
    struct boil_order plain = {.sap_l = 800,
                               .sap_brix = 2.1,
                               .sap_temp_c = 4,
                               .syrup_brix = 66.9,
                               .station_pressure_hpa = ONE_BAR_HPA};

    return plain;
}

/* Between the two ends of the pans; by steps along them it comes to the same
 * as in closed form. */
static void test_mean_of_the_pans(void **state)
{
    double sum = 0;
    int steps = 100000;

    (void)state;
    for (int i = 0; i < steps; i++)
        sum += 2.0 / (1 - (i + 0.5) / steps * (1 - 2.0 / 66.9));
    assert_near(pan_sweet_brix(2, 66.9), sum / steps, 1e-3);
    assert_near(pan_sweet_brix(5, 5), 5, 0);
}

/* Sugar in = syrup + what stays: to 1e-6 of it. */
static void test_sweet_keeps_sugar_back(void **state)
{
    struct evaporator pan = {.rate_l_h = 100};
    struct boil_order dry = order(), even = order();
    struct pan_sweet sweet = {45, 7};
    struct boil first, later;
    double kept_kg = 45 * sugar_density_kg_m3(7, 20) / 1000 * 0.07;
    double syrup_kg_l = sugar_density_kg_m3(66.9, 20) / 1000 * 0.669;

    (void)state;
    dry.end = even.start = even.end = sweet;
    first = boil_reckon(&pan, &dry);
    later = boil_reckon(&pan, &even);
    assert_near((later.syrup_l - first.syrup_l) * syrup_kg_l, kept_kg,
                1e-6 * kept_kg);
    assert_near(later.syrup_l, syrup_from_sap_l(800, 2.1, 66.9), 1e-9);
    assert_near(later.syrup_l,
                boil_plan(&pan, 800, 2.1, 4, 66.9, ONE_BAR_HPA, 0).syrup_l, 0);
}

/* Too little sap to fill dry pans: no syrup, not less than none. */
static void test_no_syrup_below_nothing(void **state)
{
    struct evaporator pan = {.rate_l_h = 100};
    struct boil_order small = order();
    struct boil boil;

    (void)state;
    small.sap_l = 20;
    small.end = (struct pan_sweet){45, 7};
    boil = boil_reckon(&pan, &small);
    assert_near(boil.syrup_l, 0, 0);
    assert_near(boil.water_l, 0, 0);
}

/* An evaporator of which nothing is told gives no hours, not endless ones. */
static void test_rate_not_known(void **state)
{
    struct evaporator unknown = {0};
    struct boil_order plain = order();

    (void)state;
    assert_near(boil_reckon(&unknown, &plain).hours, 0, 0);
}

/* Common practice, no source: pack at 180 to 185 F. Far below the boil, so
 * that it must be warmed for it, and above what the hot test reads. */
static void test_packing(void **state)
{
    (void)state;
    assert_near(f_from_c(SYRUP_PACK_LEAST_C), 180, 1e-9);
    assert_near(f_from_c(SYRUP_PACK_MOST_C), 185, 1e-9);
    assert_true(SYRUP_PACK_MOST_C < syrup_draw_off_c(66.9, 700));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hours_left),
        cmocka_unit_test(test_already_old),
        cmocka_unit_test(test_sun_shortens),
        cmocka_unit_test(test_mean_of_the_pans),
        cmocka_unit_test(test_sweet_keeps_sugar_back),
        cmocka_unit_test(test_no_syrup_below_nothing),
        cmocka_unit_test(test_rate_not_known),
        cmocka_unit_test(test_packing),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
