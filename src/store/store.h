/* What must not be lost, in SQLite: WAL, full sync, migrations counted in
 * user_version. One writer, the daemon. Every writing call is one IMMEDIATE
 * transaction, or part of the one opened by store_begin. */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include "base/civil_time.h"
#include "base/error.h"
#include "logbook/logbook.h"
#include "weather/series.h"

struct store;

/* Opens or makes the file. A newer version than this program knows is
 * refused; a damaged file is set aside as PATH.damaged-TIME, said in
 * *warning (owned by the caller, NULL if all is well), and a new one made. */
int store_open(const char *path, utc_s now, struct store **out, char **warning,
               struct error *err);
void store_close(struct store *store);
/* Has it turned out to be damaged, or was its file taken away? Close it then
 * and open it anew. */
bool store_lost(struct store *store);
/* Gives back what is held for speed alone; for a daemon between turns. */
void store_rest(struct store *store);

/* What an operation has no more use for goes (docs/store.md):
 *   weather  of more than 400 days ago;
 *   scores   of days more than 14 days ago keep, for each day of issue, the
 *            last alone; of more than 1200 days ago none;
 *   plans    made more than 14 days ago keep the last of each UTC day alone;
 *            of more than 1200 days ago none.
 * The logbook, the calendar's memory and notes stay. One transaction. */
int store_prune(struct store *store, const char *operation, utc_s now,
                struct error *err);

int store_begin(struct store *store, struct error *err);
int store_commit(struct store *store, struct error *err);
void store_rollback(struct store *store);
bool store_is_begun(struct store *store);

/* Hourly weather as it is known by now, per operation and bush: past hours
 * keep the best value that was known of them (observed before analysed
 * before forecast). */
int store_put_weather(struct store *store, const char *operation,
                      const char *bush, const struct series *series,
                      utc_s before, struct error *err);
/* A series from start over hours; sources named "history". */
int store_get_weather(struct store *store, const char *operation,
                      const char *bush, utc_s start, int hours,
                      struct series **out, struct error *err);
/* The same of the air temperature alone: a season of it is read in a fraction
 * of the time. */
int store_get_air(struct store *store, const char *operation, const char *bush,
                  utc_s start, int hours, struct series **out,
                  struct error *err);

/* Calendar events as last told, one row an event: an opaque JSON text per
 * uid, written and read by the caller. What is put replaces all that was. */
struct store_event {
    char *uid, *json;
};
int store_put_events(struct store *store, const char *operation,
                     const struct store_event *events, int count,
                     struct error *err);
int store_get_events(struct store *store, const char *operation,
                     struct store_event **events, int *count,
                     struct error *err);
void store_events_free(struct store_event *events, int count);

/* A score as given at issue time, for verification by lead day: model name,
 * version, digest of its parameter file, source and issue time with it. */
struct store_score {
    const char *bush;
    struct civil_date date;
    utc_s issued; /* of the forecast */
    utc_s made;
    const char *source;
    const char *model, *model_version, *model_digest;
    double sap_l_per_tap_p10, sap_l_per_tap_p50, sap_l_per_tap_p90, chance;
};
int store_put_scores(struct store *store, const char *operation,
                     const struct store_score *scores, int count,
                     struct error *err);

/* The plan as the turn of `made` told it, an opaque JSON text. One that is the
 * same as the last before it is in force already and not written again; what
 * was told at the same second is replaced. */
int store_put_plan(struct store *store, const char *operation, utc_s made,
                   const char *json, struct error *err);

/* Records of the logbook, in one transaction: one whose uid is there already
 * is passed over; new entries get the numbers after the highest, in the order
 * of the book (logbook_settle). `taken` is when they came. */
int store_take_log(struct store *store, const char *operation,
                   const struct logbook *records, utc_s taken,
                   struct error *err);
/* All records, settled. *out is to be freed with logbook_free. */
int store_get_log(struct store *store, const char *operation,
                  struct logbook *out, struct error *err);

/* Small named texts (since when a source is in trouble, and so on). */
int store_put_note(struct store *store, const char *operation, const char *name,
                   const char *value, struct error *err);
/* *value owned by the caller; NULL if there is none. */
int store_get_note(struct store *store, const char *operation, const char *name,
                   char **value, struct error *err);

#endif
