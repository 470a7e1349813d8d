#include <stdlib.h>
#include <string.h>

#include <libical/ical.h>

#include "base/civil_time.h"
#include "base/memory.h"
#include "base/words.h"

/* Local time differs from UTC by less than this anywhere, at any time. */
enum { WIDEST_OFFSET_S = 16 * SECONDS_PER_HOUR };

/* What libical 3.0.16 takes for its list of zones and the rules of one (180 kB
 * measured), and room to grow them: without memory it writes to NULL. */
enum { LIBRARY_BYTES = 1024 * 1024 };

enum { MAX_SPANS = 8 };

/* Instants from `from` up to `to` have the one offset. */
struct span {
    utc_s from, to;
    int offset_s;
};

/* What the library has said by now: it looks through the zone's rules each
 * time, and a turn asks it thousands of times about the same few months. */
struct known {
    struct span spans[MAX_SPANS];
    int count, oldest;
};

struct zone {
    icaltimezone *rules; /* borrowed from libical; NULL: UTC */
    struct known *known; /* owned; with rules alone */
};

static bool is_utc_name(const char *name)
{
    static const char *const names[] = {"UTC", "Etc/UTC", "Etc/GMT", "GMT"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (strcmp(name, names[i]) == 0)
            return true;
    return false;
}

struct zone *zone_open(const char *iana_name, struct error *err)
{
    icaltimezone *rules = NULL;
    if (!is_utc_name(iana_name)) {
        mem_spare(LIBRARY_BYTES);
        rules = icaltimezone_get_builtin_timezone(iana_name);
        /* A listed zone whose file is missing has no component. */
        if (rules && !icaltimezone_get_component(rules))
            rules = NULL;
        if (!rules) {
            char *nearest = zone_nearest_name(iana_name);
            if (nearest)
                error_set(err,
                          _("no time zone \"%.60s\" is known here; did you "
                            "mean %s?"),
                          iana_name, nearest);
            else
                error_set(err,
                          _("no time zone \"%.60s\" is known here; write a "
                            "name such as America/New_York"),
                          iana_name);
            free(nearest);
            return NULL;
        }
    }
    struct zone *zone = mem_alloc(1, sizeof *zone);
    zone->rules = rules;
    if (rules)
        zone->known = mem_alloc(1, sizeof *zone->known);
    return zone;
}

void zone_free(struct zone *zone)
{
    if (!zone)
        return;
    free(zone->known);
    free(zone);
}

static int ask_offset_s(const struct zone *zone, utc_s instant)
{
    int64_t day = utc_day(instant);
    int rest = (int)(instant - day * SECONDS_PER_DAY);
    struct civil_date date = civil_date_from_day_number(day);
    struct icaltimetype utc = icaltime_null_time();
    utc.year = date.year;
    utc.month = date.month;
    utc.day = date.day;
    utc.hour = rest / 3600;
    utc.minute = rest / 60 % 60;
    utc.second = rest % 60;
    utc.zone = icaltimezone_get_utc_timezone();
    int is_daylight;
    return icaltimezone_get_utc_offset_of_utc_time(zone->rules, &utc,
                                                   &is_daylight);
}

/* Joined to a span that it goes on from, else in the place of the oldest. */
static void learn(struct known *known, struct span span)
{
    for (int i = 0; i < known->count; i++) {
        struct span *held = &known->spans[i];
        if (held->offset_s != span.offset_s)
            continue;
        if (held->to == span.from)
            held->to = span.to;
        else if (held->from == span.to)
            held->from = span.from;
        else
            continue;
        return;
    }
    if (known->count < MAX_SPANS) {
        known->spans[known->count++] = span;
        return;
    }
    known->spans[known->oldest] = span;
    known->oldest = (known->oldest + 1) % MAX_SPANS;
}

static const struct span *find_span(const struct known *known, utc_s instant)
{
    for (int i = 0; i < known->count; i++)
        if (instant >= known->spans[i].from && instant < known->spans[i].to)
            return &known->spans[i];
    return NULL;
}

/* The first instant after `low` that has the offset of `high`. */
static utc_s find_change(const struct zone *zone, utc_s low, utc_s high)
{
    int after = ask_offset_s(zone, high);
    while (high - low > 1) {
        utc_s middle = low + (high - low) / 2;
        if (ask_offset_s(zone, middle) == after)
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* The day of the instant, in which a zone changes its offset once at most: the
 * rules in force leave weeks between two changes (tzdata; a test goes through
 * five years by hours). */
static void learn_day(const struct zone *zone, utc_s instant)
{
    utc_s from = utc_day(instant) * SECONDS_PER_DAY;
    utc_s to = from + SECONDS_PER_DAY, change = to;
    const struct span *before = find_span(zone->known, from - 1);
    int first = before ? before->offset_s : ask_offset_s(zone, from);
    int last = ask_offset_s(zone, to - 1);
    if (first != last)
        change = find_change(zone, from - 1, to - 1);
    if (change > from)
        learn(zone->known, (struct span){from, change, first});
    if (change < to)
        learn(zone->known, (struct span){change, to, last});
}

int zone_offset_s(const struct zone *zone, utc_s instant)
{
    if (!zone->rules)
        return 0;
    const struct span *span = find_span(zone->known, instant);
    if (!span) {
        learn_day(zone, instant);
        span = find_span(zone->known, instant);
    }
    return span ? span->offset_s : ask_offset_s(zone, instant);
}

struct civil_time zone_civil(const struct zone *zone, utc_s instant)
{
    int offset_s = zone_offset_s(zone, instant);
    int64_t local = instant + offset_s;
    int64_t day = utc_day(local);
    int rest = (int)(local - day * SECONDS_PER_DAY);
    return (struct civil_time){.date = civil_date_from_day_number(day),
                               .hour = rest / 3600,
                               .minute = rest / 60 % 60,
                               .second = rest % 60,
                               .offset_s = offset_s};
}

struct civil_date zone_date(const struct zone *zone, utc_s instant)
{
    return zone_civil(zone, instant).date;
}

utc_s zone_instant(const struct zone *zone, struct civil_date date, int hour,
                   int minute, int second)
{
    int64_t local = civil_day_number(date) * SECONDS_PER_DAY + hour * 3600 +
                    minute * 60 + second;
    int before = zone_offset_s(zone, local - WIDEST_OFFSET_S);
    int after = zone_offset_s(zone, local + WIDEST_OFFSET_S);
    utc_s first = local - before, second_one = local - after;
    if (zone_offset_s(zone, first) == before)
        return first;
    if (zone_offset_s(zone, second_one) == after)
        return second_one;
    return first; /* in the gap: RFC 5545 section 3.3.5 */
}

utc_s zone_day_start(const struct zone *zone, struct civil_date date)
{
    utc_s start = zone_instant(zone, date, 0, 0, 0);
    int64_t day = civil_day_number(date);
    utc_s low = start - SECONDS_PER_DAY, high = start;
    if (civil_day_number(zone_date(zone, start - 1)) < day)
        return start;
    /* Midnight lies inside a gap that began the evening before. */
    while (high - low > 1) {
        utc_s middle = low + (high - low) / 2;
        if (civil_day_number(zone_date(zone, middle)) < day)
            low = middle;
        else
            high = middle;
    }
    return high;
}

void iso_time_local(const struct zone *zone, utc_s instant,
                    char out[ISO_TIME_SIZE])
{
    iso_time_at(instant, zone_offset_s(zone, instant), out);
}
