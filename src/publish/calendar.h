/* The calendar: RFC 5545 and 7986, by the findings about clients and parsers
 * in docs/calendar.md.
 *
 * The memory holds what was last told of each event, so that SEQUENCE and
 * LAST-MODIFIED move only when the reader sees a change, days past stay, and
 * an action that falls away is kept as CANCELLED for two days. */
#ifndef PUBLISH_CALENDAR_H
#define PUBLISH_CALENDAR_H

#include "publish/bulletin.h"

enum { CALENDAR_CANCELLED_DAYS = 2 };

/* One event as last told. All strings owned by the memory. The turn keeps it
 * in the store. */
struct calendar_event {
    char *uid;              /* "tamarack-bend-run-20260307@…" */
    char *summary;          /* at most 30 characters */
    char *description;      /* lines parted by \n */
    char *url;              /* of its own, or NULL: the page's */
    bool all_day;           /* date holds, else start and end */
    struct civil_date date; /* all_day */
    utc_s start, end;
    int sequence;
    utc_s created, modified;
    bool cancelled;
    utc_s cancelled_at;
};

struct calendar_memory {
    struct calendar_event *events; /* owned; by start, then uid */
    int count;
};

void calendar_memory_free(struct calendar_memory *memory);

/* Brings the memory up to date with the bulletin at its `made` time: new
 * events, changed ones with SEQUENCE + 1, fallen ones cancelled. Days before
 * the civil day of `made` are left as they are, and so are days whose weather
 * is not known. Returns the number of events that changed. */
int calendar_update(struct calendar_memory *memory,
                    const struct bulletin *bulletin);

/* The bytes of the feed, the caller frees: CRLF, folded at 75 octets between
 * characters, no METHOD, no VALARM, timed events in UTC, DTSTAMP equal to
 * LAST-MODIFIED. Same memory and bulletin, same bytes. page_url may be NULL;
 * one that is no plain address is left out. */
char *calendar_to_ics(const struct calendar_memory *memory,
                      const struct bulletin *bulletin, const char *page_url);

/* Our own check of the bytes (none of the parsers validates): 0, or -1 and a
 * sentence that names the line. Run before the file is swapped in. */
int calendar_check(const char *bytes, size_t length, struct error *err);

#endif
