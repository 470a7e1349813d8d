/* The bulletin: all that is told, one immutable value. Every publisher reads
 * it and nothing else; it is written as JSON (schema in docs/bulletin.md,
 * version 1) and read back by the client. SI inside; times are UTC instants,
 * with the operation's zone named and each local time also given with its
 * offset in the JSON, so that a reader needs no zone data. */
#ifndef PUBLISH_BULLETIN_H
#define PUBLISH_BULLETIN_H

#include "base/civil_time.h"
#include "base/error.h"
#include "base/trade.h"
#include "base/units.h"
#include "outlook/outlook.h"

enum { BULLETIN_VERSION = 1 };

/* A service whose values are shown, and how it is. */
struct bulletin_source {
    char name[32];
    char credit[128], credit_url[128];
    utc_s issued;  /* 0: the service does not tell */
    utc_s fetched; /* of the values in use; 0: none yet */
    bool in_use;
    char trouble[512]; /* "" or what is wrong, in a sentence */
    utc_s trouble_since;
};

struct bulletin_bush {
    char name[64];
    enum species species;
    enum gathering gathering;
    int taps;
    struct outlook *outlook; /* owned */
};

/* A day of the whole operation: the bushes together. */
struct bulletin_day {
    struct civil_date date;
    bool known;
    double sap_l_p10, sap_l_p50, sap_l_p90; /* all taps */
    double chance;                          /* the largest of the bushes */
    enum strength strength;                 /* the strongest of the bushes */
    bool has_window; /* from the first start to the last end */
    utc_s run_start, run_end;
    double min_c, max_c; /* of the first bush */
};

struct bulletin {
    char operation[128], slug[64];
    char zone_name[64];
    struct zone *zone; /* owned; of fixed offset when read back from JSON */
    char language[8];
    enum unit_system units;
    utc_s made;         /* the clock of the turn that made it */
    utc_s weather_from; /* fetch time of the newest forecast in use; 0 none */
    struct bulletin_source *sources; /* owned */
    int source_count;
    struct bulletin_bush *bushes; /* owned */
    int bush_count;
    struct bulletin_day *days; /* owned */
    int day_count;
    struct error_list notes; /* what the reader should know: sentences */
};

struct bulletin *bulletin_new(void);
void bulletin_free(struct bulletin *bulletin);

/* Fills `days` from the bushes' outlooks. */
void bulletin_sum_days(struct bulletin *bulletin);
/* The day's row, or NULL. Borrowed. */
const struct bulletin_day *bulletin_day(const struct bulletin *bulletin,
                                        struct civil_date date);

/* JSON, the caller frees. Equal bulletins give equal bytes. */
char *bulletin_to_json(const struct bulletin *bulletin);
int bulletin_from_json(const char *bytes, size_t length, struct bulletin **out,
                       struct error *err);

/* Age in words at `now`: "2 h old", "3 days old". */
void bulletin_age_words(utc_s made, utc_s now, char *out, size_t out_size);

#endif
