/* The parts of `thawbell replay`: its options, the weather it reads, and how
 * it shows what came out. */
#ifndef COMMAND_REPLAY_H
#define COMMAND_REPLAY_H

#include <cjson/cJSON.h>

#include "command/options.h"
#include "outlook/replay.h"
#include "tree/season.h"
#include "weather/daily.h"

/* Options that replay and fit share; each adds [OWN_SAP] and its own. */
enum past_own {
    OWN_WEATHER,
    OWN_SAP,
    OWN_TAPS,
    OWN_SPECIES,
    OWN_GATHERING,
    OWN_BUCKET,
    OWN_TAPPED,
    OWN_COLLECTED_AT,
    OWN_LATITUDE,
    OWN_LONGITUDE,
    OWN_ELEVATION,
    OWN_UTC_OFFSET,
    OWN_PAST_COUNT
};

/* clang-format off */
#define PAST_ROWS                                                              \
    [OWN_WEATHER] = {"--weather", 0, N_("FILE"),                               \
                     N_("past weather: CSV, hourly (time,air_temp_c,...) or "  \
                        "daily (date,tmin_c,tmax_c)")},                        \
    [OWN_TAPS] = {"--taps", 0, N_("N"),                                        \
                  N_("number of taps collected from")},                        \
    [OWN_SPECIES] = {"--species", 0, N_("NAME"),                               \
                     N_("sugar maple (the usual), red maple, silver maple, "   \
                        "box elder, ...")},                                    \
    [OWN_GATHERING] = {"--gathering", 0, N_("METHOD"),                         \
                       N_("buckets (the usual), gravity tubing or vacuum")},   \
    [OWN_BUCKET] = {"--bucket", 0, N_("VOLUME"),                               \
                    N_("what a bucket holds, such as \"4 gal\" (3.5 gal if "   \
                       "not told); more is lost")},                            \
    [OWN_TAPPED] = {"--tapped", 0, N_("DATE"),                                 \
                    N_("day of tapping; the usual: the day before the first "  \
                       "collection")},                                         \
    [OWN_COLLECTED_AT] = {"--collected-at", 0, N_("HH:MM"),                    \
                          N_("hour of collecting, 13:00 if not told")},        \
    [OWN_LATITUDE] = {"--latitude", 0, N_("DEGREES"),                          \
                      N_("of the bush, north positive; 44 if not told")},      \
    [OWN_LONGITUDE] = {"--longitude", 0, N_("DEGREES"),                        \
                       N_("of the bush, east positive; -72 if not told")},     \
    [OWN_ELEVATION] = {"--elevation", 0, N_("HEIGHT"),                         \
                       N_("of the bush, such as \"1480 ft\"; 300 m if not "    \
                          "told")},                                            \
    [OWN_UTC_OFFSET] = {"--utc-offset", 0, N_("HH:MM"),                        \
                        N_("of the clock in the files, such as -05:00 (the "   \
                           "usual)")}
/* clang-format on */

/* The command's own options, ends with a NULL name. */
extern const struct option_row replay_rows[];

struct replay_options {
    const char *weather_path; /* "-" is standard input */
    const char *sap_path;     /* NULL: the season alone */
    const char *svg_path;     /* NULL: no chart */
    const char *models;       /* a folder of parameter files, or NULL */
    bool plan;                /* run the planner, by the operation's file */
    int forecasts;            /* courses of forecasts that it plans on */
    const char *operation;    /* its path, or NULL */
    enum species species;
    enum gathering gathering;
    double bucket_l; /* 0: no limit */
    double vacuum_kpa, fall_m;
    double latitude, longitude, elevation_m;
    struct replay_setting setting;
    bool json;
    enum unit_system units;
};

/* 0, or -1 with a sentence that names the option. The first reads those of
 * PAST_ROWS and --sap alone. */
int past_options_read(const struct options *options, struct replay_options *out,
                      struct error *err);
int replay_options_read(const struct options *options,
                        struct replay_options *out, struct error *err);

/* Past weather: hourly, or days of any number of years. */
struct replay_weather {
    struct series *series; /* owned; NULL if the file is daily */
    struct daily *daily;   /* owned; always there */
};

int replay_weather_read(const struct replay_options *options,
                        struct replay_weather *out, struct error *err);
/* The collections of options->sap_path; the caller frees *out. */
int replay_sap_read(const struct replay_options *options,
                    struct replay_collection **out, int *count,
                    struct error *err);
void replay_weather_free(struct replay_weather *weather);
/* The hourly series around the days [first, last]: the file's own, or made
 * from its days. Owned by the caller; NULL and a sentence if it has none. */
struct series *replay_weather_series(const struct replay_weather *weather,
                                     const struct replay_options *options,
                                     int64_t first, int64_t last,
                                     struct error *err);

/* The seasons that the weather makes, one after another, each with all
 * species. */
struct replay_season {
    struct season *of[SPECIES_COUNT]; /* owned */
};

struct replay_seasons {
    struct replay_season *rows; /* owned */
    int count;
    char model_name[32], model_version[16], model_digest[DIGEST_SIZE];
};

int replay_seasons_make(const struct replay_weather *weather,
                        const struct replay_options *options,
                        struct replay_seasons *out, struct error *err);
void replay_seasons_free(struct replay_seasons *seasons);

/* JSON and words of what came out (schema in docs/replay.md). The caller
 * frees. */
cJSON *replay_seasons_json(const struct replay_seasons *seasons,
                           enum species species);
void replay_seasons_show(const struct replay_seasons *seasons,
                         enum species species);
cJSON *replay_sap_json(const struct replay *replay);
void replay_sap_show(const struct replay *replay, enum unit_system units);

/* Charts, as text of SVG 1.1; the caller frees. */
char *replay_sap_svg(const struct replay *replay);
char *replay_season_svg(const struct season *season);

int command_replay(const struct options *options);

#endif
