#include "tree/grove.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/memory.h"

/* Vectors are handed over within functions that are put into each other: no
 * calling convention has a part in it. */
#pragma GCC diagnostic ignored "-Wpsabi"

enum { STEPS_PER_HOUR = 6, SHELLS = 15, MOST_HALVINGS = 6 };
static const double STEP_H = 1.0 / STEPS_PER_HOUR;

static const double PI = 3.14159265358979323846;
static const float SLACK_J_M3 = 64.0F; /* 0.00003 K; rounding is of 8 J/m3 */
static const float BEYOND_J_M3 = 1e20F;
static const float NEXT_TO_NOTHING = 1e-30F;

#define REAL float
#define WHOLE int32_t
#define STEM(name) narrow_##name
#define COUNT(stem) SHELLS
#include "tree/stem_body.inc"

enum { LANE_COLUMNS = 12 };

/* Its stems stand in the shells' order, all else is a value a tree. */
struct grove {
    const struct stem_numbers *numbers;
    const struct tree_gathering *gathering;
    double suction_kpa; /* at the outlet */
    int lanes;
    void (*pass_hour)(struct grove *grove); /* as this machine does it best */
    struct narrow_stem *stem;               /* owned */
    struct narrow_step step;
    /* Shells down to the end of the hole, each with its share of the layer. */
    int outer_shells;
    float outer_share[SHELLS];
    float branch_room, outer_room; /* of a full store */
    float got_share, fading;       /* of what is wanted, in a step */
    float leak_per_h, ageing_per_kkh, warm_from_c;
    /* Of the hour. */
    float branch_gain, branch_bark_w_m_k;
    float stem_absorbed_k, branch_absorbed_k;
    float soil_share;  /* of the store's room, in a step */
    float fresh_per_h; /* what a full store gives through a fresh hole */
    int halvings;      /* for what a step takes of the store; lost_share */
    float ages;        /* of a warm degree-hour, in thousands; 0: it does not */
    void *memory;      /* owned, and with it all below */
    float *now_c, *next_c;
    float *branch_j_m3, *branch_ice, *stem_ice;
    float *wanted; /* water that frost has asked for and not got yet */
    float *branch_store, *outer_store;
    float *warm_kh; /* warm degree-hours a hole has seen, in thousands */
    float *taphole, *ran;
    float *outside_c;
};

/* Stems that did not settle, each by itself; the others as they came out. */
static void mend_lanes(struct grove *grove, const int32_t *missed)
{
    struct narrow_stem *stem = grove->stem;

    for (int k = 0; k < stem->lanes; k++) {
        for (int i = 0; i < stem->count && !missed[k]; i++)
            stem->enthalpy_j_m3[i * stem->lanes + k] =
                stem->next_j_m3[i * stem->lanes + k];
        if (missed[k])
            (void)narrow_halve_step(stem, &grove->step, k, grove->outside_c[k],
                                    0);
    }
}

static float narrow_take_heat(struct narrow_stem *stem,
                              const struct narrow_step *step, float outside_c)
{
    (void)step;
    (void)outside_c;
    for (int i = 0; i < stem->count; i++)
        stem->enthalpy_j_m3[i] = stem->next_j_m3[i];
    return 0;
}

#define LANES 1
#define WAYS 1
#define TARGET
#define KERNEL(name) alone_##name
#include "tree/stem_kernel.inc"

#include "tree/grove_kernel.inc"

#include "tree/stem_kernel_end.inc"

#define LANES 4
#define WAYS 1
#define TARGET
#define KERNEL(name) plain_##name
#include "tree/stem_kernel.inc"

#include "tree/grove_kernel.inc"

#include "tree/stem_kernel_end.inc"

#define LANES 4
#define WAYS 2
#define TARGET
#define KERNEL(name) plain_two_##name
#include "tree/stem_kernel.inc"

#include "tree/grove_kernel.inc"

#include "tree/stem_kernel_end.inc"

/* The same for wider vectors. Neither has multiplications fused with additions:
 * the bits are the same. */
#ifdef __x86_64__
#define LANES 8
#define WAYS 1
#define TARGET __attribute__((target("avx2")))
#define KERNEL(name) avx2_##name
#include "tree/stem_kernel.inc"

#include "tree/grove_kernel.inc"

#include "tree/stem_kernel_end.inc"

#define LANES 8
#define WAYS 2
#define TARGET __attribute__((target("avx2")))
#define KERNEL(name) avx2_two_##name
#include "tree/stem_kernel.inc"

#include "tree/grove_kernel.inc"

#include "tree/stem_kernel_end.inc"

#define LANES 16
#define WAYS 1
#define TARGET __attribute__((target("avx512f,avx512dq")))
#define KERNEL(name) avx512_##name
#include "tree/stem_kernel.inc"

#include "tree/grove_kernel.inc"

#include "tree/stem_kernel_end.inc"

#define LANES 16
#define WAYS 2
#define TARGET __attribute__((target("avx512f,avx512dq")))
#define KERNEL(name) avx512_two_##name
#include "tree/stem_kernel.inc"

#include "tree/grove_kernel.inc"

#include "tree/stem_kernel_end.inc"
#endif

/* In one vector of each kind, and in two. */
static const struct kernel {
    int lanes;
    void (*pass_hour)(struct grove *grove);
} kernels[][2] = {
    [GROVE_PLAIN] = {{4, plain_pass_hour}, {8, plain_two_pass_hour}},
#ifdef __x86_64__
    [GROVE_AVX2] = {{8, avx2_pass_hour}, {16, avx2_two_pass_hour}},
    [GROVE_AVX512] = {{16, avx512_pass_hour}, {32, avx512_two_pass_hour}},
#endif
};

enum grove_vectors grove_widest(void)
{
#ifdef __x86_64__
    if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq"))
        return GROVE_AVX512;
    if (__builtin_cpu_supports("avx2"))
        return GROVE_AVX2;
#endif
    return GROVE_PLAIN;
}

/* Columns begin at a vector's place. */
static size_t lanes_apart(const struct grove *grove)
{
    const size_t vector = VECTOR_BYTES / sizeof(float);

    return ((size_t)grove->lanes + vector - 1) / vector * vector;
}

static void lay_lanes(struct grove *grove)
{
    float **columns[LANE_COLUMNS] = {
        &grove->now_c,        &grove->next_c,      &grove->branch_j_m3,
        &grove->branch_ice,   &grove->stem_ice,    &grove->wanted,
        &grove->branch_store, &grove->outer_store, &grove->warm_kh,
        &grove->taphole,      &grove->ran,         &grove->outside_c};
    const size_t vector = VECTOR_BYTES / sizeof(float);
    size_t apart = lanes_apart(grove), past;
    float *first;

    grove->memory = mem_alloc(LANE_COLUMNS * apart + vector, sizeof(float));
    past = (uintptr_t)grove->memory % VECTOR_BYTES / sizeof(float);
    first = (float *)grove->memory + (past > 0 ? vector - past : 0);
    for (size_t i = 0; i < LANE_COLUMNS; i++)
        *columns[i] = first + i * apart;
}

static void set_outer_shells(struct grove *grove)
{
    const struct narrow_stem *stem = grove->stem;
    double part_m3[SHELLS] = {0}, all_m3 = 0;

    for (int i = 0; i < stem->count; i++) {
        double share = grove->numbers->tap_depth_m / stem->width_m - i;

        if (share <= 0)
            break;
        part_m3[i] = narrow_volume_m3_m(stem, i) * fmin(share, 1);
        all_m3 += part_m3[i];
        grove->outer_shells = i + 1;
    }
    for (int i = 0; i < grove->outer_shells; i++)
        grove->outer_share[i] = (float)(part_m3[i] / all_m3);
}

static void set_shares(struct grove *grove)
{
    const struct stem_numbers *numbers = grove->numbers;
    double outer = numbers->stem_recharge_share;

    grove->branch_room = (float)(1 - outer);
    grove->outer_room = (float)outer;
    grove->got_share = (float)(1 - exp(-STEP_H / numbers->uptake_time_h));
    grove->fading = (float)exp(-STEP_H / numbers->suction_fade_h);
    grove->leak_per_h = (float)numbers->leak_per_h;
    grove->ageing_per_kkh = (float)grove->gathering->ageing_per_kkh;
    grove->warm_from_c = (float)grove->gathering->warm_from_c;
}

static struct grove *grove_of(const struct stem_numbers *numbers,
                              const struct tree_gathering *gathering,
                              double suction_kpa)
{
    struct grove *grove = mem_alloc(1, sizeof *grove);

    grove->numbers = numbers;
    grove->gathering = gathering;
    grove->suction_kpa = suction_kpa;
    grove->lanes = 1;
    grove->pass_hour = alone_pass_hour;
    lay_lanes(grove);
    return grove;
}

struct grove *grove_new(const struct stem_numbers *numbers,
                        const struct tree_gathering *gathering,
                        double suction_kpa, double mean_c)
{
    struct grove *grove = grove_of(numbers, gathering, suction_kpa);
    double settled_j_m3 = wood_enthalpy_j_m3(&numbers->wood, mean_c);

    grove->stem = narrow_of(&numbers->wood, numbers->stem_radius_m,
                            numbers->stem_radius_m / SHELLS, SHELLS, 1);
    for (int i = 0; i < SHELLS; i++)
        grove->stem->enthalpy_j_m3[i] = grove->stem->likely_j_m3[i] =
            (float)settled_j_m3;
    grove->step = narrow_step_of(grove->stem, 1, STEP_H * SECONDS_PER_HOUR);
    set_outer_shells(grove);
    set_shares(grove);
    grove->branch_j_m3[0] = (float)settled_j_m3;
    grove->branch_ice[0] = grove->stem_ice[0] =
        (float)wood_ice(&numbers->wood, settled_j_m3);
    grove->branch_store[0] = grove->branch_room / 2;
    grove->outer_store[0] = grove->outer_room / 2;
    grove->taphole[0] = 1;
    return grove;
}

/* Its first tree in all lanes of a new one. */
static struct grove *copy_to_lanes(const struct grove *grove,
                                   const struct kernel *kernel)
{
    struct grove *copy = mem_alloc(1, sizeof *copy);

    *copy = *grove;
    copy->lanes = kernel->lanes;
    copy->pass_hour = kernel->pass_hour;
    copy->stem = narrow_copy_to_lanes(grove->stem, 0, copy->lanes);
    lay_lanes(copy);
    for (size_t i = 0; i < LANE_COLUMNS; i++)
        for (int k = 0; k < copy->lanes; k++)
            copy->now_c[i * lanes_apart(copy) + (size_t)k] =
                grove->now_c[i * lanes_apart(grove)];
    return copy;
}

struct grove *grove_copy(const struct grove *grove)
{
    static const struct kernel alone = {1, alone_pass_hour};

    return copy_to_lanes(grove, &alone);
}

struct grove *grove_multiply(const struct grove *grove,
                             enum grove_vectors vectors, int trees)
{
    const struct kernel *one = &kernels[vectors][0], *two = one + 1;

    return copy_to_lanes(grove, trees > one->lanes ? two : one);
}

int grove_lanes(const struct grove *grove)
{
    return grove->lanes;
}

void grove_free(struct grove *grove)
{
    if (!grove)
        return;
    narrow_drop(grove->stem);
    free(grove->memory);
    free(grove);
}

void grove_set_air(struct grove *grove, int lane, double now_c, double next_c)
{
    grove->now_c[lane] = (float)now_c;
    grove->next_c[lane] = (float)next_c;
}

/* Down to an eighth, at which the series is as good as single precision. */
static int halvings_for(double most)
{
    int halvings = 0;

    for (; most > 0.125 && halvings < MOST_HALVINGS; halvings++)
        most /= 2;
    return halvings;
}

void grove_pass_hour(struct grove *grove, const struct grove_hour *hour)
{
    const struct stem_numbers *numbers = grove->numbers;
    const struct tree_gathering *gathering = grove->gathering;
    double radius_m = numbers->branch_radius_m;

    grove->step.bark_w_m_k =
        (float)(hour->stem_film_w_m2_k * grove->stem->width_m / 2);
    grove->branch_gain = (float)(STEP_H * SECONDS_PER_HOUR * 2 / radius_m *
                                 hour->branch_film_w_m2_k);
    grove->branch_bark_w_m_k = (float)(hour->branch_film_w_m2_k * radius_m / 4);
    grove->stem_absorbed_k =
        (float)(hour->absorbed_w_m2 / hour->stem_film_w_m2_k);
    grove->branch_absorbed_k =
        (float)(hour->absorbed_w_m2 / hour->branch_film_w_m2_k);
    grove->soil_share = hour->open ? (float)(gathering->soil_feed_per_kpa_h *
                                             grove->suction_kpa * STEP_H)
                                   : 0;
    grove->fresh_per_h =
        hour->open
            ? (float)((1 + gathering->flow_gain_per_kpa * grove->suction_kpa) /
                      numbers->store_time_h)
            : 0;
    grove->ages = hour->ages ? 1e-3F : 0;
    grove->halvings = halvings_for(
        ((double)grove->fresh_per_h + numbers->leak_per_h) * STEP_H);
    grove->pass_hour(grove);
}

void grove_rest(struct grove *grove)
{
    for (int k = 0; k < grove->lanes; k++)
        grove->ran[k] = 0;
}

double grove_ran(const struct grove *grove, int lane)
{
    return (double)grove->ran[lane];
}

struct grove_tree grove_tell(const struct grove *grove, int lane)
{
    double store =
        (double)grove->branch_store[lane] + (double)grove->outer_store[lane];

    return (struct grove_tree){
        .store = fmin(store, 1),
        .branch_ice = (double)grove->branch_ice[lane],
        .stem_ice = (double)grove->stem_ice[lane],
        .wood_temp_c = narrow_temp_at_c(grove->stem, lane,
                                        grove->numbers->tap_depth_m / 2),
        .taphole = (double)grove->taphole[lane]};
}
