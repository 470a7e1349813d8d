/* Small logbooks for tests. All invented. */
#ifndef LOGBOOK_BENCH_H
#define LOGBOOK_BENCH_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "logbook/logbook.h"

/* Friday 6 March 2026, 18:10 in New York. */
#define BENCH_NOW ((utc_s)1772838600)

static inline struct zone *bench_zone(void)
{
    struct error err;
    struct zone *zone = zone_open("America/New_York", &err);

    if (zone == NULL) {
        fprintf(stderr, "%s\n", err.text);
        abort();
    }
    return zone;
}

/* A new entry of a kind; the caller fills the rest. */
static inline struct log_record bench_record(const char *uid,
                                             enum log_kind kind, utc_s at)
{
    struct log_record record = {.change = LOG_NEW, .written = at};

    snprintf(record.uid, sizeof record.uid, "%s", uid);
    record.note.kind = kind;
    record.note.at = at;
    return record;
}

static inline void bench_figure(struct log_record *record,
                                enum log_figure figure, double value)
{
    record->note.has[figure] = true;
    record->note.figure[figure] = value;
}

static inline struct log_record bench_change(const char *uid,
                                             const struct log_record *target,
                                             enum log_change change,
                                             utc_s written)
{
    struct log_record record = {.change = change, .written = written};

    if (change == LOG_CORRECTION)
        record.note = target->note;
    snprintf(record.uid, sizeof record.uid, "%s", uid);
    snprintf(record.target, sizeof record.target, "%s", target->uid);
    return record;
}

/* So many litres collected from a bush. */
static inline struct log_record
bench_collected(const char *uid, const char *bush, utc_s at, double sap_l)
{
    struct log_record record = bench_record(uid, LOG_COLLECTED, at);

    snprintf(record.note.bush, sizeof record.note.bush, "%s", bush);
    bench_figure(&record, LOG_SAP_L, sap_l);
    return record;
}

static inline bool bench_same_note(const struct log_note *a,
                                   const struct log_note *b)
{
    for (int i = 0; i < LOG_FIGURE_COUNT; i++)
        if (a->has[i] != b->has[i] ||
            (a->has[i] &&
             memcmp(&a->figure[i], &b->figure[i], sizeof a->figure[i]) != 0))
            return false;
    return a->kind == b->kind && a->at == b->at && a->sign == b->sign &&
           a->has_grade == b->has_grade &&
           (!a->has_grade || a->grade == b->grade) &&
           strcmp(a->bush, b->bush) == 0 && strcmp(a->remark, b->remark) == 0;
}

static inline bool bench_same_record(const struct log_record *a,
                                     const struct log_record *b)
{
    return strcmp(a->uid, b->uid) == 0 && a->change == b->change &&
           strcmp(a->target, b->target) == 0 && a->number == b->number &&
           a->written == b->written && bench_same_note(&a->note, &b->note);
}

#endif
