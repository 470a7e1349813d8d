#include "logbook/logbook.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"

enum { SEASON_BEGINS_MONTH = 11, SUGAR_FRESH_S = 14 * SECONDS_PER_DAY };

void log_uid_make(utc_s written, uint64_t random, char out[LOG_UID_SIZE])
{
    char time[ISO_TIME_SIZE];
    size_t length = 0;

    iso_time_utc(written, time);
    for (const char *c = time; *c != '\0'; c++)
        if (*c != '-' && *c != ':')
            out[length++] = *c;
    snprintf(out + length, LOG_UID_SIZE - length, "-%016" PRIx64, random);
}

/* FNV-1a (Fowler, Noll, Vo). */
static uint64_t hash_of(const char *uid)
{
    uint64_t hash = UINT64_C(14695981039346656037);

    for (; *uid != '\0'; uid++)
        hash = (hash ^ (unsigned char)*uid) * UINT64_C(1099511628211);
    return hash;
}

/* Two uids of one hash are told apart; records may have been put in another
 * order since. */
static bool holds_uid(const struct logbook *book, const char *uid)
{
    uint64_t hash = hash_of(uid);
    bool maybe = false;

    for (int i = 0; i < book->count && !maybe; i++)
        maybe = book->hashes[i] == hash;
    for (int i = 0; maybe && i < book->count; i++)
        if (strcmp(book->records[i].uid, uid) == 0)
            return true;
    return false;
}

static void make_room(struct logbook *book)
{
    size_t room = book->count == 0 ? 16 : (size_t)book->count * 2;

    /* Grows by doubling: at powers of two from 16 on. */
    if (book->count != 0 &&
        (book->count < 16 || (book->count & (book->count - 1)) != 0))
        return;
    book->records = mem_resize(book->records, room, sizeof *book->records);
    book->hashes = mem_resize(book->hashes, room, sizeof *book->hashes);
}

bool logbook_add(struct logbook *book, const struct log_record *record)
{
    if (book->count == LOG_MAX_RECORDS || holds_uid(book, record->uid))
        return false;
    make_room(book);
    book->hashes[book->count] = hash_of(record->uid);
    book->records[book->count++] = *record;
    return true;
}

void logbook_free(struct logbook *book)
{
    free(book->records);
    free(book->hashes);
    *book = (struct logbook){0};
}

static int compare_written(const void *a, const void *b)
{
    const struct log_record *first = a, *second = b;

    if (first->written != second->written)
        return first->written < second->written ? -1 : 1;
    if (first->note.at != second->note.at)
        return first->note.at < second->note.at ? -1 : 1;
    return strcmp(first->uid, second->uid);
}

void logbook_settle(struct logbook *book)
{
    int highest = 0;

    if (book->count > 0)
        qsort(book->records, (size_t)book->count, sizeof *book->records,
              compare_written);
    for (int i = 0; i < book->count; i++)
        if (book->records[i].number > highest)
            highest = book->records[i].number;
    for (int i = 0; i < book->count; i++)
        if (book->records[i].change == LOG_NEW && book->records[i].number == 0)
            book->records[i].number = ++highest;
}

const struct log_record *logbook_find(const struct logbook *book, int number)
{
    for (int i = 0; i < book->count; i++)
        if (book->records[i].change == LOG_NEW &&
            book->records[i].number == number)
            return &book->records[i];
    return NULL;
}

static struct log_entry *view_uid(struct log_view *view, const char *uid)
{
    for (int i = 0; i < view->count; i++)
        if (strcmp(view->entries[i].uid, uid) == 0)
            return &view->entries[i];
    return NULL;
}

static void add_new(struct log_view *view, const struct log_record *record)
{
    struct log_entry *entry = &view->entries[view->count++];

    *entry = (struct log_entry){.number = record->number,
                                .note = record->note,
                                .waiting = record->waiting};
    snprintf(entry->uid, sizeof entry->uid, "%s", record->uid);
}

/* A change of an entry that is not there changes nothing. */
static void apply_change(struct log_view *view, const struct log_record *record)
{
    struct log_entry *entry = view_uid(view, record->target);

    if (entry == NULL || entry->removed)
        return;
    entry->waiting = entry->waiting || record->waiting;
    if (record->change == LOG_REMOVAL) {
        entry->removed = true;
        return;
    }
    entry->note = record->note;
    entry->corrected = true;
}

static int compare_entries(const void *a, const void *b)
{
    const struct log_entry *first = a, *second = b;

    if (first->note.at != second->note.at)
        return first->note.at < second->note.at ? -1 : 1;
    return first->number - second->number;
}

static void drop_removed(struct log_view *view)
{
    int kept = 0;

    for (int i = 0; i < view->count; i++)
        if (!view->entries[i].removed)
            view->entries[kept++] = view->entries[i];
    view->count = kept;
}

void log_view_make(const struct logbook *book, bool with_removed,
                   struct log_view *out)
{
    out->entries = mem_alloc((size_t)book->count + 1, sizeof *out->entries);
    out->count = 0;
    for (int i = 0; i < book->count; i++)
        if (book->records[i].change == LOG_NEW)
            add_new(out, &book->records[i]);
    for (int i = 0; i < book->count; i++)
        if (book->records[i].change != LOG_NEW)
            apply_change(out, &book->records[i]);
    if (!with_removed)
        drop_removed(out);
    if (out->count > 0)
        qsort(out->entries, (size_t)out->count, sizeof *out->entries,
              compare_entries);
}

void log_view_free(struct log_view *view)
{
    free(view->entries);
    *view = (struct log_view){0};
}

const struct log_entry *log_view_find(const struct log_view *view, int number)
{
    for (int i = 0; i < view->count; i++)
        if (view->entries[i].number == number)
            return &view->entries[i];
    return NULL;
}

int log_season_of(const struct zone *zone, utc_s at)
{
    struct civil_date date = zone_date(zone, at);

    return date.month >= SEASON_BEGINS_MONTH ? date.year + 1 : date.year;
}

bool log_of_bush(const struct log_note *note, const char *bush)
{
    return note->bush[0] == '\0' || strcmp(note->bush, bush) == 0;
}

static bool last_of_kind(const struct log_view *view, const struct zone *zone,
                         enum log_kind kind, const char *bush, utc_s now,
                         utc_s *out)
{
    bool found = false;

    for (int i = 0; i < view->count; i++) {
        const struct log_note *note = &view->entries[i].note;

        if (note->kind != kind || view->entries[i].removed || note->at > now ||
            !log_of_bush(note, bush) ||
            log_season_of(zone, note->at) != log_season_of(zone, now))
            continue;
        *out = note->at;
        found = true;
    }
    return found;
}

bool log_tapped_at(const struct log_view *view, const struct zone *zone,
                   const char *bush, utc_s now, utc_s *out)
{
    return last_of_kind(view, zone, LOG_TAPPED, bush, now, out);
}

bool log_collected_late(const struct log_view *view, const struct zone *zone,
                        const struct log_note *note, utc_s *pulled)
{
    utc_s tapped;

    return note->kind == LOG_COLLECTED &&
           last_of_kind(view, zone, LOG_PULLED, note->bush,
                        note->at - SECONDS_PER_DAY, pulled) &&
           !(log_tapped_at(view, zone, note->bush, note->at, &tapped) &&
             tapped > *pulled);
}

bool log_sugar_lately(const struct log_view *view, utc_s now, double most_brix,
                      double *brix, utc_s *at)
{
    bool found = false;

    for (int i = 0; i < view->count; i++) {
        const struct log_note *note = &view->entries[i].note;

        if (view->entries[i].removed || !note->has[LOG_SAP_BRIX] ||
            note->figure[LOG_SAP_BRIX] > most_brix || note->at > now ||
            note->at < now - SUGAR_FRESH_S || (found && note->at < *at))
            continue;
        *brix = note->figure[LOG_SAP_BRIX];
        *at = note->at;
        found = true;
    }
    return found;
}
