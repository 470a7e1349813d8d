/* When things are due: pure arithmetic on instants and civil time.
 *
 * A daily act has an hour of the wall clock. On the day whose clock jumps over
 * that hour it is due at the first instant after the gap; on the day that has
 * the hour twice, at its first coming alone. An act that was slept through is
 * due late rather than never; of several that were slept through, the latest
 * alone. */
#ifndef DAEMON_SCHEDULE_H
#define DAEMON_SCHEDULE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/civil_time.h"

/* "Never": later than any instant. */
#define SCHEDULE_NEVER INT64_MAX

enum {
    SCHEDULE_LONGEST_REST_S = SECONDS_PER_HOUR, /* between turns */
    SCHEDULE_SHORTEST_REST_S = 60
};

/* The instant of a civil day's hour; minute of the day 0..1439. */
utc_s schedule_instant(const struct zone *zone, struct civil_date date,
                       int minute);

/* The first instant after `now` at which the hour comes. */
utc_s schedule_next(const struct zone *zone, int minute, utc_s now);

/* Is the daily act due now? `done` is the civil day that it was last done
 * for; year 0: never, and then only today's is due. True puts the day that it
 * is to be done for in *date. A `done` of the day after tomorrow or later was
 * noted under a wrong clock and does not count. */
bool schedule_due(const struct zone *zone, int minute, struct civil_date done,
                  utc_s now, struct civil_date *date);

/* Is a turn due that was set for `next`? A `next` further ahead than the
 * longest rest was set under a wrong clock, and is due. */
bool schedule_turn_due(utc_s next, utc_s now);

/* The place of one of many in a rest of rest_s: the same for the same key, as
 * even as a hash is. 0 .. rest_s - 1. */
int schedule_spread_s(const char *key, int rest_s);

/* Milliseconds to poll for: until `next` (UTC seconds), at most longest_ms;
 * 0 when it has come. */
int schedule_wait_ms(utc_s now, utc_s next, int longest_ms);

#endif
