/* The options of `thawbell replay`. */
#include <stdlib.h>
#include <string.h>

#include "base/words.h"
#include "command/replay.h"

/* Buckets of the trade hold 3 to 4 US gallons: common practice, no source. */
#define USUAL_BUCKET_L (3.5 * L_PER_US_GALLON)

enum own { OWN_SVG = OWN_PAST_COUNT, OWN_MODELS, OWN_PLAN, OWN_FORECASTS };

enum { USUAL_FORECASTS = 5, MOST_FORECASTS = 100 };

const struct option_row replay_rows[] = {
    PAST_ROWS,
    [OWN_SAP] = {"--sap", 0, N_("FILE"),
                 N_("what was collected: CSV date,sap_l; without it, the "
                    "season that the weather makes")},
    [OWN_SVG] = {"--svg", 0, N_("FILE"), N_("write a chart")},
    [OWN_MODELS] = {"--models", 0, N_("FOLDER"),
                    N_("parameter files that go before the program's own, "
                       "such as those of \"thawbell fit\"")},
    [OWN_PLAN] = {"--plan", 0, NULL,
                  N_("run the planner through the season, with --operation "
                     "FILE: its bushes, tanks and hours")},
    [OWN_FORECASTS] = {"--forecasts", 0, N_("N"),
                       N_("with --plan: the mean of so many courses of "
                          "forecasts, each wrong in its own way; 5 if not "
                          "told")},
    {NULL, 0, NULL, NULL},
};

static int read_species(const char *word, enum species *out, struct error *err)
{
    const char *known[SPECIES_COUNT];
    const char *refusal = species_refusal(word), *nearest;
    int species = species_from_word(word);

    if (species >= 0) {
        *out = (enum species)species;
        return 0;
    }
    if (refusal) {
        return error_set(err, "--species %s: %s", word, refusal);
    }
    for (int i = 0; i < SPECIES_COUNT; i++) {
        known[i] = species_word((enum species)i);
    }
    nearest = nearest_word(word, known, SPECIES_COUNT);
    if (nearest) {
        return error_set(err,
                         _("--species %s: not known; did you mean \"%s\"?"),
                         word, nearest);
    }
    return error_set(err,
                     _("--species %s: not known; \"%s\" or \"%s\", for "
                       "example"),
                     word, known[0], known[SPECIES_RED_MAPLE]);
}

static int read_gathering(const char *word, enum gathering *out,
                          struct error *err)
{
    int gathering = gathering_from_word(word);

    if (gathering < 0) {
        return error_set(err,
                         _("--gathering %s: not known; buckets, gravity "
                           "tubing or vacuum"),
                         word);
    }
    *out = (enum gathering)gathering;
    return 0;
}

static int read_degrees(const char *name, const char *word, double most,
                        double *out, struct error *err)
{
    if (!number_parse(word, strlen(word), out) || *out < -most || *out > most) {
        return error_set(err, _("%s %s: degrees from %g to %g are wanted"),
                         name, word, -most, most);
    }
    return 0;
}

/* "17:00" as seconds after midnight. */
static bool read_clock(const char *word, int *out)
{
    const char *colon = strchr(word, ':');
    char hours[3] = "";
    long hour, minute;

    if (!colon || colon == word || colon - word > 2 || strlen(colon + 1) != 2) {
        return false;
    }
    memcpy(hours, word, (size_t)(colon - word));
    if (!integer_parse(hours, 0, 23, &hour) ||
        !integer_parse(colon + 1, 0, 59, &minute)) {
        return false;
    }
    *out = (int)(hour * SECONDS_PER_HOUR + minute * 60);
    return true;
}

static int read_offset(const char *word, int *out, struct error *err)
{
    int sign = word[0] == '-' ? -1 : 1;
    const char *clock = word[0] == '-' || word[0] == '+' ? word + 1 : word;
    int seconds;

    if (strcmp(word, "Z") == 0) {
        *out = 0;
        return 0;
    }
    if (!read_clock(clock, &seconds) || seconds > 14 * SECONDS_PER_HOUR) {
        return error_set(err,
                         _("--utc-offset %s: one such as -05:00 is "
                           "wanted"),
                         word);
    }
    *out = sign * seconds;
    return 0;
}

static int read_place(const struct options *options, struct replay_options *out,
                      struct error *err)
{
    const char *latitude = options->own[OWN_LATITUDE];
    const char *longitude = options->own[OWN_LONGITUDE];
    const char *elevation = options->own[OWN_ELEVATION];
    const char *offset = options->own[OWN_UTC_OFFSET];

    if (latitude &&
        read_degrees("--latitude", latitude, 66.0, &out->latitude, err)) {
        return -1;
    }
    if (longitude &&
        read_degrees("--longitude", longitude, 180.0, &out->longitude, err)) {
        return -1;
    }
    if (elevation &&
        quantity_parse(elevation, DIMENSION_HEIGHT_M, &out->elevation_m, err)) {
        return error_prefix(err, "--elevation: ");
    }
    return offset ? read_offset(offset, &out->setting.offset_s, err) : 0;
}

static int read_taps(const struct options *options, struct replay_options *out,
                     struct error *err)
{
    const char *word = options->own[OWN_TAPS];
    long taps = 0;

    if (!word && out->sap_path) {
        return error_set(err, _("--sap needs --taps, the number of taps that "
                                "were collected from"));
    }
    if (word && !integer_parse(word, 1, 1000000, &taps)) {
        return error_set(err, _("--taps %s: a whole number from 1 is wanted"),
                         word);
    }
    out->setting.taps = (int)taps;
    return 0;
}

static int read_collecting(const struct options *options,
                           struct replay_options *out, struct error *err)
{
    const char *tapped = options->own[OWN_TAPPED];
    const char *at = options->own[OWN_COLLECTED_AT];
    const char *bucket = options->own[OWN_BUCKET];

    if (out->gathering == GATHERING_BUCKETS) {
        out->bucket_l = USUAL_BUCKET_L;
    }
    if (tapped && iso_date_parse(tapped, &out->setting.tapped, err)) {
        return error_prefix(err, "--tapped: ");
    }
    out->setting.has_tapped = tapped != NULL;
    if (at && !read_clock(at, &out->setting.collected_at_s)) {
        return error_set(err,
                         _("--collected-at %s: one such as 17:00 is "
                           "wanted"),
                         at);
    }
    if (bucket &&
        quantity_parse(bucket, DIMENSION_VOLUME_L, &out->bucket_l, err)) {
        return error_prefix(err, "--bucket: ");
    }
    return read_taps(options, out, err);
}

int past_options_read(const struct options *options, struct replay_options *out,
                      struct error *err)
{
    *out = (struct replay_options){
        .weather_path = options->own[OWN_WEATHER],
        .sap_path = options->own[OWN_SAP],
        .latitude = 44.0,
        .longitude = -72.0,
        .elevation_m = 300.0,
        .json = options->json,
        .units = options->has_units ? options->units : UNITS_METRIC,
        .setting = {.offset_s = -5 * SECONDS_PER_HOUR,
                    .collected_at_s = 13 * SECONDS_PER_HOUR},
    };
    if (!out->weather_path) {
        return error_set(err, _("--weather FILE is needed: past weather as "
                                "CSV"));
    }
    if (options->own[OWN_SPECIES] &&
        read_species(options->own[OWN_SPECIES], &out->species, err)) {
        return -1;
    }
    if (options->own[OWN_GATHERING] &&
        read_gathering(options->own[OWN_GATHERING], &out->gathering, err)) {
        return -1;
    }
    if (read_place(options, out, err)) {
        return -1;
    }
    return read_collecting(options, out, err);
}

static int read_plan(const struct options *options, struct replay_options *out,
                     struct error *err)
{
    const char *word = options->own[OWN_FORECASTS];
    long forecasts = USUAL_FORECASTS;

    out->plan = options->own[OWN_PLAN] != NULL;
    out->operation = options->operation;
    if (out->plan && out->operation == NULL)
        return error_set(err, "%s",
                         _("--plan needs --operation FILE, a configuration "
                           "with its bushes and sugarhouse"));
    if (out->plan && out->sap_path)
        return error_set(err, "%s",
                         _("--plan and --sap are two replays; leave one "
                           "out"));
    if (word && !out->plan)
        return error_set(err, "%s", _("--forecasts goes with --plan"));
    if (word && !integer_parse(word, 1, MOST_FORECASTS, &forecasts))
        return error_set(err,
                         _("--forecasts %s: a whole number from 1 to %d is "
                           "wanted"),
                         word, MOST_FORECASTS);
    out->forecasts = (int)forecasts;
    return 0;
}

int replay_options_read(const struct options *options,
                        struct replay_options *out, struct error *err)
{
    if (past_options_read(options, out, err))
        return -1;
    out->svg_path = options->own[OWN_SVG];
    out->models = options->own[OWN_MODELS];
    return read_plan(options, out, err);
}
