/* Instants (UTC seconds) and civil time (the clock on the wall).
 *
 * A civil day has 23, 24 or 25 hours. Local times that do not exist or come
 * twice are read as RFC 5545 section 3.3.5 says: one in the gap takes the
 * offset in force before it (02:30 on the spring day in New York is 07:30Z),
 * one that comes twice is its first coming. */
#ifndef BASE_CIVIL_TIME_H
#define BASE_CIVIL_TIME_H

#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"

typedef int64_t utc_s; /* seconds since 1970-01-01T00:00:00Z, no leap seconds */

enum { SECONDS_PER_HOUR = 3600, SECONDS_PER_DAY = 86400 };

struct civil_date {
    int year, month, day; /* Gregorian, 1..12, 1..31 */
};

struct civil_time {
    struct civil_date date;
    int hour, minute, second;
    int offset_s; /* local minus UTC */
};

/* The day of an instant on a clock at UTC, or of one shifted by an offset on
 * that offset's clock: days since 1970-01-01, before it below 0. */
int64_t utc_day(utc_s instant);
/* Days since 1970-01-01, and back. */
int64_t civil_day_number(struct civil_date date);
struct civil_date civil_date_from_day_number(int64_t day);
struct civil_date civil_date_add(struct civil_date date, int days);
int civil_date_compare(struct civil_date a, struct civil_date b);
bool civil_date_valid(struct civil_date date);
int civil_day_of_year(struct civil_date date); /* 1 January is 1 */
int civil_weekday(struct civil_date date);     /* Monday is 0 */

/* A time zone by its IANA name, from the system's zoneinfo. Owned by the
 * caller. Not to be shared between threads. Offsets come from libical 3.0.16;
 * against the C library's for all zones they were equal from 2023 to 2040
 * (St. John's until 2037), and before that for all but 25 zones outside the
 * maple's range. NULL and a sentence for a name that is not known. */
struct zone;
struct zone *zone_open(const char *iana_name, struct error *err);
void zone_free(struct zone *zone);
/* The known name nearest to a misspelt one, or NULL; owned by the caller. */
char *zone_nearest_name(const char *name);

int zone_offset_s(const struct zone *zone, utc_s instant);
struct civil_time zone_civil(const struct zone *zone, utc_s instant);
struct civil_date zone_date(const struct zone *zone, utc_s instant);
utc_s zone_instant(const struct zone *zone, struct civil_date date, int hour,
                   int minute, int second);
/* First instant of the civil day; the day is [start, start of the next). */
utc_s zone_day_start(const struct zone *zone, struct civil_date date);

enum { ISO_TIME_SIZE = 32, ISO_DATE_SIZE = 16 };

/* ISO 8601 / RFC 3339: "2026-03-08T02:30:00-05:00", seconds and their
 * fraction optional, "Z" or +hh:mm or +hhmm or +hh; without an offset the
 * time is taken at default_offset_s. Second 60 (a leap second) is the first
 * of the next minute. The whole text must be consumed. What is taken lies
 * within the years 1 to 9999 at every offset, so that it can be written. */
int iso_time_parse(const char *words, int default_offset_s, utc_s *out,
                   struct error *err);
int iso_date_parse(const char *words, struct civil_date *out,
                   struct error *err);
void iso_time_utc(utc_s instant, char out[ISO_TIME_SIZE]); /* …Z */
void iso_time_local(const struct zone *zone, utc_s instant,
                    char out[ISO_TIME_SIZE]); /* with its offset */
/* On a clock that is offset_s ahead of UTC, less what is no whole minute of it
 * (the local mean time of the 19th century), which ISO 8601 cannot tell. */
void iso_time_at(utc_s instant, int offset_s, char out[ISO_TIME_SIZE]);
void iso_date(struct civil_date date, char out[ISO_DATE_SIZE]);

/* ISO 8601 duration of weeks, days, hours, minutes and seconds, whole
 * numbers, up to ten years: "P1DT6H", "PT72H". Years and months are refused
 * (their length is not known), so are negative ones. */
int iso_duration_parse(const char *words, int64_t *seconds, struct error *err);
/* "start/duration" or "start/end". */
int iso_interval_parse(const char *words, utc_s *start, utc_s *end,
                       struct error *err);

#endif
