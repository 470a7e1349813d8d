/* The season: when buds swell and break, when the sap goes off, when to tap
 * and when to pull.
 *
 * A season is named by its spring: season 2026 runs from 1 November 2025 to
 * 31 July 2026. Days are counted within it from 0 (1 November). A position in
 * a season is a number of days: 0.5 is noon of 1 November, and so on.
 *
 * Bud model (docs/model-season.md): from 1 January on warmth gathers from the
 * hourly air temperature T, drawn toward the day's maximum as buds in the sun
 * are, above a base, weighted by a gate that opens with the day's length L,
 *     B = T + share (Tmax - T),
 *     dA/dt = max(B - base, 0) / (1 + exp(-(L - half) / width)),
 * and a stage is reached when
 *     A * exp(effect * (C - C0) / 100) >= warmth of the stage,
 * C being the days of chill since 1 November, up to 1 April; the effect is 0
 * in the files, since it did not earn its place. Day length after the
 * declination of Spencer (1971). Sources of the numbers are in
 * models/buds-*.json and models/season.json.
 *
 * Pure: no clock and no I/O but season_model_load. */
#ifndef TREE_SEASON_H
#define TREE_SEASON_H

#include "base/civil_time.h"
#include "base/digest.h"
#include "base/error.h"
#include "base/trade.h"
#include "weather/daily.h"
#include "weather/series.h"

enum {
    SEASON_MAX_DAYS = 274,
    SEASON_MAX_SPELLS = 16,
    SEASON_MAX_NOTES = 64,
    SEASON_DEFAULT_MEMBERS = 48
};

/* Numbers of a species, from models/buds-SPECIES.json. */
struct season_buds {
    double day_share;         /* pull of the bud toward the day's maximum */
    double base_temp_c;       /* no warmth is gathered below */
    double daylength_half_h;  /* the gate is half open */
    double daylength_width_h; /* logistic width of the gate */
    double chill_temp_c;      /* mean of a day that chills by half */
    double chill_width_k;     /* logistic width of the same */
    double chill_effect;      /* less warmth needed, share per 100 d */
    double chill_reference_d; /* C0 */
    double swell_warmth_kd;   /* half the buds moderately swollen, K d */
    double swell_sd_d;        /* of the date, days */
    double break_warmth_kd;   /* a tenth of the buds broken, K d */
    double break_sd_d;
};

/* Numbers of the season at large, from models/season.json. Harmonics: mean,
 * cosine and sine of the year, cosine and sine of half the year. */
struct season_general {
    double climate_latitude_deg, climate_elevation_m; /* of the curve */
    double climate_min_c[5], climate_max_c[5];
    double climate_per_degree_k; /* colder per degree of latitude */
    double climate_per_km_k;     /* colder per kilometre up */
    double anomaly_sd_k;         /* of a day, about the curve */
    double anomaly_memory;       /* correlation of one day with the next */
    double range_sd_k;           /* of a day's range, about the curve's */
    double range_memory;
    double run_min_c, run_max_c; /* a night below, a day above: run weather */
    double run_mean_c;  /* mean of 5 days below which wood stays hard */
    double run_width_k; /* logistic width of the three */
    double tap_keeps;   /* share of the run weather that tapping late may cost
                           is 1 - this */
    double taphole_ageing; /* per 1000 degree-hours above 4 C */
    double taphole_spent;  /* share of a fresh hole that is not worth it */
    double off_at_swell, off_at_break; /* risk of off-flavour, 0..1 */
    double off_warm_nights;     /* nights without frost before it is felt */
    double off_warm_night_step; /* risk added by each further one */
    double off_warm_most;       /* at most so much from warm nights */
    double off_frost_keeps;     /* share of that risk left after a frost */
    double pull_risk_from, pull_risk_by; /* off-flavour risk that says pull */
    double log_memory_d; /* days until a log note has faded to 1/e */
};

/* Tangent of the sun's declination by day of the year (1 January is 0): the
 * same everywhere and in all years. */
struct season_sun {
    double tan_declination[366];
};

/* The climate that stands in for weather that is missing or still to come:
 * mean least and greatest temperature by day of the year (1 January is 0). */
struct season_climate {
    double min_c[366], max_c[366];
};

struct season_model {
    enum species species;
    struct season_buds buds;
    struct season_general general;
    struct season_sun sun;
    struct season_climate curve; /* at the calibration site */
    char name[32], version[16];
    char digest[DIGEST_SIZE]; /* over both files */
};

/* Reads models/buds-SPECIES.json and models/season.json; one that `folder` has
 * goes before the program's own (NULL: those alone). An unknown key, a wrong
 * unit, a value out of its range or a missing one is refused with file and
 * key. */
int season_model_load(const char *folder, enum species species,
                      struct season_model *out, struct error *err);

/* The built-in curve: that of the calibration site, moved by latitude and
 * elevation as models/season.json says. */
void season_climate_of(const struct season_model *model, double latitude_deg,
                       double elevation_m, struct season_climate *out);
/* The same, reckoned from the numbers each time. */
void season_climate_at(const struct season_general *general,
                       double latitude_deg, double elevation_m,
                       struct season_climate *out);

/* The weather of one season, without gaps. */
struct season_weather {
    int year;   /* of its spring */
    int days;   /* 273, or 274 in a leap year */
    int known;  /* days from the start to the last known one, inclusive */
    int filled; /* days before `known` that had no value of their own */
    bool own[SEASON_MAX_DAYS];          /* the day had both of its values */
    double temp_c[SEASON_MAX_DAYS][24]; /* local standard time */
    double min_c[SEASON_MAX_DAYS], max_c[SEASON_MAX_DAYS];
};

/* First day of the season of a year: day number of 1 November before it. */
int64_t season_first_day(int year);
/* The season that a day belongs to: from 1 November on, the next year's. */
int season_of_day(int64_t day);

/* The rule for missing days. Each extreme is filled for itself, by its
 * departure from the climate: over a gap of up to 7 days on a straight line
 * between its neighbours, over a longer one fading from either side with the
 * day-to-day memory of the weather. Days before the record begins fade the
 * same way. Days after its end are the climate alone with that fading; where
 * dates depend on them season_make replaces them by members. -1 if the record
 * has no day in the season. */
int season_weather_from_daily(const struct daily *daily, int year,
                              const struct season_general *general,
                              const struct season_climate *climate,
                              struct season_weather *out, struct error *err);
/* The same from an hourly series in standard time of offset_s; known hours
 * stand as they are. */
int season_weather_from_series(const struct series *series, int offset_s,
                               int year, const struct season_general *general,
                               const struct season_climate *climate,
                               struct season_weather *out, struct error *err);

/* Another course of the days after `known`: the climate with departures that
 * begin with the last known day's and go on as AR(1) noise, the mean of the
 * day and its range each for itself. Deterministic for
 * a seed and member number. */
void season_weather_member(const struct season_weather *weather,
                           const struct season_general *general,
                           const struct season_climate *climate, uint64_t seed,
                           int member, struct season_weather *out);

/* Warmth toward bud break at the end of each day, chill included. */
struct season_course {
    int days;
    double warmth_kd[SEASON_MAX_DAYS]; /* A * exp(effect * (C - C0) / 100) */
    double chill_d[SEASON_MAX_DAYS];   /* C */
};

void season_course_run(const struct season_buds *buds,
                       const struct season_weather *weather,
                       double latitude_deg, struct season_course *out);
/* Position where the warmth is reached, or -1 if it is not by 31 July. */
double season_course_reach(const struct season_course *course,
                           double warmth_kd);
/* Length of the day in hours; day of the year counts from 1. */
double season_day_length_h(double latitude_deg, int day_of_year);

/* What the operator's log says of the sap; moves the off-flavour risk. */
enum season_note_kind {
    SEASON_NOTE_CLEAN,    /* tasted good */
    SEASON_NOTE_DARK,     /* a darker draw than the days before */
    SEASON_NOTE_MILKY,    /* cloudy or yellowish sap */
    SEASON_NOTE_OFF_TASTE /* off-flavour found */
};

struct season_note {
    struct civil_date date;
    enum season_note_kind kind;
};

struct season_site {
    double latitude, longitude, elevation_m;
    bool tapped; /* false: the season proposes the day */
    struct civil_date tapped_on;
    /* Share of a fresh hole's conductance left at the end of taphole_on, as
     * the sap model or the operator knows it; used if has_taphole. */
    bool has_taphole;
    struct civil_date taphole_on;
    double taphole_left;
    const struct season_note *notes; /* borrowed, may be NULL */
    int note_count;
};

/* A date as a distribution. */
struct season_date {
    bool known; /* false: not reached by 31 July in most members */
    struct civil_date p10, p50, p90;
};

enum season_stage {
    SEASON_DORMANT, /* before tapping is worth it */
    SEASON_EARLY,   /* the first fifth of the season's run weather */
    SEASON_MAIN,
    SEASON_LATE,    /* the last fifth */
    SEASON_BUDDING, /* an off-flavour is likely */
    SEASON_OVER,
    SEASON_STAGE_COUNT
};

/* Days of run weather one after another, with at most one other between. */
struct season_spell {
    struct civil_date first, last;
    double run_days; /* sum of the days' run weather, each 0..1 */
};

struct season_day {
    double run_weather; /* 0..1: a night that freezes, a day that thaws */
    double off_flavour; /* risk, 0..1 */
    double taphole;     /* share of a fresh hole left at the end of the day */
    enum season_stage stage;
    bool known;  /* not past the last day with weather of its own */
    bool filled; /* known, but of a gap in the weather, closed by the rule */
};

struct season {
    int year;
    enum species species;
    struct season_date swell;     /* half the buds moderately swollen */
    struct season_date bud_break; /* a tenth of the buds broken */
    bool has_tap_from;
    struct civil_date tap_from; /* proposed */
    bool has_start;             /* tapped on, or else tap_from */
    struct civil_date start;
    bool has_taphole_end; /* the hole is spent before the buds end it */
    struct civil_date taphole_end;
    bool has_pull; /* pull the taps between these days */
    struct civil_date pull_from, pull_by;
    struct season_spell spells[SEASON_MAX_SPELLS]; /* main runs, by date */
    int spell_count;
    /* The last spell that begins on or before the last known day and is not
     * over by then, or is still ahead in the known weather, if in most
     * members no good run follows it. */
    bool has_last_good_run;
    struct season_spell last_good_run;
    double chance_of_more; /* that a good run follows the last known spell */
    int64_t first_day;     /* day number of days[0] */
    int day_count;
    int known_days, filled_days;
    struct season_day days[SEASON_MAX_DAYS];
};

/* Makes the season. `weathers` are equally likely (an ensemble's members, or
 * one); where the known weather ends before an event, `members` courses of
 * the climate are drawn for each, deterministic for the seed. `now` is the
 * last day that has passed: what lies after it is ahead. Never fails; the
 * caller frees with season_free. */
struct season *season_make(const struct season_model *model,
                           const struct season_site *site,
                           const struct season_climate *climate,
                           const struct season_weather *const *weathers,
                           int weather_count, struct civil_date now,
                           int members, uint64_t seed);
/* The same for courses that are laid out one after another, in memory of
 * which there is once: `lay` fills `out` with one of `count`, all of one year
 * and as many days. The first is that of the season's days. From the second on
 * `out` holds the one before, with other days after its last known one. Returns
 * a number of days from the start, at most the known ones, that are as in the
 * first: what is told so is not compared. */
struct season_courses {
    int count;
    int (*lay)(const void *self, int number, struct season_weather *out);
    const void *self;
};
struct season *season_make_of(const struct season_model *model,
                              const struct season_site *site,
                              const struct season_climate *climate,
                              const struct season_courses *courses,
                              struct civil_date now, int members,
                              uint64_t seed);
void season_free(struct season *season);

/* The stage's word in JSON and tables ("early"), borrowed. */
const char *season_stage_word(enum season_stage stage);

#endif
