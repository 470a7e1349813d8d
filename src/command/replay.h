/* The parts of `thawbell replay`: its options, the weather it reads, and how
 * it shows what came out. */
#ifndef COMMAND_REPLAY_H
#define COMMAND_REPLAY_H

#include <cjson/cJSON.h>

#include "command/options.h"
#include "outlook/replay.h"
#include "tree/season.h"
#include "weather/daily.h"

/* The command's own options, ends with a NULL name. */
extern const struct option_row replay_rows[];

struct replay_options {
    const char *weather_path; /* "-" is standard input */
    const char *sap_path;     /* NULL: the season alone */
    const char *svg_path;     /* NULL: no chart */
    enum species species;
    enum gathering gathering;
    double bucket_l; /* 0: no limit */
    double latitude, longitude, elevation_m;
    struct replay_setting setting;
    bool json;
    enum unit_system units;
};

/* 0, or -1 with a sentence that names the option. */
int replay_options_read(const struct options *options,
                        struct replay_options *out, struct error *err);

/* Past weather: hourly, or days of any number of years. */
struct replay_weather {
    struct series *series; /* owned; NULL if the file is daily */
    struct daily *daily;   /* owned; always there */
};

int replay_weather_read(const struct replay_options *options,
                        struct replay_weather *out, struct error *err);
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
