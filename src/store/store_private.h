/* Shared by the files of store/ alone. */
#ifndef STORE_STORE_PRIVATE_H
#define STORE_STORE_PRIVATE_H

#include <sqlite3.h>

#include "store/store.h"

enum { STORE_MAX_KEPT = 48 };

struct kept_statement {
    const char *sql; /* the caller's own, by its address */
    sqlite3_stmt *row;
    bool taken;
};

struct store {
    sqlite3 *db;
    char *path;
    bool damaged; /* as SQLite has said in between */
    struct kept_statement kept[STORE_MAX_KEPT];
    int kept_count;
};

/* A prepared statement, or NULL with a sentence naming the file; to be given
 * back with store_release, which keeps it for the next call with the same
 * words. */
sqlite3_stmt *store_prepare(struct store *store, const char *sql,
                            struct error *err);
/* For reading beside the daemon, yet not read-only: a write-ahead log that
 * nobody has open can only be read by one who may write beside it. The caller
 * closes *db on 0. */
int store_open_beside(const char *path, sqlite3 **db, struct error *err);
/* row may be NULL. What was read of it is gone. */
void store_release(struct store *store, sqlite3_stmt *row);
/* Before the database is closed; none is in use. */
void store_forget_statements(struct store *store);
/* A statement that answers nothing, with two texts. */
int store_run_for(struct store *store, const char *sql, const char *first,
                  const char *second, struct error *err);
/* The first column of a query's one row; what is wrong, SQLite tells. */
int store_number(sqlite3 *db, const char *sql, sqlite3_int64 *out);
/* Runs a statement to its end and resets it. */
int store_step(struct store *store, sqlite3_stmt *row, struct error *err);
/* The same once for all, in the transaction under way: row is released, and
 * may be NULL, which has failed already. */
int store_finish(struct store *store, sqlite3_stmt *row, struct error *err);
/* The same in a transaction of its own unless the caller holds one. */
int store_run(struct store *store, sqlite3_stmt *row, struct error *err);
/* Steps a query to its one row; *found tells whether it has one. The row
 * stays to be read and released. */
int store_seek(struct store *store, sqlite3_stmt *row, bool *found,
               struct error *err);
/* Opens a transaction unless the caller holds one; *own tells. */
int store_enter(struct store *store, bool *own, struct error *err);
/* Commits (result 0) or rolls back what store_enter opened; returns result,
 * or -1 if the commit failed. */
int store_leave(struct store *store, bool own, int result, struct error *err);
int store_fail(struct store *store, struct error *err);
/* What SQLite says of its last call, with the file's name; of a file or disk
 * that fails, what the system says. -1 always. */
int store_tell(sqlite3 *db, const char *path, struct error *err);
/* The reason alone; borrowed until the next call. */
const char *store_why(sqlite3 *db);
/* Does SQLite's code tell of damaged data, not of a disk or memory that fails?
 */
bool store_is_damage(int code);
/* The same of a finding of quick_check or integrity_check, which write as if a
 * page were damaged when they got no memory for it or the disk did not give it:
 * "unable to get the page. error code=7". */
bool store_tells_damage(const char *words);
/* Copied. Without memory for it SQLite would take a NULL for the words: that
 * ends the program (base/memory.h). */
void store_bind_text(sqlite3_stmt *row, int index, const char *words);
void store_bind_bytes(sqlite3_stmt *row, int index, const void *bytes,
                      size_t length);
/* A cell's text, borrowed until the next step; NULL for NULL. SQLite gives NULL
 * too where it has no memory for it: that ends the program (base/memory.h). */
const char *store_column_words(sqlite3_stmt *row, int column);
/* The same, owned by the caller; "" for NULL. */
char *store_column_text(sqlite3_stmt *row, int column);

#endif
