#include "store/outbox.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "store/store_private.h"

enum { JITTER_PARTS = 1000, LONGEST_WAIT_S = 2 * SECONDS_PER_HOUR };

static int put_mail(struct store *store, const struct outbox_mail *mail,
                    bool *added, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store,
        "INSERT OR IGNORE INTO mail(operation, name, kind, sender, made,"
        " best_before, body) VALUES(?1,?2,?3,?4,?5,?6,?7)",
        err);
    int result;

    if (row == NULL)
        return -1;
    store_bind_text(row, 1, mail->operation);
    store_bind_text(row, 2, mail->name);
    store_bind_text(row, 3, mail->kind);
    store_bind_text(row, 4, mail->sender);
    sqlite3_bind_int64(row, 5, mail->made);
    sqlite3_bind_int64(row, 6, mail->best_before);
    store_bind_bytes(row, 7, mail->body, mail->length);
    result = store_step(store, row, err);
    *added = result == 0 && sqlite3_changes(store->db) > 0;
    store_release(store, row);
    return result;
}

static int put_recipients(struct store *store, const struct outbox_mail *mail,
                          struct error *err)
{
    sqlite3_int64 id = sqlite3_last_insert_rowid(store->db);
    sqlite3_stmt *row = store_prepare(
        store,
        "INSERT OR IGNORE INTO outbox(mail, recipient, message_id, head,"
        " state, attempts, next, attempted, settled, reply, words)"
        " VALUES(?1,?2,?3,?4,'waiting',0,?5,0,0,0,'')",
        err);
    int result = row == NULL ? -1 : 0;

    for (int i = 0; result == 0 && i < mail->recipient_count; i++) {
        const struct outbox_recipient *recipient = &mail->recipients[i];

        sqlite3_bind_int64(row, 1, id);
        store_bind_text(row, 2, recipient->address);
        store_bind_text(row, 3, recipient->message_id);
        store_bind_text(row, 4, recipient->head);
        sqlite3_bind_int64(row, 5, mail->made);
        result = store_step(store, row, err);
    }
    store_release(store, row);
    return result;
}

int outbox_put(struct store *store, const struct outbox_mail *mail, bool *added,
               struct error *err)
{
    bool own, fresh = false;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    result = put_mail(store, mail, &fresh, err);
    if (result == 0 && fresh)
        result = put_recipients(store, mail, err);
    result = store_leave(store, own, result, err);
    if (added != NULL)
        *added = result == 0 && fresh;
    return result;
}

void outbox_row_free(struct outbox_row *row)
{
    free(row->kind);
    free(row->name);
    free(row->sender);
    free(row->recipient);
    free(row->message_id);
    free(row->message);
    memset(row, 0, sizeof *row);
}

int outbox_recover(struct store *store, utc_s now, int *count,
                   struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store,
        "UPDATE outbox SET state='waiting', next=?1 WHERE state='sending'",
        err);
    int result;

    if (row != NULL)
        sqlite3_bind_int64(row, 1, now);
    result = store_run(store, row, err);
    if (result == 0 && count != NULL)
        *count = sqlite3_changes(store->db);
    return result;
}

static void read_row(sqlite3_stmt *from, struct outbox_row *row)
{
    size_t head = (size_t)sqlite3_column_bytes(from, 9);
    size_t body = (size_t)sqlite3_column_bytes(from, 10);

    row->id = sqlite3_column_int64(from, 0);
    row->attempts = sqlite3_column_int(from, 1) + 1;
    row->recipient = store_column_text(from, 2);
    row->message_id = store_column_text(from, 3);
    row->kind = store_column_text(from, 4);
    row->name = store_column_text(from, 5);
    row->sender = store_column_text(from, 6);
    row->made = sqlite3_column_int64(from, 7);
    row->best_before = sqlite3_column_int64(from, 8);
    row->length = head + body;
    row->message = mem_alloc(row->length + 1, 1);
    if (head > 0)
        memcpy(row->message, store_column_words(from, 9), head);
    if (body > 0)
        memcpy(row->message + head, sqlite3_column_blob(from, 10), body);
}

static int find_due(struct store *store, const char *operation, utc_s now,
                    struct outbox_row *row, bool *found, struct error *err)
{
    sqlite3_stmt *due = store_prepare(
        store,
        "SELECT o.id, o.attempts, o.recipient, o.message_id, m.kind, m.name,"
        " m.sender, m.made, m.best_before, o.head, m.body"
        " FROM outbox o JOIN mail m ON m.id = o.mail"
        " WHERE o.state='waiting' AND o.next<=?1 AND m.operation=?2"
        " ORDER BY o.next, o.id LIMIT 1",
        err);
    int result;

    if (due == NULL)
        return -1;
    sqlite3_bind_int64(due, 1, now);
    store_bind_text(due, 2, operation);
    result = store_seek(store, due, found, err);
    if (*found)
        read_row(due, row);
    store_release(store, due);
    return result;
}

static int mark_sending(struct store *store, int64_t id, utc_s now,
                        struct error *err)
{
    sqlite3_stmt *row =
        store_prepare(store,
                      "UPDATE outbox SET state='sending', attempts=attempts+1,"
                      " attempted=?2 WHERE id=?1",
                      err);

    if (row != NULL) {
        sqlite3_bind_int64(row, 1, id);
        sqlite3_bind_int64(row, 2, now);
    }
    return store_finish(store, row, err);
}

int outbox_claim(struct store *store, const char *operation, utc_s now,
                 struct outbox_row *row, bool *found, struct error *err)
{
    bool own;
    int result;

    memset(row, 0, sizeof *row);
    *found = false;
    if (store_enter(store, &own, err) != 0)
        return -1;
    result = find_due(store, operation, now, row, found, err);
    if (result == 0 && *found)
        result = mark_sending(store, row->id, now, err);
    result = store_leave(store, own, result, err);
    if (result != 0) {
        outbox_row_free(row);
        *found = false;
    }
    return result;
}

static void bind_end(sqlite3_stmt *row, enum outbox_end end, utc_s now,
                     utc_s next)
{
    static const char *const states[] = {"sent", "waiting", "dead"};

    store_bind_text(row, 3, states[end]);
    sqlite3_bind_int64(row, 4, end == OUTBOX_RETRY ? next : 0);
    sqlite3_bind_int64(row, 5, end == OUTBOX_RETRY ? 0 : now);
}

int outbox_settle(struct store *store, int64_t id, const char *message_id,
                  utc_s now, enum outbox_end end, utc_s next, int reply,
                  const char *words, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store,
        "UPDATE outbox SET state=?3, next=?4, settled=?5, reply=?6, words=?7"
        " WHERE id=?1 AND message_id=?2 AND state='sending'",
        err);

    if (row != NULL) {
        sqlite3_bind_int64(row, 1, id);
        store_bind_text(row, 2, message_id);
        bind_end(row, end, now, next);
        sqlite3_bind_int(row, 6, reply);
        store_bind_text(row, 7, words);
    }
    return store_run(store, row, err);
}

int outbox_hold(struct store *store, const char *operation, utc_s until,
                const char *words, struct error *err)
{
    sqlite3_stmt *row =
        store_prepare(store,
                      "UPDATE outbox SET next=?1, words=coalesce(?3, words),"
                      " reply=iif(?3 IS NULL, reply, 0)"
                      " WHERE state='waiting' AND next<?1"
                      " AND mail IN (SELECT id FROM mail WHERE operation=?2)",
                      err);

    if (row != NULL) {
        sqlite3_bind_int64(row, 1, until);
        store_bind_text(row, 2, operation);
        store_bind_text(row, 3, words);
    }
    return store_run(store, row, err);
}

int outbox_unstick(struct store *store, utc_s now, struct error *err)
{
    sqlite3_stmt *row = store_prepare(store,
                                      "UPDATE outbox SET next=?1"
                                      " WHERE state='waiting' AND next>?1+?2",
                                      err);

    if (row != NULL) {
        sqlite3_bind_int64(row, 1, now);
        sqlite3_bind_int64(row, 2, LONGEST_WAIT_S);
    }
    return store_run(store, row, err);
}

/* A number that looks like none of its neighbours' (splitmix64's finish). */
static uint64_t scatter(uint64_t value)
{
    value += UINT64_C(0x9E3779B97F4A7C15);
    value = (value ^ (value >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    value = (value ^ (value >> 27)) * UINT64_C(0x94D049BB133111EB);
    return value ^ (value >> 31);
}

utc_s outbox_next_attempt(utc_s now, int attempts, int64_t seed)
{
    static const int minutes[] = {5, 15, 30};
    uint64_t part;

    if (attempts < 1)
        attempts = 1;
    if (attempts <= 3)
        return now + minutes[attempts - 1] * 60;
    part = scatter((uint64_t)seed * 1000 + (uint64_t)attempts) % JITTER_PARTS;
    return now + SECONDS_PER_HOUR * 9 / 10 +
           (utc_s)part * SECONDS_PER_HOUR / 5 / JITTER_PARTS;
}
