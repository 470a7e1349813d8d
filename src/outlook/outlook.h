/* A score per civil day of the bush: how much, when, how sure, and why. */
#ifndef OUTLOOK_OUTLOOK_H
#define OUTLOOK_OUTLOOK_H

#include "base/civil_time.h"
#include "base/trade.h"
#include "tree/tree.h"
#include "weather/members.h"
#include "weather/series.h"

/* A run is 0.4 L per tap in a civil day (docs/guide.md, "fair run"). */
#define OUTLOOK_RUN_L_PER_TAP 0.4

struct outlook_day {
    struct civil_date date;
    /* Weather for at least 90 % of the day's hours, and, where the series
     * reaches back to the noon before, for half of those up to midnight. What
     * is not known is not guessed: all below but the hours and `past` is then
     * 0. */
    bool known;
    int day_hours; /* 23, 24 or 25 */
    int known_hours;
    /* Sap per tap in the day, litres. */
    double sap_l_per_tap_p10, sap_l_per_tap_p50, sap_l_per_tap_p90;
    double chance;          /* of a run, 0..1 */
    enum strength strength; /* of the median */
    /* The run's hours: the stretch with the most sap in which the hourly
     * median stays above a tenth of the day's peak and above a floor
     * (window.h); cut at midnight. False on a day of strength none, and where
     * the members agree on no hour. run_peak is the start of the hour with
     * the most sap. */
    bool has_window;
    utc_s run_start, run_end, run_peak;
    /* How sure its hours are: 1 and 9 in 10 of the members that run begin and
     * end by these. False on a day of strength none, and where fewer than half
     * of the members, or one alone, have a window. */
    bool has_window_span;
    utc_s run_start_p10, run_start_p90, run_end_p10, run_end_p90;
    /* What drives it. */
    double min_c, max_c, mean_c; /* air, of the merged series */
    double freeze_degree_hours;  /* below 0 C, from noon before to noon */
    double thaw_degree_hours;    /* above 0 C in the day */
    double charge;               /* the store at the start of the day, 0..1 */
    double recharge; /* added to it from noon before to noon, 0 or more */
    double branch_ice_max, trunk_ice_max; /* noon before to noon, 0..1 */
    double wood_min_c, wood_max_c;        /* in the day */
    double taphole; /* conductance left at the day's end, 0..1 */
    bool has_spread;
    double source_spread_k; /* largest between the sources in the day */
    double rule_a_l_per_tap, rule_b_l_per_tap;
    bool past; /* the whole day lies before now */
};

struct outlook {
    struct outlook_day *days; /* owned, by date */
    int count;
    int member_count;
    /* Hourly flow of the median, on the series' hours. */
    utc_s start;
    int hours;
    double *sap_l_per_tap; /* owned: median over the members */
    double *sap_l_per_tap_p10, *sap_l_per_tap_p90; /* owned */
    /* Air of the members on the same hours, degrees C; owned, NULL without
     * members. What the weather does not know is no less guessed here: see
     * the series for the hours that are known. */
    double *air_temp_c_p10, *air_temp_c_p90;
    /* Hourly flow of each member, for the plan: [member * (hours -
     * member_first) + row - member_first]; rows before member_first are the
     * same for all (sap_l_per_tap). Owned; NULL when read back. */
    double *member_sap_l_per_tap;
    int member_first;
    char model_name[32], model_version[16], model_digest[DIGEST_SIZE];
};

/* Strength of a volume per tap in a day. The bounds for buckets: weeping
 * from 0.1 L, fair run from 0.4, good run from 2, big run from 4.5 (a
 * gallon on a good run day and two as a practical maximum: common practice,
 * no source); on pumped vacuum twice these. */
enum strength outlook_strength(double sap_l_per_tap, enum gathering gathering);

/* The tree is run once for the merged series (its course gives the drivers)
 * and once a member. Quantiles are interpolated between members (Hyndman and
 * Fan 1996, American Statistician 50:361-365, type 7); the chance is the
 * share of members with a run.
 *
 * Scores `day_count` civil days from first_day (may lie before now). members
 * may be NULL: the single series is then the only member. `others` are the
 * sources' own series, for the spread; may be NULL. The caller frees with
 * outlook_free. */
struct outlook *
outlook_make(const struct tree_model *model, const struct tree_site *site,
             const struct zone *zone, const struct series *series,
             const struct members *members, const struct series *const *others,
             int other_count, utc_s now, struct civil_date first_day,
             int day_count);
void outlook_free(struct outlook *outlook);

/* The taps are out from that day on: nothing runs into bucket or line any more,
 * whatever the trees do. The drivers (air, ice, wood) stay. */
void outlook_pulled(struct outlook *outlook, const struct zone *zone,
                    struct civil_date pulled);

/* Litres per tap of a member in an hour of the series' grid; 0 outside it. */
double outlook_member_l_per_tap(const struct outlook *outlook, int member,
                                int row);

#endif
