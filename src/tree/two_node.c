/* Two nodes of wood, branches and outer trunk, each with one enthalpy E in
 * kelvin above the just molten state:
 *     dE/dt = h (T_air + s SW - T_wood),
 *     T_wood = E above 0, 0 while -L <= E <= 0, E + L below -L,
 *     ice = -E / L, within 0..1.
 * A store W (0..1) is filled by what freezes, mostly in the branches, and
 * runs out through the taphole while both nodes are thawed:
 *     q = W / tau (1 - ice_branch) (1 - ice_trunk) (1 + g max(0, T_air))
 *         x warmth(T_air) x taphole x (1 + gain x suction),
 * warmth rising from 0 to 1 over some width about the air temperature at which
 * flow starts and stops.
 * Form and numbers are our own, calibrated on the bucket collections of
 * MacLeish Field Station of 2013 and 2015 (CC0). */
#include <math.h>
#include <stdlib.h>

#include "base/memory.h"
#include "tree/form.h"

enum { STEPS_PER_HOUR = 6 };

struct two_node_numbers {
    double branch_rate_per_h;
    double branch_latent_k;
    double trunk_rate_per_h;
    double trunk_latent_k;
    double sun_k_m2_w;
    double trunk_recharge_share;
    double store_time_h;
    double warm_gain_per_k;
    double leak_per_h;
    double flow_from_c;
    double flow_width_k;
    double full_store_l;
};

#define ROW(key, unit)                                                         \
    {                                                                          \
#key, unit, offsetof(struct two_node_numbers, key)                     \
    }
static const struct parameter_row rows[] = {
    ROW(branch_rate_per_h, "1/h"),
    ROW(branch_latent_k, "K"),
    ROW(trunk_rate_per_h, "1/h"),
    ROW(trunk_latent_k, "K"),
    ROW(sun_k_m2_w, "K m2/W"),
    ROW(trunk_recharge_share, "1"),
    ROW(store_time_h, "h"),
    ROW(warm_gain_per_k, "1/K"),
    ROW(leak_per_h, "1/h"),
    ROW(flow_from_c, "C"),
    ROW(flow_width_k, "K"),
    ROW(full_store_l, "L"),
    {NULL, NULL, 0},
};

struct node {
    double rate_per_h;
    double latent_k;
    double enthalpy_k;
};

struct tree_state {
    struct node branch, trunk;
    struct taphole hole;
    double store; /* share of the full one */
};

static double node_temp_c(const struct node *node)
{
    if (node->enthalpy_k > 0)
        return node->enthalpy_k;
    return fmin(node->enthalpy_k + node->latent_k, 0);
}

static double node_ice(const struct node *node)
{
    return fmin(fmax(-node->enthalpy_k / node->latent_k, 0), 1);
}

static void node_settle(struct node *node, double temp_c)
{
    node->enthalpy_k = temp_c > 0 ? temp_c : temp_c - node->latent_k;
}

/* Returns the share that froze in the step (not what thawed). */
static double node_step(struct node *node, double outside_c, double dt_h)
{
    double before = node_ice(node);
    node->enthalpy_k +=
        node->rate_per_h * (outside_c - node_temp_c(node)) * dt_h;
    return fmax(node_ice(node) - before, 0);
}

static struct tree_state dormant(const struct two_node_numbers *numbers,
                                 const struct forcing *forcing)
{
    struct tree_state state = {
        .branch = {numbers->branch_rate_per_h, numbers->branch_latent_k, 0},
        .trunk = {numbers->trunk_rate_per_h, numbers->trunk_latent_k, 0},
        .store = 0.5,
    };
    int hours = forcing->hours < 24 ? forcing->hours : 24;
    double mean_c = 0;
    for (int hour = 0; hour < hours; hour++)
        mean_c += forcing->air_temp_c[hour] / hours;
    node_settle(&state.branch, mean_c);
    node_settle(&state.trunk, mean_c);
    return state;
}

/* Share of the flow that the air lets through, 0..1. */
static double warmth(const struct two_node_numbers *numbers, double air_temp_c)
{
    double above_k = air_temp_c - numbers->flow_from_c;
    return fmin(fmax(above_k / numbers->flow_width_k + 0.5, 0), 1);
}

/* Share of the full store that leaves in the step. */
static double draw(const struct two_node_numbers *numbers,
                   const struct tree_gathering *gathering, double suction_kpa,
                   struct tree_state *state, double air_temp_c, double dt_h)
{
    if (!state->hole.open)
        return 0;
    double thawed = 1 - node_ice(&state->trunk);
    state->store += gathering->soil_feed_per_kpa_h * suction_kpa * thawed *
                    (1 - state->store) * dt_h;
    double rate_per_h = thawed * (1 - node_ice(&state->branch)) /
                        numbers->store_time_h * warmth(numbers, air_temp_c) *
                        (1 + numbers->warm_gain_per_k * fmax(air_temp_c, 0)) *
                        (1 + gathering->flow_gain_per_kpa * suction_kpa) *
                        taphole_conductance(&state->hole, gathering);
    double out = state->store * (1 - exp(-rate_per_h * dt_h));
    state->store -= out;
    return out;
}

/* One hour; returns the share of the full store that ran. */
static double pass_hour(const struct tree_model *model, double suction_kpa,
                        const struct forcing *forcing, int hour,
                        struct tree_state *state)
{
    const struct two_node_numbers *numbers = model->numbers;
    double now_c = forcing->air_temp_c[hour];
    double next_c =
        hour + 1 < forcing->hours ? forcing->air_temp_c[hour + 1] : now_c;
    double sun_k = numbers->sun_k_m2_w * forcing->shortwave_w_m2[hour];
    double dt_h = 1.0 / STEPS_PER_HOUR, ran = 0;
    for (int step = 0; step < STEPS_PER_HOUR; step++) {
        double air_c = now_c + (next_c - now_c) * (step + 0.5) * dt_h;
        double branch = node_step(&state->branch, air_c + sun_k, dt_h);
        double trunk = node_step(&state->trunk, air_c + sun_k, dt_h);
        state->store += (1 - numbers->trunk_recharge_share) * branch +
                        numbers->trunk_recharge_share * trunk;
        state->store = fmin(state->store, 1);
        ran +=
            draw(numbers, &model->gathering, suction_kpa, state, air_c, dt_h);
        state->store -= state->store * numbers->leak_per_h * dt_h;
    }
    return ran;
}

static void *begin(const struct tree_model *model, const struct tree_site *site,
                   const struct forcing *forcing)
{
    struct tree_state *state = mem_alloc(1, sizeof *state);

    (void)site;
    *state = dormant(model->numbers, forcing);
    return state;
}

static void *state_copy(const void *state)
{
    struct tree_state *copy = mem_alloc(1, sizeof *copy);

    *copy = *(const struct tree_state *)state;
    return copy;
}

static struct tree_hour tell(const struct tree_model *model,
                             const struct tree_state *state, double ran)
{
    const struct two_node_numbers *numbers = model->numbers;

    return (struct tree_hour){
        .sap_l_per_tap =
            ran * (numbers->full_store_l * model->species.volume_share),
        .charge = (float)state->store,
        .branch_ice = (float)node_ice(&state->branch),
        .trunk_ice = (float)node_ice(&state->trunk),
        .wood_temp_c = (float)node_temp_c(&state->trunk),
        .taphole = (float)taphole_conductance(&state->hole, &model->gathering),
    };
}

static void run(const struct tree_model *model, const struct tree_site *site,
                const struct forcing *forcing, int from, int to, void *held,
                struct tree_hour *out)
{
    double suction_kpa = tree_suction_kpa(&model->gathering, site);
    struct tree_state *state = held;

    for (int hour = from; hour < to; hour++) {
        double ran = 0;
        if (forcing->known[hour]) {
            taphole_pass_hour(&state->hole, &model->gathering, site,
                              forcing->start + (utc_s)hour * SECONDS_PER_HOUR,
                              forcing->air_temp_c[hour]);
            ran = pass_hour(model, suction_kpa, forcing, hour, state);
        }
        out[hour - from] = tell(model, state, ran);
    }
}

const struct tree_form two_node_form = {
    .name = "two-node",
    .rows = rows,
    .numbers_size = sizeof(struct two_node_numbers),
    .begin = begin,
    .state_copy = state_copy,
    .state_free = free,
    .run = run,
};
