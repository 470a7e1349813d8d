/* The logbook: what was tapped, collected, boiled, drawn off, found and
 * pulled, as records that are only ever added. A correction and a removal are
 * records too, so that the history stays; the view is what stands in the end.
 *
 * Amounts in litres, sugar in Brix, light in per cent (grade.h), times as
 * UTC instants. A figure that was not told is marked so, never 0. */
#ifndef LOGBOOK_LOGBOOK_H
#define LOGBOOK_LOGBOOK_H

#include <stdbool.h>
#include <stdint.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "sugarhouse/grade.h"

enum {
    LOG_UID_SIZE = 48,
    LOG_BUSH_SIZE = 64,
    LOG_REMARK_SIZE = 256,
    LOG_MAX_RECORDS = 20000
};

enum log_kind {
    LOG_TAPPED,
    LOG_COLLECTED,
    LOG_BOILED,
    LOG_DREW,
    LOG_OFF_FLAVOUR,
    LOG_PULLED,
    LOG_KIND_COUNT
};

/* What an off-flavour entry found. */
enum log_sign {
    LOG_SIGN_NONE,
    LOG_SIGN_CLEAN, /* tasted, and good */
    LOG_SIGN_DARK,
    LOG_SIGN_MILKY,
    LOG_SIGN_OFF_TASTE,
    LOG_SIGN_COUNT
};

enum log_figure {
    LOG_SAP_L,
    LOG_SAP_BRIX,
    LOG_HOURS, /* of the boil */
    LOG_SYRUP_L,
    LOG_SYRUP_BRIX,
    LOG_LIGHT_PCT,
    LOG_FIGURE_COUNT
};

enum log_change { LOG_NEW, LOG_CORRECTION, LOG_REMOVAL, LOG_CHANGE_COUNT };

struct log_note {
    enum log_kind kind;
    utc_s at;
    char bush[LOG_BUSH_SIZE]; /* "": all of the operation */
    bool has[LOG_FIGURE_COUNT];
    double figure[LOG_FIGURE_COUNT];
    bool has_grade;
    enum grade grade;
    enum log_sign sign;
    char remark[LOG_REMARK_SIZE]; /* "" or the operator's words */
};

struct log_record {
    char uid[LOG_UID_SIZE]; /* unique, [A-Za-z0-9.-] */
    enum log_change change;
    char target[LOG_UID_SIZE]; /* uid of the entry that is changed, or "" */
    int number;                /* of a new entry, 0 until given; else 0 */
    utc_s written;
    bool waiting;         /* not yet taken in by the daemon */
    struct log_note note; /* of a removal: nothing */
};

struct logbook {
    struct log_record *records; /* owned; see logbook_settle for the order */
    int count;
    uint64_t *hashes; /* owned; of the uids in the order they were added */
};

/* Words of files and commands ("off-flavour"), borrowed; the reverse is -1
 * for a word that is not known, and knows "off-flavor" and "buddy" (an off
 * taste) too. */
const char *log_kind_word(enum log_kind kind);
int log_kind_from_word(const char *word);
const char *log_sign_word(enum log_sign sign); /* "" for none */
int log_sign_from_word(const char *word);
const char *log_change_word(enum log_change change);
int log_change_from_word(const char *word);

/* Key of a figure in JSON, CSV and the store ("sap_l"). */
const char *log_figure_key(enum log_figure figure);
/* A figure in 15 digits, or in 17 where those do not read back as the same
 * number (cJSON is content with 15 that are off by a bit). */
enum { LOG_NUMBER_SIZE = 32 };
void log_number_write(double value, char out[LOG_NUMBER_SIZE]);
bool log_kind_takes(enum log_kind kind, enum log_figure figure);

/* Whether the note makes sense: its kind's figures and no others, each in its
 * range, a draw's light and class in accord. -1 with a sentence. */
int log_note_check(const struct log_note *note, struct error *err);
int log_record_check(const struct log_record *record, struct error *err);

/* "20260306T231000Z-" and 16 hex digits of `random`. */
void log_uid_make(utc_s written, uint64_t random, char out[LOG_UID_SIZE]);

/* Adds a copy; false if a record of the uid is there already or the book is
 * full. */
bool logbook_add(struct logbook *book, const struct log_record *record);
void logbook_free(struct logbook *book);
/* Orders by the time of writing, then the time noted, then uid, and numbers
 * the new entries that have no number, onward from the highest. The daemon and
 * the client do it alike, so that a number holds from the moment of writing. */
void logbook_settle(struct logbook *book);
/* The record of a new entry; NULL if there is none. Borrowed. */
const struct log_record *logbook_find(const struct logbook *book, int number);

/* What stands: entries by time, then number; of several corrections the last
 * written holds; a removal stands whatever comes after it. */
struct log_entry {
    int number;
    char uid[LOG_UID_SIZE];
    struct log_note note;
    bool corrected, removed, waiting;
};

struct log_view {
    struct log_entry *entries; /* owned */
    int count;
};

void log_view_make(const struct logbook *book, bool with_removed,
                   struct log_view *out);
void log_view_free(struct log_view *view);
/* The entry of a number, or NULL. Borrowed. */
const struct log_entry *log_view_find(const struct log_view *view, int number);

/* The season that an instant belongs to, by its spring: from 1 November on,
 * the next year's (as tree/season.h counts). */
int log_season_of(const struct zone *zone, utc_s at);
/* True if the entry is of the bush, or of all. */
bool log_of_bush(const struct log_note *note, const char *bush);
/* The last tapping of the bush in the season of `now`, at or before `now`;
 * false if none is logged. */
bool log_tapped_at(const struct log_view *view, const struct zone *zone,
                   const char *bush, utc_s now, utc_s *out);

/* True for a collection more than a day after the taps of its bush were pulled:
 * who pulls empties the buckets. *pulled: when that was. */
bool log_collected_late(const struct log_view *view, const struct zone *zone,
                        const struct log_note *note, utc_s *pulled);

/* The sugar of sap that was noted last in the 14 days up to `now`, of at most
 * most_brix, and when; false if none was. More than LOG_MOST_SAP_BRIX is no
 * sap as it runs, but concentrate (an assumption of ours). */
#define LOG_MOST_SAP_BRIX 6.0
bool log_sugar_lately(const struct log_view *view, utc_s now, double most_brix,
                      double *brix, utc_s *at);

#endif
