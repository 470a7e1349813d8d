/* A sentence as its English pattern and its values: so it can be told again in
 * the language and the units of whoever reads it.
 *
 * The pattern is a message of the catalogue with up to three "%s", one a
 * value; a translation may order them by "%1$s". It is filled in here, never
 * by printf: it comes back out of a file. */
#ifndef PUBLISH_SAYING_H
#define PUBLISH_SAYING_H

#include <stddef.h>

#include "base/civil_time.h"
#include "base/units.h"

struct bulletin;
struct bulletin_action;

enum { SAYING_VALUES = 3, SAYING_PATTERN_SIZE = 192, SAYING_SIZE = 256 };

enum saying_kind {
    SAID_NOTHING,
    SAID_VOLUME, /* L */
    SAID_CHANCE, /* 0..1 */
    SAID_MOMENT, /* utc_s: date and clock */
    SAID_CLOCK,  /* utc_s */
    SAID_DATE,   /* civil_day_number */
    SAID_HEAT,   /* degrees C, told to a tenth */
    SAID_COUNT,
    SAID_NEAR_HEAT, /* degrees C, told to a whole degree */
    SAID_KINDS
};

struct saying_value {
    enum saying_kind kind;
    double number;
};

struct saying {
    char pattern[SAYING_PATTERN_SIZE]; /* "": nothing is said */
    struct saying_value values[SAYING_VALUES];
};

/* What a sentence of an action is about. */
enum saying_place {
    SAYING_REASON,
    SAYING_DETAIL,
    SAYING_UNLESS,
    SAYING_PLACES
};

struct saying_value said_nothing(void);
struct saying_value said_volume(double volume_l);
struct saying_value said_chance(double chance);
struct saying_value said_moment(utc_s instant);
struct saying_value said_clock(utc_s instant);
struct saying_value said_date(struct civil_date date);
struct saying_value said_heat(double temp_c);
struct saying_value said_count(int count);
struct saying_value said_near_heat(double temp_c);

/* Of the value in the bulletin's JSON. The sayings of an action and a note hold
 * what is read back from there, so that the sentence is the same then. */
int saying_decimals(enum saying_kind kind);

/* The sentence in the language in use; cut to fit, between characters. */
void saying_words(const struct bulletin *bulletin, const struct saying *saying,
                  enum unit_system units, char out[SAYING_SIZE]);

/* One more sentence to an action (its place in the text for people is filled
 * in too), or a note to the bulletin. `pattern` is marked by N_(). */
void action_say(const struct bulletin *bulletin, struct bulletin_action *action,
                enum saying_place place, const char *pattern,
                struct saying_value first, struct saying_value second,
                struct saying_value third);
void bulletin_note(struct bulletin *bulletin, const char *pattern,
                   struct saying_value first, struct saying_value second);

/* All sentences anew, in the language in use and these units. What has no
 * pattern stays as it is. */
void bulletin_reword(struct bulletin *bulletin, enum unit_system units);

#endif
