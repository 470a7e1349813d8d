/* The bulletin: all that is told, one immutable value. Every publisher reads
 * it and nothing else; it is written as JSON (docs/bulletin.md,
 * docs/bulletin.schema.json) and read back by the client. SI inside; times
 * are UTC instants. The JSON gives each time with its local offset and lists
 * the offsets in force, so that a reader needs no zone data.
 *
 * A later version adds keys to the JSON; a reader passes over keys it does not
 * know. */
#ifndef PUBLISH_BULLETIN_H
#define PUBLISH_BULLETIN_H

#include "base/civil_time.h"
#include "base/error.h"
#include "base/trade.h"
#include "base/units.h"
#include "outlook/outlook.h"
#include "publish/saying.h"
#include "tree/season.h"
#include "weather/series.h"

enum {
    BULLETIN_VERSION = 1,
    BULLETIN_MAX_OFFSETS = 8,
    BULLETIN_MAX_BYTES = 4 * 1024 * 1024 /* more is no bulletin */
};

/* A service whose values are shown, and how it is. */
struct bulletin_source {
    char name[32];
    char credit[128], credit_url[128];
    utc_s issued;  /* 0: the service does not tell */
    utc_s fetched; /* of the values in use; 0: none yet */
    bool in_use;
    char trouble[512];   /* "" or what is wrong, in a sentence */
    utc_s trouble_since; /* 0: not known */
};

/* A day of the season: those of the outlook. */
struct bulletin_season_day {
    struct civil_date date;
    enum season_stage stage;
    double off_flavour; /* risk, 0..1 */
};

enum { BULLETIN_SEASON_DAYS = 16 };

/* How the season of a bush stands (tree/season.h says what the words mean). A
 * date of year 0 is none. */
struct bulletin_season {
    int year; /* of its spring */
    struct season_date swell, bud_break;
    struct civil_date tapped, pulled; /* as logged or configured */
    struct civil_date tap_from;       /* tapping pays from here on */
    struct civil_date pull_from, pull_by;
    /* The run that is likely the last good one, while it is not over. */
    struct civil_date last_run_first, last_run_last;
    double chance_of_more; /* that a good run follows what is in sight */
    bool has_taphole;
    double taphole;                  /* left of a fresh hole's flow today */
    struct civil_date taphole_spent; /* the hole has worn out by then */
    int days_filled; /* from 1 January on, for want of weather on record: by
                        the climate */
    struct bulletin_season_day days[BULLETIN_SEASON_DAYS];
    int day_count;
    char model_name[32], model_version[16], model_digest[DIGEST_SIZE];
};

struct bulletin_bush {
    char name[64];
    enum species species;
    enum gathering gathering;
    int taps;
    struct outlook *outlook; /* owned */
    /* Air temperature on the outlook's hours, degrees C, or NULL; see
     * bulletin_take_weather. An hour that is not known is 0 and false. */
    double *air_temp_c;             /* owned */
    bool *air_known;                /* owned */
    struct bulletin_season *season; /* owned; NULL: out of season, not known */
};

/* A day of the whole operation: the bushes together. */
struct bulletin_day {
    struct civil_date date;
    bool known;
    double sap_l_p10, sap_l_p50, sap_l_p90; /* all taps */
    double chance;                          /* the largest of the bushes */
    enum strength strength; /* of all taps together, see bulletin_sum_days */
    bool has_window;        /* from the first start to the last end */
    utc_s run_start, run_end;
    double min_c, max_c; /* of the first bush */
};

/* Something to do, out of the plan. */
enum action_kind {
    ACTION_COLLECT,
    ACTION_BOIL,
    ACTION_TAP,
    ACTION_PULL,
    ACTION_KIND_COUNT
};

/* The loss that an action averts. */
enum action_averts {
    AVERTS_NOTHING,
    AVERTS_OVERFLOW,
    AVERTS_SPOILAGE,
    AVERTS_FREEZE_UP,
    AVERTS_COUNT
};

/* What the operation lacks for a plan of collecting and boiling. */
enum plan_lack {
    LACKS_NOTHING, /* or nobody asked for one: no sugarhouse, no season */
    LACKS_TANK,
    LACKS_EVAPORATOR,
    LACKS_HOURS, /* in which a fire is attended */
    LACKS_TAPS,  /* that are known to be in, with a run in sight */
    LACKS_COUNT
};

enum { ACTION_SAYINGS = 8, BULLETIN_NOTES_SAID = 12 };

struct bulletin_action {
    enum action_kind kind;
    struct civil_date date; /* the civil day it belongs to */
    bool all_day;           /* else from start to end */
    utc_s start, end;
    double sap_l;     /* amount, 0 where none is told */
    char reason[256]; /* one sentence, or "" */
    char unless[256]; /* what would change it, one sentence, or "" */
    char detail[256]; /* how: by when, how much syrup, how hot; or "" */
    /* Of a boil; 0 where none is told. */
    double syrup_l;    /* to be expected */
    double draw_off_c; /* for the pressure in its hours */
    utc_s start_by;    /* lit later, it is not out in the attended hours, or
                          before the next thing to do, or sap runs over */
    utc_s done_by;     /* lit by then, it is out by now */
    char bush[64];     /* the one it is about, "" for all */
    enum action_averts averts;
    /* What reason, detail and unless were made of, to be told again in another
     * language or other units (bulletin_reword). */
    struct {
        enum saying_place place;
        struct saying saying;
    } said[ACTION_SAYINGS];
    int said_count;
};

/* What a note was made of. */
struct bulletin_note_said {
    int note; /* index into the notes */
    struct saying saying;
};

enum { BULLETIN_PAN_HOURS = 240 };

/* The air at the pan: station pressure (not reduced to sea level) hour by
 * hour from the hour of `made` on, at the height of the first bush whose
 * weather is known. No hours: not known. An hour that is not known is 0 and
 * false. */
struct bulletin_pan {
    double syrup_brix; /* to draw off at; 0: not told */
    double elevation_m;
    utc_s start; /* on the hour */
    int hours;   /* at most BULLETIN_PAN_HOURS */
    double station_pressure_hpa[BULLETIN_PAN_HOURS];
    bool known[BULLETIN_PAN_HOURS];
};

/* What the plan comes to, hour by hour from the hour of `made` on: median
 * level at each hour's end if its actions are carried out. No hours: nothing
 * was planned. */
struct bulletin_plan {
    utc_s start; /* on the hour */
    int hours;
    double *buckets_l, *tanks_l; /* owned; of all buckets and of all tanks */
    double buckets_hold_l, tanks_hold_l;
    /* Means over the time planned for; syrup 0: not known. */
    double ran_l, boiled_l, syrup_l, overflow_l, spoiled_l;
    double loss_chance; /* that more than 2 % of the sap is lost */
};

/* The offset from UTC in force from an instant to the next row's. */
struct bulletin_offset {
    utc_s from;
    int offset_s;
};

struct bulletin {
    char operation[128], slug[64];
    char zone_name[64];
    struct zone *zone; /* owned; NULL when read back from JSON */
    /* Read back from JSON: the offsets over the time it speaks of. */
    struct bulletin_offset offsets[BULLETIN_MAX_OFFSETS];
    int offset_count;
    char language[8];
    enum unit_system units;
    utc_s made;         /* the clock of the turn that made it */
    utc_s weather_from; /* fetch time of the newest forecast in use; 0 none */
    struct bulletin_source *sources; /* owned */
    int source_count;
    struct bulletin_bush *bushes; /* owned */
    int bush_count;
    struct bulletin_day *days; /* owned, by date */
    int day_count;
    struct bulletin_action *actions; /* owned; by start, then kind */
    int action_count;
    struct error_list notes; /* what the reader should know: sentences */
    struct bulletin_note_said notes_said[BULLETIN_NOTES_SAID];
    int note_said_count;
    struct bulletin_pan pan;
    struct bulletin_plan plan;
    enum plan_lack lack; /* shown in the plan's place */
};

struct bulletin *bulletin_new(void);
void bulletin_free(struct bulletin *bulletin);

/* Copies the air temperature of the bush's merged series onto the hours of
 * its outlook (which must be in place): the nights are read from it. */
void bulletin_take_weather(struct bulletin_bush *bush,
                           const struct series *series);

/* Copies the station pressure of a bush's merged series, from the hour of
 * `made` on, with the height it belongs to. The first that holds a pressure
 * stays. */
void bulletin_take_pressure(struct bulletin *bulletin,
                            const struct series *series, double elevation_m);

/* Pressure at the pan over [from, to): mean and extremes of the hours that
 * are known. False where fewer than half of them are. */
struct bulletin_pressure {
    double mean_hpa, min_hpa, max_hpa;
};
bool bulletin_pan_pressure(const struct bulletin *bulletin, utc_s from,
                           utc_s to, struct bulletin_pressure *out);

/* Fills `days` from the bushes' outlooks. The strength is that of the volume
 * per tap over all bushes, by the bounds of outlook_strength (a tap on pumped
 * vacuum counts twice, as its bounds do), so that of two days the one that
 * gives more never has the weaker word; none where every bush says none. */
void bulletin_sum_days(struct bulletin *bulletin);
/* The day's row, or NULL. Borrowed. */
const struct bulletin_day *bulletin_day(const struct bulletin *bulletin,
                                        struct civil_date date);
/* The day's row in a bush's outlook, or NULL. Borrowed. */
const struct outlook_day *bulletin_bush_day(const struct bulletin_bush *bush,
                                            struct civil_date date);

/* The day's row in a bush's season, or NULL. Borrowed. */
const struct bulletin_season_day *
bulletin_season_day(const struct bulletin_bush *bush, struct civil_date date);

/* The bush that gives most sap that day (the first of several that give
 * alike), or NULL. Borrowed. */
const struct bulletin_bush *
bulletin_leading_bush(const struct bulletin *bulletin, struct civil_date date);

/* The clock on the wall of the operation, by its zone or, when read back, by
 * the offsets of the JSON. */
struct civil_time bulletin_civil(const struct bulletin *bulletin,
                                 utc_s instant);
struct civil_date bulletin_date(const struct bulletin *bulletin, utc_s instant);
/* Noon of the civil day: the one hour that no change of the clock touches. */
utc_s bulletin_noon(const struct bulletin *bulletin, struct civil_date date);

/* The night that begins on the evening of a civil day, from noon to noon. */
struct bulletin_night {
    double min_c;
    utc_s min_at;
    int freezing_hours; /* hours at 0 C or below */
    utc_s freeze_from;  /* first and end of the last of them, 0 if none */
    utc_s freeze_until;
};
/* At the first bush; false unless the air temperature of nine tenths of the
 * hours from 18:00 to 09:00 is known. */
bool bulletin_night(const struct bulletin *bulletin, struct civil_date evening,
                    struct bulletin_night *out);
/* The same at a bush of the bulletin. */
bool bulletin_bush_night(const struct bulletin *bulletin,
                         const struct bulletin_bush *bush,
                         struct civil_date evening, struct bulletin_night *out);

/* Rounds every figure to what is read back from the JSON: so that those who
 * read this one and those who read the file say the same. Not those of `plan`,
 * which are drawn and not told. What is summed and
 * said (bulletin_sum_days, action_say) comes before. */
void bulletin_settle(struct bulletin *bulletin);

/* JSON, the caller frees. Equal bulletins give equal bytes. Hours before noon
 * of the day before `made` are left out. */
char *bulletin_to_json(const struct bulletin *bulletin);
/* Its "plan" alone, the same bytes; NULL where nothing was planned. The caller
 * frees. */
char *bulletin_plan_json(const struct bulletin *bulletin);
/* The coming days alone, from the civil day of `now`; the caller frees. */
char *bulletin_week_json(const struct bulletin *bulletin, utc_s now);
/* One day with what each bush says of it; NULL if the bulletin does not hold
 * the day. The caller frees. */
char *bulletin_day_json(const struct bulletin *bulletin,
                        struct civil_date date);
/* -1 with a sentence that names the key at fault, or a newer version. */
int bulletin_from_json(const char *bytes, size_t length, struct bulletin **out,
                       struct error *err);

/* Puts a copy in its place: by start (an all-day one by the start of its day),
 * then kind. The bulletin's zone must be in place. */
void bulletin_add_action(struct bulletin *bulletin,
                         const struct bulletin_action *action);

/* True once an action's time has passed. */
bool bulletin_action_over(const struct bulletin *bulletin,
                          const struct bulletin_action *action, utc_s now);

/* How an action is done is told of those that begin within 60 hours, and of the
 * first boil whenever it is; of later ones the reason is enough. Ours. */
enum { BULLETIN_NEAR_S = 60 * SECONDS_PER_HOUR };
bool bulletin_action_near(const struct bulletin *bulletin, int action,
                          utc_s now);

/* True where the action of the kind before it is not over and has the same
 * reason: to a reader of the list it is told. A reason with an hour, a date or
 * an amount in it is of its own action alone. */
bool bulletin_reason_told(const struct bulletin *bulletin, int action,
                          utc_s now);

/* Words of the JSON: "tank", "evaporator", "hours", "taps", "nothing". */
const char *plan_lack_word(enum plan_lack lack); /* borrowed */
int plan_lack_from_word(const char *word);       /* or -1 */
/* A sentence that says so, and two for the line, the second the shorter; ""
 * where nothing lacks. In the language in use; borrowed. */
const char *plan_lack_words(enum plan_lack lack);
const char *plan_lack_brief(enum plan_lack lack, int form);

/* Words of the JSON and of UIDs: "collect", "boil", "tap", "pull". */
const char *action_word(enum action_kind kind); /* borrowed */
int action_from_word(const char *word);         /* or -1 */
/* "nothing", "overflow", "spoilage", "freeze-up". */
const char *averts_word(enum action_averts averts); /* borrowed */
int averts_from_word(const char *word);             /* or -1 */

/* True for the first service in use with its credit: one that stands twice,
 * with its ensemble, is credited once. */
bool bulletin_has_credit(const struct bulletin *bulletin, int source);

/* Age in words at `now`: "25 min old", "2 h old", "3 days old" (from 72 h). */
void bulletin_age_words(utc_s made, utc_s now, char *out, size_t out_size);

#endif
