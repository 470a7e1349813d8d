#include "daemon/due.h"

#include <stdlib.h>

#include "base/memory.h"
#include "daemon/schedule.h"

/* Of two at the same instant the one whose file comes first. */
static bool before(const struct daemon_operation *a,
                   const struct daemon_operation *b)
{
    return a->next != b->next ? a->next < b->next : a->place < b->place;
}

static void swap(struct due *due, int a, int b)
{
    struct daemon_operation *held = due->items[a];

    due->items[a] = due->items[b];
    due->items[b] = held;
}

static void rise(struct due *due, int at)
{
    while (at > 0 && before(due->items[at], due->items[(at - 1) / 2])) {
        swap(due, at, (at - 1) / 2);
        at = (at - 1) / 2;
    }
}

static void sink(struct due *due, int at)
{
    for (;;) {
        int child = 2 * at + 1;

        if (child + 1 < due->count &&
            before(due->items[child + 1], due->items[child]))
            child++;
        if (child >= due->count || !before(due->items[child], due->items[at]))
            return;
        swap(due, at, child);
        at = child;
    }
}

void due_add(struct due *due, struct daemon_operation *operation)
{
    if (due->count == due->room) {
        due->room = due->room > 0 ? 2 * due->room : 16;
        due->items =
            mem_resize(due->items, (size_t)due->room, sizeof *due->items);
    }
    due->items[due->count] = operation;
    rise(due, due->count++);
}

void due_fill(struct due *due, struct daemon_operation **operations, int count,
              utc_s now)
{
    due->count = 0;
    for (int i = 0; i < count; i++) {
        struct daemon_operation *operation = operations[i];

        if (operation->under_way)
            continue;
        if (schedule_turn_due(operation->next, now) && operation->next > now)
            operation->next = now;
        due_add(due, operation);
    }
}

struct daemon_operation *due_first(const struct due *due)
{
    return due->count > 0 ? due->items[0] : NULL;
}

void due_take_first(struct due *due)
{
    due->items[0] = due->items[--due->count];
    sink(due, 0);
}

void due_free(struct due *due)
{
    free(due->items);
    *due = (struct due){NULL, 0, 0};
}
