#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "store/store_private.h"

/* What is as it was is not written again. */
static int put_events(struct store *store, const char *operation,
                      const struct store_event *events, int count,
                      struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store,
        "INSERT INTO event VALUES(?1,?2,?3)"
        " ON CONFLICT(operation, uid) DO UPDATE SET json=excluded.json"
        " WHERE json<>excluded.json",
        err);
    int result = row == NULL ? -1 : 0;

    for (int i = 0; result == 0 && i < count; i++) {
        store_bind_text(row, 1, operation);
        store_bind_text(row, 2, events[i].uid);
        store_bind_text(row, 3, events[i].json);
        result = store_step(store, row, err);
    }
    store_release(store, row);
    return result;
}

static bool is_among(const struct store_event *events, int count,
                     const char *uid)
{
    for (int i = 0; i < count; i++)
        if (strcmp(events[i].uid, uid) == 0)
            return true;
    return false;
}

static int drop_event(struct store *store, const char *operation,
                      const char *uid, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store, "DELETE FROM event WHERE operation=?1 AND uid=?2", err);

    if (row != NULL) {
        store_bind_text(row, 1, operation);
        store_bind_text(row, 2, uid);
    }
    return store_finish(store, row, err);
}

static int drop_others(struct store *store, const char *operation,
                       const struct store_event *events, int count,
                       struct error *err)
{
    struct store_event *held;
    int held_count, result;

    result = store_get_events(store, operation, &held, &held_count, err);
    for (int i = 0; result == 0 && i < held_count; i++)
        if (!is_among(events, count, held[i].uid))
            result = drop_event(store, operation, held[i].uid, err);
    store_events_free(held, held_count);
    return result;
}

/* The events given are all there are: what is not among them goes. */
int store_put_events(struct store *store, const char *operation,
                     const struct store_event *events, int count,
                     struct error *err)
{
    bool own;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    result = drop_others(store, operation, events, count, err);
    if (result == 0)
        result = put_events(store, operation, events, count, err);
    return store_leave(store, own, result, err);
}

int store_get_events(struct store *store, const char *operation,
                     struct store_event **events, int *count, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store, "SELECT uid, json FROM event WHERE operation=?1 ORDER BY uid",
        err);
    int code;

    *events = NULL;
    *count = 0;
    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    while ((code = sqlite3_step(row)) == SQLITE_ROW) {
        *events = mem_resize(*events, (size_t)*count + 1, sizeof **events);
        (*events)[*count].uid = store_column_text(row, 0);
        (*events)[*count].json = store_column_text(row, 1);
        (*count)++;
    }
    store_release(store, row);
    if (code == SQLITE_DONE)
        return 0;
    store_events_free(*events, *count);
    *events = NULL;
    *count = 0;
    return store_fail(store, err);
}

void store_events_free(struct store_event *events, int count)
{
    for (int i = 0; i < count; i++) {
        free(events[i].uid);
        free(events[i].json);
    }
    free(events);
}
