/* The calendar's memory, brought up to date. */
#include "publish/calendar.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/calendar_events.h"

enum { KEEP_DAYS = 400 }; /* a season stays until the next one is there */

static void free_strings(struct calendar_event *event)
{
    free(event->uid);
    free(event->summary);
    free(event->description);
    free(event->url);
}

void calendar_memory_free(struct calendar_memory *memory)
{
    for (int i = 0; i < memory->count; i++)
        free_strings(&memory->events[i]);
    free(memory->events);
    *memory = (struct calendar_memory){0};
}

static bool same_text(const char *a, const char *b)
{
    return strcmp(a != NULL ? a : "", b != NULL ? b : "") == 0;
}

static bool same_to_reader(const struct calendar_event *a,
                           const struct calendar_event *b)
{
    if (a->cancelled != b->cancelled || a->all_day != b->all_day)
        return false;
    if (a->all_day ? civil_date_compare(a->date, b->date) != 0
                   : a->start != b->start || a->end != b->end)
        return false;
    return same_text(a->summary, b->summary) &&
           same_text(a->description, b->description) &&
           same_text(a->url, b->url);
}

/* LAST-MODIFIED never goes back, though the clock may. */
static void mark_changed(struct calendar_event *event, utc_s now)
{
    event->sequence++;
    event->modified = now > event->modified ? now : event->modified + 1;
}

/* Takes the told parts of `wanted` over, which is emptied of its strings. */
static void replace(struct calendar_event *event, struct calendar_event *wanted,
                    utc_s now)
{
    struct calendar_event old = *event;

    *event = *wanted;
    *wanted = (struct calendar_event){0};
    event->sequence = old.sequence;
    event->created = old.created;
    event->modified = old.modified;
    free_strings(&old);
    mark_changed(event, now);
}

static bool is_over(const struct calendar_event *event,
                    const struct bulletin *bulletin)
{
    if (!event->all_day)
        return event->end <= bulletin->made;
    return civil_date_compare(event->date,
                              bulletin_date(bulletin, bulletin->made)) < 0;
}

/* New or changed: 1; as told before: 0. */
static int tell(struct calendar_memory *memory, struct calendar_event *wanted,
                const struct bulletin *bulletin)
{
    struct calendar_event *event = calendar_find(memory, wanted->uid);

    if (event == NULL) {
        wanted->created = wanted->modified = bulletin->made;
        calendar_append(memory, wanted);
        *wanted = (struct calendar_event){0};
        return 1;
    }
    if (same_to_reader(event, wanted))
        return 0;
    replace(event, wanted, bulletin->made);
    return 1;
}

static void cancel(struct calendar_event *event, utc_s now)
{
    /* The analyser loses sight of what drop_old moved over the freed one.
     * NOLINTNEXTLINE(clang-analyzer-unix.Malloc) */
    char *words = mem_format(_("Cancelled: %s"), event->summary);

    free(event->summary);
    event->summary = calendar_summary(words);
    event->cancelled = true;
    event->cancelled_at = now;
    mark_changed(event, now);
    free(words);
}

/* Actions told before that the plan no longer holds. */
static int cancel_fallen(struct calendar_memory *memory, const bool *still,
                         int told_before, const struct bulletin *bulletin)
{
    int changed = 0;

    for (int i = 0; i < told_before; i++) {
        struct calendar_event *event = &memory->events[i];

        if (still[i] || event->cancelled || is_over(event, bulletin) ||
            !calendar_is_action(bulletin, event->uid))
            continue;
        cancel(event, bulletin->made);
        changed++;
    }
    return changed;
}

static int64_t event_start(const struct calendar_event *event)
{
    return event->all_day ? civil_day_number(event->date) * SECONDS_PER_DAY
                          : event->start;
}

static int by_start(const void *left, const void *right)
{
    const struct calendar_event *a = left, *b = right;
    int64_t start_a = event_start(a), start_b = event_start(b);

    if (start_a != start_b)
        return start_a < start_b ? -1 : 1;
    return strcmp(a->uid, b->uid);
}

/* Drops what is of the season before the last. */
static void drop_old(struct calendar_memory *memory, utc_s now)
{
    int kept = 0;

    for (int i = 0; i < memory->count; i++) {
        if (event_start(&memory->events[i]) <
            now - (utc_s)KEEP_DAYS * SECONDS_PER_DAY) {
            free_strings(&memory->events[i]);
            continue;
        }
        if (kept < i)
            memory->events[kept] = memory->events[i];
        kept++;
    }
    memory->count = kept;
}

int calendar_update(struct calendar_memory *memory,
                    const struct bulletin *bulletin)
{
    const char *before = words_use(bulletin->language);
    struct calendar_memory wanted;
    int told_before, changed = 0;
    bool *still;

    drop_old(memory, bulletin->made);
    told_before = memory->count;
    still = mem_alloc((size_t)told_before + 1, sizeof *still);
    calendar_wanted(memory, bulletin, &wanted);
    for (int i = 0; i < wanted.count; i++) {
        struct calendar_event *old =
            calendar_find(memory, wanted.events[i].uid);

        if (old != NULL && old - memory->events < told_before)
            still[old - memory->events] = true;
        changed += tell(memory, &wanted.events[i], bulletin);
    }
    changed += cancel_fallen(memory, still, told_before, bulletin);
    if (memory->count > 1)
        qsort(memory->events, (size_t)memory->count, sizeof *memory->events,
              by_start);
    calendar_memory_free(&wanted);
    free(still);
    words_use(before);
    return changed;
}
