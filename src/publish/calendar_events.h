/* The events that a bulletin asks for, before they meet the memory. */
#ifndef PUBLISH_CALENDAR_EVENTS_H
#define PUBLISH_CALENDAR_EVENTS_H

#include "publish/calendar.h"

/* Phones show about so many characters of a title. */
enum { CALENDAR_SUMMARY_MAX = 30 };

/* What is to be told: each run day from the civil day of `made` on, each day
 * that was told before and has changed its mind, each action. The caller
 * frees with calendar_memory_free. */
void calendar_wanted(const struct calendar_memory *memory,
                     const struct bulletin *bulletin,
                     struct calendar_memory *out);

/* Appends a copy of the event (its strings are taken over). */
struct calendar_event *calendar_append(struct calendar_memory *memory,
                                       const struct calendar_event *event);
struct calendar_event *calendar_find(const struct calendar_memory *memory,
                                     const char *uid);
/* True for an event out of the plan: one that can fall away. */
bool calendar_is_action(const struct bulletin *bulletin, const char *uid);
/* An event that was cancelled is told for two days, then no more. */
bool calendar_is_told(const struct calendar_event *event, utc_s now);
/* Words cut to CALENDAR_SUMMARY_MAX columns; the caller frees. */
char *calendar_summary(const char *words);

#endif
