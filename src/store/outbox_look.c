/* How it stands with the outbox, and its end. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "store/outbox.h"
#include "store/store_private.h"

void outbox_letters_free(struct outbox_letters *letters)
{
    for (int i = 0; i < letters->count; i++) {
        free(letters->items[i].kind);
        free(letters->items[i].name);
        free(letters->items[i].recipient);
        free(letters->items[i].words);
    }
    free(letters->items);
    memset(letters, 0, sizeof *letters);
}

/* Of an operation; one that waits still is settled at the time asked about. */
#define LETTERS                                                                \
    "SELECT m.kind, m.name, o.recipient, o.words, o.attempts, o.reply,"        \
    " m.made, iif(o.state='waiting', ?2, o.settled)"                           \
    " FROM outbox o JOIN mail m ON m.id = o.mail WHERE m.operation=?1"

/* Rows of LETTERS. */
static int read_letters(struct store *store, sqlite3_stmt *row,
                        struct outbox_letters *out, struct error *err)
{
    int code;

    while ((code = sqlite3_step(row)) == SQLITE_ROW) {
        struct outbox_letter *letter;

        out->items =
            mem_resize(out->items, (size_t)out->count + 1, sizeof *out->items);
        letter = &out->items[out->count++];
        letter->kind = store_column_text(row, 0);
        letter->name = store_column_text(row, 1);
        letter->recipient = store_column_text(row, 2);
        letter->words = store_column_text(row, 3);
        letter->attempts = sqlite3_column_int(row, 4);
        letter->reply = sqlite3_column_int(row, 5);
        letter->made = sqlite3_column_int64(row, 6);
        letter->settled = sqlite3_column_int64(row, 7);
    }
    return code == SQLITE_DONE ? 0 : store_fail(store, err);
}

/* A query about one operation, its name bound as ?1; or NULL. */
static sqlite3_stmt *ask(struct store *store, const char *sql,
                         const char *operation, struct error *err)
{
    sqlite3_stmt *row = store_prepare(store, sql, err);

    if (row != NULL)
        store_bind_text(row, 1, operation);
    return row;
}

/* A query about one operation that gives at most one row. */
static int ask_one(struct store *store, const char *sql, const char *operation,
                   sqlite3_stmt **row, bool *found, struct error *err)
{
    *found = false;
    *row = ask(store, sql, operation, err);
    return *row != NULL ? store_seek(store, *row, found, err) : -1;
}

int outbox_due(struct store *store, const char *operation, utc_s *due,
               struct error *err)
{
    sqlite3_stmt *row;
    bool found;
    int result = ask_one(store,
                         "SELECT min(min(o.next, m.best_before)) FROM outbox o"
                         " JOIN mail m ON m.id = o.mail"
                         " WHERE o.state='waiting' AND m.operation=?1",
                         operation, &row, &found, err);

    *due = found ? sqlite3_column_int64(row, 0) : 0;
    store_release(store, row);
    return result;
}

/* `sql` begins with LETTERS. */
static int find_letters(struct store *store, const char *sql,
                        const char *operation, utc_s at,
                        struct outbox_letters *out, struct error *err)
{
    sqlite3_stmt *row = ask(store, sql, operation, err);
    int result = -1;

    if (row != NULL) {
        sqlite3_bind_int64(row, 2, at);
        result = read_letters(store, row, out, err);
    }
    store_release(store, row);
    return result;
}

static int find_expired(struct store *store, const char *operation, utc_s now,
                        struct outbox_letters *out, struct error *err)
{
    return find_letters(store,
                        LETTERS " AND o.state='waiting' AND m.best_before<=?2"
                                " ORDER BY o.id",
                        operation, now, out, err);
}

static int mark_expired(struct store *store, const char *operation, utc_s now,
                        struct error *err)
{
    sqlite3_stmt *row =
        ask(store,
            "UPDATE outbox SET state='dead', next=0, settled=?2"
            " WHERE state='waiting' AND mail IN (SELECT id FROM mail"
            " WHERE best_before<=?2 AND operation=?1)",
            operation, err);

    if (row != NULL)
        sqlite3_bind_int64(row, 2, now);
    return store_finish(store, row, err);
}

int outbox_expire(struct store *store, const char *operation, utc_s now,
                  struct outbox_letters *given_up, struct error *err)
{
    bool own;
    int result;

    memset(given_up, 0, sizeof *given_up);
    if (store_enter(store, &own, err) != 0)
        return -1;
    result = find_expired(store, operation, now, given_up, err);
    if (result == 0 && given_up->count > 0)
        result = mark_expired(store, operation, now, err);
    result = store_leave(store, own, result, err);
    if (result != 0)
        outbox_letters_free(given_up);
    return result;
}

void outbox_summary_free(struct outbox_summary *summary)
{
    free(summary->words);
    outbox_letters_free(&summary->given_up);
    memset(summary, 0, sizeof *summary);
}

static int count_rows(struct store *store, const char *operation,
                      struct outbox_summary *out, struct error *err)
{
    sqlite3_stmt *row;
    bool found;
    int result = ask_one(
        store,
        "SELECT coalesce(sum(o.state='waiting'),0),"
        " coalesce(sum(o.state='sending'),0),"
        " coalesce(sum(o.state='sent'),0), coalesce(sum(o.state='dead'),0),"
        " min(iif(o.state='waiting', m.made, NULL)),"
        " min(iif(o.state='waiting', o.next, NULL)),"
        " max(iif(o.state='waiting', o.attempts, 0))"
        " FROM outbox o JOIN mail m ON m.id = o.mail WHERE m.operation=?1",
        operation, &row, &found, err);

    if (found) {
        out->waiting = sqlite3_column_int(row, 0);
        out->sending = sqlite3_column_int(row, 1);
        out->sent = sqlite3_column_int(row, 2);
        out->dead = sqlite3_column_int(row, 3);
        out->oldest = sqlite3_column_int64(row, 4);
        out->next = sqlite3_column_int64(row, 5);
        out->attempts = sqlite3_column_int(row, 6);
    }
    store_release(store, row);
    return result;
}

static int last_words(struct store *store, const char *operation,
                      struct outbox_summary *out, struct error *err)
{
    sqlite3_stmt *row;
    bool found;
    int result = ask_one(
        store,
        "SELECT o.words, o.reply FROM outbox o JOIN mail m ON m.id = o.mail"
        " WHERE m.operation=?1 AND o.state='waiting' AND o.words<>''"
        " ORDER BY o.attempted DESC, o.id DESC LIMIT 1",
        operation, &row, &found, err);

    if (found) {
        out->words = store_column_text(row, 0);
        out->reply = sqlite3_column_int(row, 1);
    }
    store_release(store, row);
    return result;
}

/* The last fifty. */
static int find_dead(struct store *store, const char *operation, utc_s since,
                     struct outbox_letters *out, struct error *err)
{
    return find_letters(store,
                        LETTERS " AND o.state='dead' AND o.settled>=?2"
                                " ORDER BY o.settled DESC, o.id DESC LIMIT 50",
                        operation, since, out, err);
}

int outbox_sum(struct store *store, const char *operation, utc_s since,
               struct outbox_summary *out, struct error *err)
{
    memset(out, 0, sizeof *out);
    if (count_rows(store, operation, out, err) == 0 &&
        last_words(store, operation, out, err) == 0 &&
        find_dead(store, operation, since, &out->given_up, err) == 0)
        return 0;
    outbox_summary_free(out);
    return -1;
}

int outbox_prune(struct store *store, utc_s before, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store,
        "DELETE FROM mail WHERE NOT EXISTS (SELECT 1 FROM outbox o"
        " WHERE o.mail = mail.id AND (o.state IN ('waiting','sending')"
        " OR o.settled>=?1))",
        err);

    if (row != NULL)
        sqlite3_bind_int64(row, 1, before);
    return store_run(store, row, err);
}
