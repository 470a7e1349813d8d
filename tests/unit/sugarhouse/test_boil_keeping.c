/* The boil and how long sap keeps. */
#include "unit_test.h"

#include "base/units.h"
#include "sugarhouse/boil.h"
#include "sugarhouse/keeping.h"
#include "sugarhouse/syrup.h"

#define SEA_LEVEL_HPA 1013.25
#define MJ_PER_BTU 1055.056e-6

static const struct evaporator told = {.rate_l_h = 100};

/* Ohio State University Extension: some 400 000 BTU for a gallon of syrup
 * from sap of 2 %. */
static void test_heat_per_gallon(void **state)
{
    double sap_l = sap_for_syrup_l(L_PER_US_GALLON, 2, 66.0);
    struct boil boil =
        boil_plan(&told, sap_l, 2, c_from_f(40), 66.0, SEA_LEVEL_HPA, 0);

    (void)state;
    assert_near(boil.heat_mj / MJ_PER_BTU, 400000, 8000);
    assert_near(boil.syrup_l, L_PER_US_GALLON, 1e-9);
}

/* The same: about 22 gallons of syrup a cord; 40 % of 23.2 million BTU gives
 * 23 at 2 %. */
static void test_wood(void **state)
{
    double sap_l = sap_for_syrup_l(22 * L_PER_US_GALLON, 2, 66.0);
    struct boil guess =
        boil_plan(&told, sap_l, 2, c_from_f(40), 66.0, SEA_LEVEL_HPA, 0);
    struct boil own =
        boil_plan(&told, sap_l, 2, c_from_f(40), 66.0, SEA_LEVEL_HPA,
                  11 * L_PER_US_GALLON / M3_PER_CORD);

    struct boil sweeter =
        boil_plan(&told, sap_l, 4, c_from_f(40), 66.0, SEA_LEVEL_HPA,
                  11 * L_PER_US_GALLON / M3_PER_CORD);

    (void)state;
    assert_near(guess.wood_m3 / M3_PER_CORD, 22 / 23.0, 0.03);
    /* The wood drives off the water, not the sugar. */
    assert_near(sweeter.wood_m3 / own.wood_m3, sweeter.heat_mj / own.heat_mj,
                1e-9);
    assert_true(sweeter.wood_m3 < own.wood_m3);
    assert_near(own.wood_m3 / M3_PER_CORD, 2, 1e-9);
}

/* The rate rises on the same wood, so the same sap takes less of it; a told
 * yield is of the pan as it is. */
static void test_wood_of_warm_feed(void **state)
{
    const struct evaporator pans[] = {
        {.area_m2 = 1},
        {.area_m2 = 1, .preheater = true},
        {.area_m2 = 1, .hood = true},
        {.area_m2 = 1, .preheater = true, .hood = true},
        {.rate_l_h = 100, .hood = true}};
    static const double gains[] = {1, 1.08, 1.15, 1.15, 1.15};
    struct boil plain = boil_plan(&pans[0], 1000, 2, 4, 66.9, 960, 0);
    struct boil own = boil_plan(&pans[0], 1000, 2, 4, 66.9, 960, 25);

    (void)state;
    for (size_t i = 0; i < sizeof pans / sizeof pans[0]; i++) {
        struct boil boil = boil_plan(&pans[i], 1000, 2, 4, 66.9, 960, 0);

        assert_near(boil.heat_mj, plain.heat_mj, 0);
        assert_near(boil.wood_m3 * gains[i], plain.wood_m3, 1e-9);
        boil = boil_plan(&pans[i], 1000, 2, 4, 66.9, 960, 25);
        assert_near(boil.wood_m3, own.wood_m3, 0);
    }
}

static void test_mass_closes(void **state)
{
    struct boil boil = boil_plan(&told, 1000, 2.2, 4, 66.9, 960, 0);
    double in_kg = 1000 * sugar_density_kg_m3(2.2, 4) / 1000;
    double out_kg = boil.syrup_l * sugar_density_kg_m3(66.9, 20) / 1000;

    (void)state;
    assert_near(boil.water_l, in_kg - out_kg, 0.001 * in_kg);
    assert_near(boil.hours, boil.water_l / 100 + 1, 1e-9);
}

/* Makers' size tables: a 2 x 6 ft pan drives off 20 to 25 gallons an hour
 * (common practice, no source). */
static void test_rate_from_pan(void **state)
{
    struct evaporator pan = {.area_m2 = 12 * M_PER_FOOT * M_PER_FOOT,
                             .kind = PAN_KIND_RAISED_FLUE};
    double plain = evaporator_rate_l_h(&pan) / L_PER_US_GALLON;

    (void)state;
    assert_true(plain >= 20 && plain <= 25);
    pan.preheater = true;
    assert_near(evaporator_rate_l_h(&pan) / L_PER_US_GALLON, plain * 1.08,
                1e-9);
    pan.hood = true;
    assert_near(evaporator_rate_l_h(&pan) / L_PER_US_GALLON, plain * 1.15,
                1e-9);
    assert_near(evaporator_rate_l_h(&told), 100, 0);
}

/* A 2 x 4 ft pan at 3/4 in holds 3.7 gallons; at 2 % that is 44 times as much
 * sap; sweet in the pans takes off what it holds in sugar. */
static void test_smallest_boil(void **state)
{
    struct evaporator pan = {.area_m2 = 8 * M_PER_FOOT * M_PER_FOOT};
    double dry = smallest_boil_l(&pan, 2, 66.9, 0, 0);
    double sweet = smallest_boil_l(&pan, 2, 66.9, 20, 30);

    (void)state;
    assert_near(dry / L_PER_US_GALLON, 3.74 * 44.08, 1);
    assert_true(sweet < dry && sweet > 0);
    assert_near(smallest_boil_l(&pan, 2, 66.9, 1000, 60), 0, 0);
}

/* Computed from the growth law in the header: 34 F 121 h, 40 F 63 h, 50 F
 * 30 h, 70 F 11 h for ten doublings. */
static void test_keeping_hours(void **state)
{
    (void)state;
    assert_near(1 / keeping_used_per_h(c_from_f(34)), 121, 1);
    assert_near(1 / keeping_used_per_h(c_from_f(40)), 63, 1);
    assert_near(1 / keeping_used_per_h(c_from_f(50)), 30, 1);
    assert_near(1 / keeping_used_per_h(c_from_f(70)), 11, 1);
    assert_near(keeping_used_per_h(-8), keeping_used_per_h(0), 0);
    for (double temp_c = 0; temp_c < 25; temp_c += 1)
        assert_true(keeping_used_per_h(temp_c) <
                    keeping_used_per_h(temp_c + 1));
}

static double after_a_day(double volume_l, enum keeping_site site,
                          double sun_w_m2)
{
    double temp_c = 2;

    for (int hour = 0; hour < 24; hour++)
        temp_c = keeping_next_temp_c(temp_c, volume_l, site, 12, sun_w_m2);
    return temp_c;
}

static void test_tank_follows_the_air(void **state)
{
    (void)state;
    assert_true(after_a_day(50, KEEPING_SHADE, 0) >
                after_a_day(1000, KEEPING_SHADE, 0));
    assert_true(after_a_day(200, KEEPING_SUN, 400) >
                after_a_day(200, KEEPING_SHADE, 400));
    assert_true(after_a_day(50, KEEPING_SHADE, 0) < 12);
    assert_near(keeping_next_temp_c(0, 100, KEEPING_SHADE, -20, 0), 0, 0);
    assert_true(keeping_next_temp_c(0, 100, KEEPING_INSIDE, -20, 0) > 0);
}

static void test_light_share(void **state)
{
    (void)state;
    assert_near(keeping_light_share(0), 1, 0);
    assert_near(keeping_light_share(1), 2.0 / 3, 1e-12);
    assert_near(keeping_light_share(7), 2.0 / 3, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heat_per_gallon),
        cmocka_unit_test(test_wood),
        cmocka_unit_test(test_wood_of_warm_feed),
        cmocka_unit_test(test_mass_closes),
        cmocka_unit_test(test_rate_from_pan),
        cmocka_unit_test(test_smallest_boil),
        cmocka_unit_test(test_keeping_hours),
        cmocka_unit_test(test_tank_follows_the_air),
        cmocka_unit_test(test_light_share),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
