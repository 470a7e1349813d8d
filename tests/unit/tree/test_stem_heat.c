#include "tree/stem_heat.h"

#include <stdlib.h>

#include "test_seed.h"
#include "tree/film.h"
#include "unit_test.h"

static const double PI = 3.14159265358979323846;
enum { HOUR_S = 3600, DAY_S = 86400 };

/* Invented wood whose two phases differ well. */
static const struct wood WOOD = {.conductivity_thawed_w_m_k = 0.4,
                                 .conductivity_frozen_w_m_k = 0.6,
                                 .capacity_thawed_j_m3_k = 2.5e6,
                                 .capacity_frozen_j_m3_k = 1.8e6,
                                 .latent_j_m3 = 8e7};

/* Neumann's solution for freezing a half space at `start_c` from a face kept
 * at `face_c`: front at 2 lambda sqrt(alpha_frozen t). Carslaw and Jaeger
 * (1959), section 11.2; at start_c 0 it is Stefan's. Returns lambda. */
static double neumann_lambda(double face_c, double start_c)
{
    double frozen =
        WOOD.conductivity_frozen_w_m_k / WOOD.capacity_frozen_j_m3_k;
    double thawed =
        WOOD.conductivity_thawed_w_m_k / WOOD.capacity_thawed_j_m3_k;
    double ratio = sqrt(frozen / thawed), low = 1e-6, high = 4;

    for (int round = 0; round < 100; round++) {
        double lambda = (low + high) / 2;
        double cold = exp(-lambda * lambda) / erf(lambda);
        double warm =
            WOOD.conductivity_thawed_w_m_k * ratio * start_c *
            exp(-lambda * lambda * ratio * ratio) /
            (WOOD.conductivity_frozen_w_m_k * -face_c * erfc(lambda * ratio));
        double latent = lambda * WOOD.latent_j_m3 * sqrt(PI) /
                        (WOOD.capacity_frozen_j_m3_k * -face_c);

        if (cold - warm > latent)
            low = lambda;
        else
            high = lambda;
    }
    return low;
}

/* The front in a stem so wide that its bark is a plane, kept at face_c. */
static void check_front(double face_c, double start_c, double dt_s)
{
    const double depth_m = 0.6;
    struct stem *stem = stem_new(&WOOD, 1000, depth_m, 600);
    double lambda = neumann_lambda(face_c, start_c);
    double alpha = WOOD.conductivity_frozen_w_m_k / WOOD.capacity_frozen_j_m3_k;
    double time_s = 0;

    if (start_c > 0)
        stem_settle(stem, start_c);
    for (int day = 1; day <= 3; day++) {
        for (; time_s < day * DAY_S - dt_s / 2; time_s += dt_s)
            stem_step(stem, face_c, 1e9, 0, dt_s);
        double front_m = 2 * lambda * sqrt(alpha * time_s);
        assert_near(stem_ice(stem, depth_m) * depth_m, front_m, 0.01 * front_m);
        /* The temperature half way to the front, same section. */
        double half_c = face_c * (1 - erf(lambda / 2) / erf(lambda));
        assert_near(stem_temp_c(stem, front_m / 2), half_c,
                    0.01 * fabs(face_c));
    }
    stem_free(stem);
}

static void fronts_are_neumanns(void **state)
{
    (void)state;
    check_front(-10, 0, 60);
    check_front(-3, 0, 600);
    check_front(-10, 4, 60);
    check_front(-20, 8, 300);
}

/* Bessel functions of the first kind by their series (Abramowitz and Stegun
 * 9.1.10), good to 1e-9 for the arguments here. */
static double bessel(int order, double x)
{
    double term = order ? x / 2 : 1, sum = term;

    for (int k = 1; k < 80; k++) {
        term *= -x * x / 4 / (k * (k + order));
        sum += term;
    }
    return sum;
}

static double root_between(double low, double high, double biot)
{
    for (int round = 0; round < 80; round++) {
        double middle = (low + high) / 2;
        double at_low = low * bessel(1, low) - biot * bessel(0, low);
        double at_middle =
            middle * bessel(1, middle) - biot * bessel(0, middle);

        if ((at_low < 0) == (at_middle < 0))
            low = middle;
        else
            high = middle;
    }
    return (low + high) / 2;
}

/* Share of the first excess that is left in a cylinder with a film: Carslaw
 * and Jaeger (1959), section 7.7, eq. 5. */
static double cylinder_left(double biot, double fourier, double place)
{
    double left = 0, last = 1e-9;
    double last_f = -biot;

    for (double beta = 0.05; beta < 16; beta += 0.05) {
        double f = beta * bessel(1, beta) - biot * bessel(0, beta);

        if ((f < 0) != (last_f < 0)) {
            double root = root_between(last, beta, biot);

            left += 2 * biot * bessel(0, root * place) *
                    exp(-root * root * fourier) /
                    ((root * root + biot * biot) * bessel(0, root));
        }
        last = beta;
        last_f = f;
    }
    return left;
}

static void cylinder_cools_as_in_the_textbook(void **state)
{
    (void)state;
    static const double films[] = {5, 12, 60};
    struct wood dry = WOOD;
    const double radius_m = 0.12, start_c = 25, air_c = 5;
    dry.latent_j_m3 = 0;
    for (size_t i = 0; i < sizeof films / sizeof *films; i++) {
        struct stem *stem = stem_new(&dry, radius_m, radius_m, 60);
        double biot = films[i] * radius_m / dry.conductivity_thawed_w_m_k;
        double alpha =
            dry.conductivity_thawed_w_m_k / dry.capacity_thawed_j_m3_k;

        stem_settle(stem, start_c);
        for (int step = 1; step <= 72 * 12; step++) {
            stem_step(stem, air_c, films[i], 0, 300);
            double fourier = alpha * step * 300 / radius_m / radius_m;
            if (step % 72 != 0)
                continue;
            for (double depth_m = 0.001; depth_m < radius_m; depth_m += 0.029) {
                double left =
                    cylinder_left(biot, fourier, 1 - depth_m / radius_m);
                assert_near(stem_temp_c(stem, depth_m),
                            air_c + left * (start_c - air_c),
                            0.01 * (start_c - air_c));
            }
        }
        stem_free(stem);
    }
}

/* A daily wave from the face into a half space: amplitude exp(-depth / D) of
 * that at the face, lag depth / (D omega), D = sqrt(2 alpha / omega); with a
 * film the face has 1 / sqrt((1 + s)^2 + s^2) of the air's and lags by
 * atan(s / (1 + s)) / omega, s = k / (h D). Carslaw and Jaeger (1959),
 * section 2.6. */
static void check_wave(double film, double depth_m)
{
    const double omega = 2 * PI / DAY_S, mean_c = 10, swing_c = 5;
    double alpha = WOOD.conductivity_thawed_w_m_k / WOOD.capacity_thawed_j_m3_k;
    double damping_m = sqrt(2 * alpha / omega);
    double s = WOOD.conductivity_thawed_w_m_k / film / damping_m;
    double amplitude =
        exp(-depth_m / damping_m) / sqrt((1 + s) * (1 + s) + s * s);
    double lag_s = (depth_m / damping_m + atan(s / (1 + s))) / omega;
    struct stem *stem = stem_new(&WOOD, 1000, 0.6, 240);
    double by_sin = 0, by_cos = 0;
    const int steps = DAY_S / 150;

    stem_settle(stem, mean_c);
    for (int step = 1; step <= steps * 12; step++) {
        double phase = omega * 150 * step;
        stem_step(stem, mean_c + swing_c * sin(phase), film, 0, 150);
        if (step > steps * 11) {
            by_sin += 2 * stem_temp_c(stem, depth_m) * sin(phase) / steps;
            by_cos += 2 * stem_temp_c(stem, depth_m) * cos(phase) / steps;
        }
    }
    stem_free(stem);
    assert_near(hypot(by_sin, by_cos) / swing_c, amplitude, 0.01 * amplitude);
    assert_near(-atan2(by_cos, by_sin) / omega, lag_s, 0.03 * HOUR_S);
}

static void daily_wave_lags_as_in_the_textbook(void **state)
{
    (void)state;
    check_wave(1e9, 0.025);
    check_wave(1e9, 0.05);
    check_wave(10, 0.005);
    check_wave(20, 0.025);
}

static double uniform(uint64_t *state)
{
    *state =
        *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*state >> 11) / 9007199254740992.0;
}

static void heat_is_conserved(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    for (int tree = 0; tree < 40; tree++) {
        struct stem *stem = stem_new(&WOOD, 0.05 + 0.3 * uniform(&seed), 0.05,
                                     1 + (int)(20 * uniform(&seed)));
        double taken = 0, moved = 0, before;

        stem_settle(stem, 20 * uniform(&seed) - 10);
        before = stem_heat_j_m(stem);
        for (int step = 0; step < 500; step++) {
            double dt_s = exp(12 * uniform(&seed));
            double heat =
                stem_step(stem, 40 * uniform(&seed) - 20,
                          2 + 40 * uniform(&seed), 300 * uniform(&seed), dt_s);
            taken += heat;
            moved += fabs(heat);
        }
        assert_near(stem_heat_j_m(stem) - before, taken, 1e-9 * moved);
        stem_free(stem);
    }
}

/* No wood gets colder or warmer than what is around it, whatever the step. */
static void any_step_is_stable(void **state)
{
    (void)state;
    uint64_t seed = test_seed();
    for (int tree = 0; tree < 200; tree++) {
        struct stem *stem = stem_new(&WOOD, 0.15, 0.15, 15);
        double start_c = 30 * uniform(&seed) - 15;
        double air_c = 30 * uniform(&seed) - 15;
        double dt_s = exp(18 * uniform(&seed));

        stem_settle(stem, start_c);
        for (int step = 0; step < 30; step++) {
            stem_step(stem, air_c, 12, 0, dt_s);
            for (double depth_m = 0; depth_m < 0.15; depth_m += 0.01) {
                double temp_c = stem_temp_c(stem, depth_m);
                assert_true(temp_c >= fmin(start_c, air_c) - 1e-6);
                assert_true(temp_c <= fmax(start_c, air_c) + 1e-6);
            }
        }
        for (int step = 0; step < 5; step++)
            stem_step(stem, air_c, 12, 0, 1e9);
        assert_near(stem_temp_c(stem, 0.15), air_c, 1e-3);
        stem_free(stem);
    }
}

/* Steps of a minute and of an hour end the same night and day alike. */
static void step_length_matters_little(void **state)
{
    (void)state;
    double ice[2];
    for (int which = 0; which < 2; which++) {
        struct stem *stem = stem_new(&WOOD, 0.15, 0.15, 15);
        double dt_s = which ? HOUR_S : 60;
        stem_settle(stem, 2);
        for (double time_s = 0; time_s < 12 * HOUR_S; time_s += dt_s)
            stem_step(stem, -8, 12, 0, dt_s);
        ice[which] = stem_ice(stem, 0.05);
        stem_free(stem);
    }
    assert_true(ice[0] > 0.1);
    assert_near(ice[1], ice[0], 0.02);
}

/* A branch against quasi-steady freezing with heat through film and shell:
 * time (L r / 2) (1 / h + r / (4 k)) / dT, the resistance being our own. */
static void branch_freezes_in_time(void **state)
{
    (void)state;
    struct branch branch = {&WOOD, 0.015, 0};
    double resistance = 1 / 15.0 + 0.015 / 4 / 0.5; /* k between the phases */
    double hours = WOOD.latent_j_m3 * 0.015 / 2 * resistance / 5 / HOUR_S;
    double passed_h = 0, taken = 0;
    while (wood_ice(&WOOD, branch.enthalpy_j_m3) < 1 && passed_h < 100) {
        taken += branch_step(&branch, -5, 15, 0, 60);
        passed_h += 1 / 60.0;
    }
    assert_near(passed_h, hours, 0.02 * hours);
    assert_near(taken, branch.enthalpy_j_m3, 1e-6);
    branch_step(&branch, -5, 15, 0, 1e9);
    assert_near(wood_temp_c(&WOOD, branch.enthalpy_j_m3), -5, 1e-4);
    branch_step(&branch, 7, 15, 0, 1e9);
    assert_near(wood_temp_c(&WOOD, branch.enthalpy_j_m3), 7, 1e-4);
    /* The sun on it warms as so much warmer air would. */
    branch_step(&branch, 0, 15, 30, 1e9);
    assert_near(wood_temp_c(&WOOD, branch.enthalpy_j_m3), 2, 1e-4);
}

/* Nusselt of a cylinder in air, Re 1e4: about 53 by Hilpert (1933,
 * 0.193 Re^0.618 Pr^(1/3)); long-wave part 4.4 W/m2K. */
static void film_is_that_of_a_cylinder(void **state)
{
    (void)state;
    double diameter_m = 0.3, wind_m_s = 1e4 * 1.35e-5 / diameter_m;
    double hilpert =
        0.193 * pow(1e4, 0.618) * cbrt(0.714) * 0.0242 / diameter_m;
    assert_near(film_w_m2_k(diameter_m, wind_m_s), hilpert + 4.4, 0.6);
    assert_true(film_w_m2_k(0.3, 4) > film_w_m2_k(0.3, 1));
    assert_true(film_w_m2_k(0.02, 1) > 2 * film_w_m2_k(0.3, 1));
    assert_near(film_w_m2_k(0.3, 0), film_w_m2_k(0.3, 0.1), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fronts_are_neumanns),
        cmocka_unit_test(cylinder_cools_as_in_the_textbook),
        cmocka_unit_test(daily_wave_lags_as_in_the_textbook),
        cmocka_unit_test(heat_is_conserved),
        cmocka_unit_test(any_step_is_stable),
        cmocka_unit_test(step_length_matters_little),
        cmocka_unit_test(branch_freezes_in_time),
        cmocka_unit_test(film_is_that_of_a_cylinder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
