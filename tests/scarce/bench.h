/* An operation on disk, to be worked on while memory or disk fail: published
 * files of earlier turns, a store, a note that waits in the spool. All of it
 * the invented Tamarack Bend. */
#ifndef SCARCE_BENCH_H
#define SCARCE_BENCH_H

#include <stdbool.h>

#include "base/civil_time.h"
#include "base/error.h"
#include "config/config.h"

/* The clock of the demo: 5 March 2026, 06:30 in America/New_York. The earlier
 * turns are two hours older. */
#define SCARCE_NOW ((utc_s)1772710200)
#define SCARCE_BEFORE (SCARCE_NOW - 7200)

/* Makes the operation that every attempt begins with; once. */
void bench_open(void);
void bench_close(void);
/* The folder of the next attempt, as it was at first; and the first itself, to
 * be read alone. Borrowed. */
const char *bench_fresh(void);
const char *bench_first(void);

/* Whatever happened there: each published file is whole (the old one or a new
 * one), none is half-written, the store is sound and has lost nothing, the
 * note is in the spool or in the store. Ends the program if not. */
void bench_check(const char *folder, const char *attempt);
/* Is the published file of that name another than at first? */
bool bench_is_new(const char *folder, const char *name);
/* The note that waits in the spool at first. */
#define SCARCE_WAITING "20260305T110000Z-0000000000000002"

/* Paths in an attempt's folder, owned by the caller. */
char *bench_path(const char *folder, const char *name);
/* The operation's configuration, for that folder. */
struct bench_config {
    struct config_bush bush;
    struct config config;
    char *spool;
};
void bench_config_make(struct bench_config *out, const char *folder);
void bench_config_free(struct bench_config *config);
/* One turn in the folder with the demo's answers. */
int bench_turn(const char *folder, utc_s now, struct error *err);

#endif
