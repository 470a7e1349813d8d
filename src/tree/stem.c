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
 * Form and numbers: docs/model-calibration.md; how it is reckoned: grove.h. */
#include <stdlib.h>

#include "base/memory.h"
#include "tree/film.h"
#include "tree/grove.h"

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

/* The films of stem and branches, which stay while the wind does. */
struct films {
    double wind_m_s;
    double stem_w_m2_k, branch_w_m2_k;
};

static double first_day_mean_c(const struct forcing *forcing)
{
    int hours = forcing->hours < 24 ? forcing->hours : 24;
    double mean_c = 0;
    for (int hour = 0; hour < hours; hour++)
        mean_c += forcing->air_temp_c[hour] / hours;
    return mean_c;
}

static void *begin(const struct tree_model *model, const struct tree_site *site,
                   const struct forcing *forcing)
{
    return grove_new(model->numbers, &model->gathering,
                     tree_suction_kpa(&model->gathering, site),
                     first_day_mean_c(forcing));
}

static void *state_copy(const void *state)
{
    return grove_copy(state);
}

static void state_free(void *state)
{
    grove_free(state);
}

static void see_wind(struct films *films, const struct stem_numbers *numbers,
                     double wind_m_s)
{
    double in_bush_m_s = numbers->wind_share * wind_m_s;

    if (films->stem_w_m2_k > 0 && wind_m_s == films->wind_m_s)
        return;
    films->wind_m_s = wind_m_s;
    films->stem_w_m2_k = film_w_m2_k(2 * numbers->stem_radius_m, in_bush_m_s);
    films->branch_w_m2_k =
        film_w_m2_k(2 * numbers->branch_radius_m, in_bush_m_s);
}

/* What the hour is for all trees. */
static struct grove_hour hour_of(const struct tree_model *model,
                                 const struct tree_site *site,
                                 const struct forcing *forcing, int hour,
                                 struct films *films)
{
    const struct stem_numbers *numbers = model->numbers;
    utc_s instant = forcing->start + (utc_s)hour * SECONDS_PER_HOUR;
    bool open = !site->tapped || instant >= site->tapped_at;

    see_wind(films, numbers, forcing->wind_m_s[hour]);
    return (struct grove_hour){.stem_film_w_m2_k = films->stem_w_m2_k,
                               .branch_film_w_m2_k = films->branch_w_m2_k,
                               .absorbed_w_m2 = numbers->sun_share *
                                                forcing->shortwave_w_m2[hour],
                               .open = open,
                               .ages = open && site->tapped};
}

static double litres(const struct tree_model *model, double ran)
{
    const struct stem_numbers *numbers = model->numbers;

    return ran * (numbers->full_store_l * model->species.volume_share);
}

static struct tree_hour tell(const struct tree_model *model,
                             const struct grove *grove)
{
    struct grove_tree tree = grove_tell(grove, 0);

    return (struct tree_hour){
        .sap_l_per_tap = litres(model, grove_ran(grove, 0)),
        .charge = (float)tree.store,
        .branch_ice = (float)tree.branch_ice,
        .trunk_ice = (float)tree.stem_ice,
        .wood_temp_c = (float)tree.wood_temp_c,
        .taphole = (float)tree.taphole,
    };
}

static int hour_after(const struct forcing *forcing, int hour)
{
    return hour + 1 < forcing->hours ? hour + 1 : hour;
}

static void run(const struct tree_model *model, const struct tree_site *site,
                const struct forcing *forcing, int from, int to, void *held,
                struct tree_hour *out)
{
    const double *air_c = forcing->air_temp_c;
    struct grove *grove = held;
    struct films films = {0};

    for (int hour = from; hour < to; hour++) {
        struct tree_hour *row = out + (hour - from);

        if (forcing->known[hour]) {
            struct grove_hour weather =
                hour_of(model, site, forcing, hour, &films);

            grove_set_air(grove, 0, air_c[hour],
                          air_c[hour_after(forcing, hour)]);
            grove_pass_hour(grove, &weather);
        } else if (hour > from) {
            /* All stays as it was told. */
            *row = row[-1];
            row->sap_l_per_tap = 0;
            continue;
        } else {
            grove_rest(grove);
        }
        *row = tell(model, grove);
    }
}

/* As many groves as hold a tree for each of the airs. */
struct groves {
    struct grove **each; /* owned */
    int count;
};

static struct groves plant(const struct grove *one, int trees)
{
    struct groves groves = {
        .each = mem_alloc((size_t)trees, sizeof(struct grove *))};

    for (int at = 0; at < trees;) {
        struct grove *grove = grove_multiply(one, grove_widest(), trees - at);

        groves.each[groves.count++] = grove;
        at += grove_lanes(grove);
    }
    return groves;
}

static void clear(struct groves *groves)
{
    for (int i = 0; i < groves->count; i++)
        grove_free(groves->each[i]);
    free(groves->each);
}

/* Trees of a grove from number `at` on; those that are too many have the last
 * air too. */
static void set_airs(struct grove *grove, int at, const struct tree_air *air,
                     int row, int after)
{
    for (int i = 0; i < grove_lanes(grove); i++) {
        const double *air_c =
            air->temp_c[at + i < air->count ? at + i : air->count - 1];

        grove_set_air(grove, i, air_c[row], air_c[after]);
    }
}

static void tell_sap(const struct tree_model *model, const struct grove *grove,
                     int at, int count, int row, double *const *sap_l_per_tap)
{
    for (int i = 0; i < grove_lanes(grove) && at + i < count; i++)
        if (sap_l_per_tap[at + i])
            sap_l_per_tap[at + i][row] = litres(model, grove_ran(grove, i));
}

static void run_airs(const struct tree_model *model,
                     const struct tree_site *site,
                     const struct forcing *forcing, const struct tree_air *air,
                     int from, int to, const void *held,
                     double *const *sap_l_per_tap, struct tree_hour *first)
{
    struct groves groves = plant(held, air->count);
    struct films films = {0};

    for (int hour = from; hour < to; hour++) {
        struct grove_hour weather = hour_of(model, site, forcing, hour, &films);
        int at = 0;

        for (int i = 0; i < groves.count; i++) {
            struct grove *grove = groves.each[i];

            set_airs(grove, at, air, hour - from,
                     hour_after(forcing, hour) - from);
            if (forcing->known[hour])
                grove_pass_hour(grove, &weather);
            else
                grove_rest(grove);
            tell_sap(model, grove, at, air->count, hour - from, sap_l_per_tap);
            at += grove_lanes(grove);
        }
        if (first)
            first[hour - from] = tell(model, groves.each[0]);
    }
    clear(&groves);
}

const struct tree_form stem_form = {
    .name = "stem",
    .rows = rows,
    .numbers_size = sizeof(struct stem_numbers),
    .begin = begin,
    .state_copy = state_copy,
    .state_free = state_free,
    .run = run,
    .run_side_by_side = run_airs,
};
