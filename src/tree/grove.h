/* Trees of one bush side by side, each in its own air: a stem of shells round
 * its pith, branches as one body of wood, and the sap of both. Inside tree/
 * only; what the sap does, and where that is from, stands in stem.c.
 *
 * Heat is that of stem_heat.h, with its kernel, in steps of ten minutes, in
 * single precision, and with the faces of the shells as their ice was at the
 * hour's beginning. On three seasons of open weather (MacLeish Field Station,
 * 2012, 2013, 2015; CC0) the season's sap is within 0.0005 % of that in double
 * precision, and with the faces of each step within 0.06 %; how far the heat
 * is off is held in tests/unit/tree/test_grove.c. Closed forms stand in place
 * of calls, the same for a number and for vectors:
 *  - 1 - exp(-x) by the first five terms of its series at x / 2^n, doubled n
 *    times, n such that x / 2^n is at most an eighth, or 6: within 1e-6 of it
 *    for any x >= 0;
 *  - a branch's step with two divisions in place of four.
 * A tree's numbers are the same to the last bit alone and beside others, and
 * whatever vectors the machine has. */
#ifndef TREE_GROVE_H
#define TREE_GROVE_H

#include <stdbool.h>

#include "tree/form.h"
#include "tree/stem_heat.h"

/* What trees go side by side in, from narrow to wide, and the widest that this
 * machine has. */
enum grove_vectors { GROVE_PLAIN, GROVE_AVX2, GROVE_AVX512 };
enum grove_vectors grove_widest(void);
enum { GROVE_MOST_LANES = 32 };

/* Numbers of the form, models/stem.json. */
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

/* What an hour is for all trees. */
struct grove_hour {
    double stem_film_w_m2_k, branch_film_w_m2_k;
    double absorbed_w_m2; /* of the sun, mean over the bark */
    bool open;            /* sap can run out of the holes */
    bool ages;            /* the holes are those of taps, and age */
};

/* How one of the trees stands. */
struct grove_tree {
    double store; /* share of a full one, 0..1 */
    double branch_ice, stem_ice;
    double wood_temp_c; /* half way to the hole's end */
    double taphole;     /* conductance left, 0..1 */
};

struct grove; /* opaque; freed with grove_free */

/* One tree in balance with air of mean_c, its store half full. Numbers and
 * gathering are borrowed. */
struct grove *grove_new(const struct stem_numbers *numbers,
                        const struct tree_gathering *gathering,
                        double suction_kpa, double mean_c);
/* The first tree of a grove, alone, or side by side: as often as a vector
 * holds, or two of them if there are more trees to come than one holds. Of two
 * vectors one is reckoned while sums of the other are waited for; no vectors
 * beyond the widest of this machine. */
struct grove *grove_copy(const struct grove *grove);
struct grove *grove_multiply(const struct grove *grove,
                             enum grove_vectors vectors, int trees);
/* Trees that it holds. */
int grove_lanes(const struct grove *grove);
void grove_free(struct grove *grove);

/* The air of a tree at the hour's beginning and end. */
void grove_set_air(struct grove *grove, int lane, double now_c, double next_c);
void grove_pass_hour(struct grove *grove, const struct grove_hour *hour);
/* An hour whose weather nobody knows: all stays, nothing runs. */
void grove_rest(struct grove *grove);
/* Share of a full store that ran from a tree in the last hour. */
double grove_ran(const struct grove *grove, int lane);
struct grove_tree grove_tell(const struct grove *grove, int lane);

#endif
