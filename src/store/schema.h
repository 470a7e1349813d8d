/* The tables of the store, and the steps from each version to the next. */
#ifndef STORE_SCHEMA_H
#define STORE_SCHEMA_H

#include <sqlite3.h>

#include "base/error.h"

enum { STORE_APPLICATION_ID = 0x74686177 }; /* "thaw" */

int schema_version(void); /* the newest */

/* 0 for a database of ours, or a new one, that this program knows; else -1. */
int schema_fits(sqlite3_int64 version, sqlite3_int64 application,
                struct error *err);

/* Brings an open database to the newest version, one transaction a step.
 * Refuses a newer one and that of another program. */
int schema_migrate(sqlite3 *db, struct error *err);

#endif
