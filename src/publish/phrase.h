/* Words and figures as people read them, shared by the line, the tables and
 * the calendar. Each is a whole word or figure to be put into a whole
 * sentence; all pass through the translation. */
#ifndef PUBLISH_PHRASE_H
#define PUBLISH_PHRASE_H

#include <stddef.h>

#include "publish/bulletin.h"

enum { PHRASE_SIZE = 64 };

const char *phrase_strength(enum strength strength);       /* "good run" */
const char *phrase_strength_first(enum strength strength); /* "Good run" */
/* For the cell of a table whose head says what it is of. */
const char *phrase_strength_cell(enum strength strength);
const char *phrase_species(enum species species);
const char *phrase_gathering(enum gathering gathering);
const char *phrase_weekday(struct civil_date date); /* "Sat" */

void phrase_date(struct civil_date date, char out[PHRASE_SIZE]); /* Sat 7 Mar */
/* The same for a cell of a table, where columns count. */
void phrase_date_cell(struct civil_date date, char out[PHRASE_SIZE]);
void phrase_clock(const struct bulletin *bulletin, utc_s instant,
                  char out[PHRASE_SIZE]); /* "10:00" */
void phrase_hour(int hour, int minute, char out[PHRASE_SIZE]);
/* The same for an end: midnight is "24:00" of the day that ends. */
void phrase_end(const struct bulletin *bulletin, utc_s instant,
                char out[PHRASE_SIZE]);
/* "10:00-17:00"; "00:00-24:00" for a whole day. */
void phrase_window(const struct bulletin *bulletin, utc_s start, utc_s end,
                   char out[PHRASE_SIZE]);
void phrase_moment(const struct bulletin *bulletin, utc_s instant,
                   char out[PHRASE_SIZE]); /* "Fri 6 Mar 18:10" */

/* A chance to the nearest 5 %, never 0 or 100 %: "85%", "over 95%",
 * "under 5%". The members do not know more than that. */
void phrase_chance(double chance, char out[PHRASE_SIZE]);
/* The same where columns count: in French "> 95 %". */
void phrase_chance_short(double chance, char out[PHRASE_SIZE]);

void phrase_volume(double volume_l, enum unit_system units,
                   char out[PHRASE_SIZE]); /* "130 gal" */
/* "60-190", to stand beside a volume with its unit. */
void phrase_volume_range(double low_l, double high_l, enum unit_system units,
                         char out[PHRASE_SIZE]);
/* "28 F" */
void phrase_temperature(double temp_c, enum unit_system units,
                        char out[PHRASE_SIZE]);
/* To a tenth, as pan thermometers are read: "218.6 F". */
void phrase_heat(double temp_c, enum unit_system units, char out[PHRASE_SIZE]);
/* A difference: "4 F", "2 C". */
void phrase_temperature_span(double span_k, enum unit_system units,
                             char out[PHRASE_SIZE]);
/* "66 F-hours" */
void phrase_degree_hours(double degree_hours_k, enum unit_system units,
                         char out[PHRASE_SIZE]);
/* A share of one as "85%", without the manners of a chance. */
void phrase_share(double share, char out[PHRASE_SIZE]);
/* Volume per tap: "0.7 gal", "2.6 L". */
void phrase_per_tap(double volume_l, enum unit_system units,
                    char out[PHRASE_SIZE]);

/* What is to be done, with its amount: "Boil 180 gal", "Pull the taps". */
void phrase_action(const struct bulletin_action *action, enum unit_system units,
                   char out[PHRASE_SIZE]);
/* When: "18:00-22:00", "Sat 7 Mar 18:00-22:00" on another day than `today`,
 * "today" or "Sat 7 Mar" for a whole day. */
void phrase_action_time(const struct bulletin *bulletin,
                        const struct bulletin_action *action,
                        struct civil_date today, char out[PHRASE_SIZE]);

/* What is wrong with a service, since when: "nws, since Fri 6 Mar 18:10: …";
 * the caller frees. */
char *phrase_trouble(const struct bulletin *bulletin,
                     const struct bulletin_source *source);

/* Why the day is what it is, in one sentence of the weather and the tree, out
 * of the bush that gives most that day, or that no taps are in; "" where
 * nothing is known. */
void phrase_reason(const struct bulletin *bulletin, struct civil_date date,
                   enum unit_system units, char *out, size_t out_size);

#endif
