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

struct tree_state {
    const struct stem_numbers *numbers;
    const struct tree_gathering *gathering;
    double suction_kpa; /* at the outlet */
    struct stem *stem;  /* owned */
    struct branch branch;
    double stem_film_w_m2_k, branch_film_w_m2_k; /* of the hour */
    double branch_ice, stem_ice;
    double wanted; /* water that frost has asked for and not got yet */
    struct part branches, outer_stem;
    struct taphole hole;
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
    state->branch_ice =
        wood_ice(&state->numbers->wood, state->branch.enthalpy_j_m3);
    state->stem_ice = stem_ice(state->stem, state->numbers->tap_depth_m);
}

/* A tree in balance with the first day, its store half full. */
static struct tree_state dormant(const struct tree_model *model,
                                 const struct tree_site *site,
                                 const struct forcing *forcing)
{
    const struct stem_numbers *numbers = model->numbers;
    double share = numbers->stem_recharge_share;
    double mean_c = first_day_mean_c(forcing);
    struct tree_state state = {
        .numbers = numbers,
        .gathering = &model->gathering,
        .suction_kpa = tree_suction_kpa(&model->gathering, site),
        .stem = stem_new(&numbers->wood, numbers->stem_radius_m,
                         numbers->stem_radius_m, SHELLS),
        .branch = {&numbers->wood, numbers->branch_radius_m,
                   wood_enthalpy_j_m3(&numbers->wood, mean_c)},
        .branches = {(1 - share) / 2, 1 - share},
        .outer_stem = {share / 2, share},
    };
    stem_settle(state.stem, mean_c);
    see_ice(&state);
    return state;
}

static void refill(struct part *part, double amount)
{
    part->store = fmin(part->store + amount, part->room);
}

/* Heat in wood for a step, and what its frost draws into the stores. */
static void freeze_and_thaw(struct tree_state *state, double air_c,
                            double sun_w_m2, double dt_h)
{
    const struct stem_numbers *numbers = state->numbers;
    double dt_s = dt_h * SECONDS_PER_HOUR;
    double branch_before = state->branch_ice, stem_before = state->stem_ice;

    branch_step(&state->branch, air_c, state->branch_film_w_m2_k, sun_w_m2,
                dt_s);
    stem_step(state->stem, air_c, state->stem_film_w_m2_k, sun_w_m2, dt_s);
    see_ice(state);
    state->wanted +=
        fmax(state->branch_ice - branch_before, 0) * state->branches.room;
    double got = state->wanted * (1 - exp(-dt_h / numbers->uptake_time_h));
    state->wanted -= got;
    if (state->branch_ice <= 0)
        state->wanted *= exp(-dt_h / numbers->suction_fade_h);
    refill(&state->branches, got);
    refill(&state->outer_stem,
           fmax(state->stem_ice - stem_before, 0) * state->outer_stem.room);
}

/* Lets a part run for a step at these rates; returns what came out of the
 * hole. */
static double run_out(struct part *part, double out_per_h, double leak_per_h,
                      double dt_h)
{
    double rate_per_h = out_per_h + leak_per_h;
    if (rate_per_h <= 0)
        return 0;
    double lost = part->store * (1 - exp(-rate_per_h * dt_h));
    part->store -= lost;
    return lost * out_per_h / rate_per_h;
}

/* Share of a full store that leaves through the hole in a step. */
static double draw(struct tree_state *state, double dt_h)
{
    const struct stem_numbers *numbers = state->numbers;
    const struct tree_gathering *gathering = state->gathering;
    double out_per_h = 0;
    if (state->hole.open) {
        double soil = gathering->soil_feed_per_kpa_h * state->suction_kpa *
                      (1 - state->stem_ice) * dt_h;
        refill(&state->branches,
               soil * (state->branches.room - state->branches.store));
        out_per_h = (1 - state->branch_ice) * (1 - state->stem_ice) /
                    numbers->store_time_h *
                    (1 + gathering->flow_gain_per_kpa * state->suction_kpa) *
                    taphole_conductance(&state->hole, gathering);
    }
    return run_out(&state->branches, out_per_h, numbers->leak_per_h, dt_h) +
           run_out(&state->outer_stem, out_per_h, numbers->leak_per_h, dt_h);
}

/* One hour; returns the share of a full store that ran. */
static double pass_hour(struct tree_state *state, const struct forcing *forcing,
                        int hour)
{
    const struct stem_numbers *numbers = state->numbers;
    double now_c = forcing->air_temp_c[hour];
    double next_c =
        hour + 1 < forcing->hours ? forcing->air_temp_c[hour + 1] : now_c;
    double sun_w_m2 = numbers->sun_share * forcing->shortwave_w_m2[hour];
    double wind_m_s = numbers->wind_share * forcing->wind_m_s[hour];
    double dt_h = 1.0 / STEPS_PER_HOUR, ran = 0;

    state->stem_film_w_m2_k = film_w_m2_k(2 * numbers->stem_radius_m, wind_m_s);
    state->branch_film_w_m2_k =
        film_w_m2_k(2 * numbers->branch_radius_m, wind_m_s);
    for (int step = 0; step < STEPS_PER_HOUR; step++) {
        double air_c = now_c + (next_c - now_c) * (step + 0.5) * dt_h;

        freeze_and_thaw(state, air_c, sun_w_m2, dt_h);
        ran += draw(state, dt_h);
    }
    return ran;
}

static void *begin(const struct tree_model *model, const struct tree_site *site,
                   const struct forcing *forcing)
{
    struct tree_state *state = mem_alloc(1, sizeof *state);

    *state = dormant(model, site, forcing);
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

static void state_free(void *state)
{
    stem_free(((struct tree_state *)state)->stem);
    free(state);
}

static struct tree_hour tell(const struct tree_model *model,
                             const struct tree_state *state, double ran)
{
    const struct stem_numbers *numbers = state->numbers;

    return (struct tree_hour){
        .sap_l_per_tap =
            ran * (numbers->full_store_l * model->species.volume_share),
        .charge = (float)(state->branches.store + state->outer_stem.store),
        .branch_ice = (float)state->branch_ice,
        .trunk_ice = (float)state->stem_ice,
        .wood_temp_c =
            (float)stem_temp_c(state->stem, numbers->tap_depth_m / 2),
        .taphole = (float)taphole_conductance(&state->hole, &model->gathering),
    };
}

static void run(const struct tree_model *model, const struct tree_site *site,
                const struct forcing *forcing, int from, int to, void *held,
                struct tree_hour *out)
{
    struct tree_state *state = held;

    for (int hour = from; hour < to; hour++) {
        double ran = 0;
        if (forcing->known[hour]) {
            taphole_pass_hour(&state->hole, &model->gathering, site,
                              forcing->start + (utc_s)hour * SECONDS_PER_HOUR,
                              forcing->air_temp_c[hour]);
            ran = pass_hour(state, forcing, hour);
        }
        out[hour - from] = tell(model, state, ran);
    }
}

const struct tree_form stem_form = {
    .name = "stem",
    .rows = rows,
    .numbers_size = sizeof(struct stem_numbers),
    .begin = begin,
    .state_copy = state_copy,
    .state_free = state_free,
    .run = run,
};
