/* A stem of shells round its pith, with branches as one body of wood.
 *
 * Heat is that of stem_heat.h, with the film of film.h in the wind that
 * reaches the bush. Sap:
 *  - what freezes in the branches draws water: suction grows by each share
 *    that freezes, and is met from the roots with a time constant; it fades
 *    once the branches have thawed (Milburn and O'Malley 1984, Can. J. Bot.
 *    62:2101-2106: uptake on freezing as gas in the fibres is compressed). A
 *    small part of the store is filled by the outer stem in the same way, at
 *    once;
 *  - the store W (0..1, share of a full one) runs out through the hole while
 *    branches and outer stem are thawed,
 *        q = W / tau (1 - ice_branch) (1 - ice_stem) taphole (1 + gain suction)
 *    and leaks back into the tree.
 * Form and numbers: docs/model-calibration.md. */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "tree/film.h"
#include "tree/form.h"
#include "tree/stem_heat.h"

enum { STEPS_PER_HOUR = 6, SHELLS = 15 };
static const double STEP_H = 1.0 / STEPS_PER_HOUR;

struct stem_numbers {
    struct wood wood;
    double stem_radius_m;
    double tap_depth_m;
    double branch_radius_m;
    double wind_share;
    double sun_share;
    double stem_recharge_share;
    double uptake_time_h;
    double suction_fade_h;
    double store_time_h;
    double leak_per_h;
    double full_store_l;
};

#define AT(key, field, unit)                                                   \
    {                                                                          \
        key, unit, offsetof(struct stem_numbers, field)                        \
    }
#define ROW(key, unit) AT(#key, key, unit)
static const struct parameter_row rows[] = {
    AT("conductivity_thawed_w_m_k", wood.conductivity_thawed_w_m_k, "W/m K"),
    AT("conductivity_frozen_w_m_k", wood.conductivity_frozen_w_m_k, "W/m K"),
    AT("capacity_thawed_j_m3_k", wood.capacity_thawed_j_m3_k, "J/m3 K"),
    AT("capacity_frozen_j_m3_k", wood.capacity_frozen_j_m3_k, "J/m3 K"),
    AT("latent_j_m3", wood.latent_j_m3, "J/m3"),
    ROW(stem_radius_m, "m"),
    ROW(tap_depth_m, "m"),
    ROW(branch_radius_m, "m"),
    ROW(wind_share, "1"),
    ROW(sun_share, "1"),
    ROW(stem_recharge_share, "1"),
    ROW(uptake_time_h, "h"),
    ROW(suction_fade_h, "h"),
    ROW(store_time_h, "h"),
    ROW(leak_per_h, "1/h"),
    ROW(full_store_l, "L"),
    {NULL, NULL, 0},
};

/* A store and what it can hold, as shares of the tree's full store. */
struct part {
    double store, room;
};

/* One tree's sap, and the ice that its heat last had. */
struct tree {
    struct branch branch;
    double branch_ice, stem_ice;
    double wanted; /* water that frost has asked for and not got yet */
    struct part branches, outer_stem;
    struct taphole hole;
    double open_per_h; /* what a full store gives in the hour, all thawed */
};

/* One tree, or STEM_LANES of them side by side, each in its own air. */
struct tree_state {
    const struct stem_numbers *numbers;
    const struct tree_gathering *gathering;
    double suction_kpa;       /* at the outlet */
    double got_share, fading; /* of what is wanted, in a step */
    double leak_share;        /* of a store that leaks alone, in a step */
    struct stem *stem;        /* owned */
    double stem_film_w_m2_k, branch_film_w_m2_k; /* of the hour */
    int count;
    struct tree trees[STEM_LANES];
};

static double first_day_mean_c(const struct forcing *forcing)
{
    int hours = forcing->hours < 24 ? forcing->hours : 24;
    double mean_c = 0;
    for (int hour = 0; hour < hours; hour++)
        mean_c += forcing->air_temp_c[hour] / hours;
    return mean_c;
}

static void see_ice(struct tree_state *state)
{
    double ice[STEM_LANES];

    stem_ice_side_by_side(state->stem, state->numbers->tap_depth_m, ice);
    for (int i = 0; i < state->count; i++) {
        state->trees[i].stem_ice = ice[i];
        state->trees[i].branch_ice = wood_ice(
            &state->numbers->wood, state->trees[i].branch.enthalpy_j_m3);
    }
}

static void set_shares(struct tree_state *state)
{
    const struct stem_numbers *numbers = state->numbers;

    state->got_share = 1 - exp(-STEP_H / numbers->uptake_time_h);
    state->fading = exp(-STEP_H / numbers->suction_fade_h);
    state->leak_share = 1 - exp(-numbers->leak_per_h * STEP_H);
}

/* A tree in balance with the first day, its store half full. */
static void make_dormant(struct tree_state *state,
                         const struct tree_model *model,
                         const struct tree_site *site,
                         const struct forcing *forcing)
{
    const struct stem_numbers *numbers = model->numbers;
    double share = numbers->stem_recharge_share;
    double mean_c = first_day_mean_c(forcing);

    state->numbers = numbers;
    state->gathering = &model->gathering;
    state->suction_kpa = tree_suction_kpa(&model->gathering, site);
    state->stem = stem_new(&numbers->wood, numbers->stem_radius_m,
                           numbers->stem_radius_m, SHELLS);
    state->count = 1;
    state->trees[0].branch =
        (struct branch){&numbers->wood, numbers->branch_radius_m,
                        wood_enthalpy_j_m3(&numbers->wood, mean_c)};
    state->trees[0].branches = (struct part){(1 - share) / 2, 1 - share};
    state->trees[0].outer_stem = (struct part){share / 2, share};
    stem_settle(state->stem, mean_c);
    set_shares(state);
    see_ice(state);
}

static void refill(struct part *part, double amount)
{
    double store = part->store + amount;

    part->store = store < part->room ? store : part->room;
}

/* What a step's frost draws into the stores. */
static void take_up(const struct tree_state *state, struct tree *tree,
                    double branch_ice_before, double stem_ice_before)
{
    double froze = tree->branch_ice - branch_ice_before;
    double stem_froze = tree->stem_ice - stem_ice_before;

    tree->wanted += (froze > 0 ? froze : 0) * tree->branches.room;
    double got = tree->wanted * state->got_share;
    tree->wanted -= got;
    if (tree->branch_ice <= 0)
        tree->wanted *= state->fading;
    refill(&tree->branches, got);
    refill(&tree->outer_stem,
           (stem_froze > 0 ? stem_froze : 0) * tree->outer_stem.room);
}

/* Share of a full store that leaves through the hole in a step. */
static double draw(const struct tree_state *state, struct tree *tree)
{
    double leak_per_h = state->numbers->leak_per_h;
    double thawed = 1 - tree->stem_ice;
    double out_per_h = tree->open_per_h * (1 - tree->branch_ice) * thawed;
    double rate_per_h = out_per_h + leak_per_h, share = state->leak_share;

    if (tree->hole.open && state->suction_kpa > 0) {
        double soil = state->gathering->soil_feed_per_kpa_h *
                      state->suction_kpa * thawed * STEP_H;

        refill(&tree->branches,
               soil * (tree->branches.room - tree->branches.store));
    }
    if (out_per_h > 0)
        share = 1 - exp(-rate_per_h * STEP_H);
    double lost = (tree->branches.store + tree->outer_stem.store) * share;
    tree->branches.store -= tree->branches.store * share;
    tree->outer_stem.store -= tree->outer_stem.store * share;
    return out_per_h > 0 ? lost * out_per_h / rate_per_h : 0;
}

/* A step of all trees; adds what ran to ran[]. */
static void pass_step(struct tree_state *state, const double *air_c,
                      double sun_w_m2, double *ran)
{
    double dt_s = STEP_H * SECONDS_PER_HOUR;
    double branch_ice[STEM_LANES], stem_ice[STEM_LANES];

    for (int i = 0; i < state->count; i++) {
        branch_ice[i] = state->trees[i].branch_ice;
        stem_ice[i] = state->trees[i].stem_ice;
        branch_step(&state->trees[i].branch, air_c[i],
                    state->branch_film_w_m2_k, sun_w_m2, dt_s);
    }
    stem_step_side_by_side(state->stem, air_c, state->stem_film_w_m2_k,
                           sun_w_m2, dt_s);
    see_ice(state);
    for (int i = 0; i < state->count; i++) {
        take_up(state, &state->trees[i], branch_ice[i], stem_ice[i]);
        ran[i] += draw(state, &state->trees[i]);
    }
}

/* The hour's air, sun and wind. */
struct hour_weather {
    utc_s start;
    double now_c[STEM_LANES], next_c[STEM_LANES]; /* a tree each */
    double sun_w_m2, wind_m_s;                    /* the same for all */
};

static void open_holes(struct tree_state *state, const struct tree_site *site,
                       const struct hour_weather *hour)
{
    const struct tree_gathering *gathering = state->gathering;

    for (int i = 0; i < state->count; i++) {
        struct tree *tree = &state->trees[i];

        taphole_pass_hour(&tree->hole, gathering, site, hour->start,
                          hour->now_c[i]);
        tree->open_per_h =
            tree->hole.open
                ? (1 + gathering->flow_gain_per_kpa * state->suction_kpa) *
                      taphole_conductance(&tree->hole, gathering) /
                      state->numbers->store_time_h
                : 0;
    }
}

/* One hour; ran[] gets the share of a full store that ran from each. */
static void pass_hour(struct tree_state *state, const struct tree_site *site,
                      const struct hour_weather *hour, double *ran)
{
    const struct stem_numbers *numbers = state->numbers;
    double wind_m_s = numbers->wind_share * hour->wind_m_s;
    double air_c[STEM_LANES] = {0};

    open_holes(state, site, hour);
    state->stem_film_w_m2_k = film_w_m2_k(2 * numbers->stem_radius_m, wind_m_s);
    state->branch_film_w_m2_k =
        film_w_m2_k(2 * numbers->branch_radius_m, wind_m_s);
    for (int i = 0; i < state->count; i++)
        ran[i] = 0;
    for (int step = 0; step < STEPS_PER_HOUR; step++) {
        double share = (step + 0.5) / STEPS_PER_HOUR;

        for (int i = 0; i < state->count; i++)
            air_c[i] =
                hour->now_c[i] + (hour->next_c[i] - hour->now_c[i]) * share;
        pass_step(state, air_c, numbers->sun_share * hour->sun_w_m2, ran);
    }
}

static void *begin(const struct tree_model *model, const struct tree_site *site,
                   const struct forcing *forcing)
{
    struct tree_state *state = mem_alloc(1, sizeof *state);

    make_dormant(state, model, site, forcing);
    return state;
}

static void *state_copy(const void *state)
{
    const struct tree_state *from = state;
    struct tree_state *copy = mem_alloc(1, sizeof *copy);

    *copy = *from;
    copy->stem = stem_copy(from->stem);
    return copy;
}

/* As many of one tree as go side by side. */
static struct tree_state *multiply(const struct tree_state *one)
{
    struct tree_state *many = mem_alloc(1, sizeof *many);

    *many = *one;
    many->stem = stem_side_by_side(one->stem);
    many->count = STEM_LANES;
    for (int i = 1; i < STEM_LANES; i++)
        many->trees[i] = one->trees[0];
    return many;
}

static void state_free(void *state)
{
    stem_free(((struct tree_state *)state)->stem);
    free(state);
}

static double litres(const struct tree_model *model, double ran)
{
    const struct stem_numbers *numbers = model->numbers;

    return ran * (numbers->full_store_l * model->species.volume_share);
}

static struct tree_hour tell(const struct tree_model *model,
                             const struct tree_state *state, double ran)
{
    const struct tree *tree = &state->trees[0];

    return (struct tree_hour){
        .sap_l_per_tap = litres(model, ran),
        .charge = (float)(tree->branches.store + tree->outer_stem.store),
        .branch_ice = (float)tree->branch_ice,
        .trunk_ice = (float)tree->stem_ice,
        .wood_temp_c =
            (float)stem_temp_c(state->stem, state->numbers->tap_depth_m / 2),
        .taphole = (float)taphole_conductance(&tree->hole, state->gathering),
    };
}

static struct hour_weather weather_at(const struct forcing *forcing,
                                      const double *const *air_temp_c,
                                      int count, int hour)
{
    int next = hour + 1 < forcing->hours ? hour + 1 : hour;
    struct hour_weather weather = {.start = forcing->start +
                                            (utc_s)hour * SECONDS_PER_HOUR,
                                   .sun_w_m2 = forcing->shortwave_w_m2[hour],
                                   .wind_m_s = forcing->wind_m_s[hour]};

    for (int i = 0; i < count; i++) {
        weather.now_c[i] = air_temp_c[i][hour];
        weather.next_c[i] = air_temp_c[i][next];
    }
    return weather;
}

static void run(const struct tree_model *model, const struct tree_site *site,
                const struct forcing *forcing, int from, int to, void *held,
                struct tree_hour *out)
{
    const double *air_temp_c = forcing->air_temp_c;
    struct tree_state *state = held;

    for (int hour = from; hour < to; hour++) {
        double ran = 0;
        if (forcing->known[hour]) {
            struct hour_weather weather =
                weather_at(forcing, &air_temp_c, 1, hour);

            pass_hour(state, site, &weather, &ran);
        }
        out[hour - from] = tell(model, state, ran);
    }
}

/* As many as go side by side; fewer are filled up with the last one. */
static void run_group(const struct tree_model *model,
                      const struct tree_site *site,
                      const struct forcing *forcing, const struct tree_air *air,
                      int from, int to, const void *held,
                      double *const *sap_l_per_tap)
{
    struct tree_state *state = multiply(held);
    const double *all_c[STEM_LANES];
    double ran[STEM_LANES];

    for (int i = 0; i < STEM_LANES; i++)
        all_c[i] = air->temp_c[i < air->count ? i : air->count - 1];
    for (int hour = from; hour < to; hour++) {
        struct hour_weather weather =
            weather_at(forcing, all_c, STEM_LANES, hour);

        if (forcing->known[hour])
            pass_hour(state, site, &weather, ran);
        for (int i = 0; i < air->count; i++)
            sap_l_per_tap[i][hour - from] =
                forcing->known[hour] ? litres(model, ran[i]) : 0;
    }
    state_free(state);
}

const struct tree_form stem_form = {
    .name = "stem",
    .rows = rows,
    .numbers_size = sizeof(struct stem_numbers),
    .begin = begin,
    .state_copy = state_copy,
    .state_free = state_free,
    .run = run,
    .side_by_side = STEM_LANES,
    .run_side_by_side = run_group,
};
