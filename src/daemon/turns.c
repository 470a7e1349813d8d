#include "daemon/turns.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/log.h"
#include "base/memory.h"
#include "base/words.h"
#include "daemon/due.h"
#include "daemon/schedule.h"
#include "daemon/trouble.h"
#include "net/clock.h"
#include "net/http.h"

enum { NO_REST_S = 3 };

/* Turns that have all they asked for end one after another. After this long
 * the loop looks round first, for signals and for who waits for a sign of life:
 * a slow disk may hold up each of them. */
enum { ROUND_MS = 1000 };

/* Up to so many, the machine may have other work than this, and what that has
 * written must not hold up a turn. */
enum { FEW_OPERATIONS = 32 };

/* One turn under way. */
struct under_way {
    struct daemon_operation *operation;
    struct turning *turning;
    struct transport_request *requests;
    struct transport_answer *answers;
    int count; /* questions of this round */
};

struct turns {
    struct under_way items[TURNS_AT_ONCE];
    int count;
    bool broken_off; /* some that might end have not been looked at */
    struct due due;
};

struct turns *turns_open(void)
{
    return mem_alloc(1, sizeof(struct turns));
}

void turns_free(struct turns *turns)
{
    if (turns == NULL)
        return;
    for (int i = 0; i < turns->count; i++)
        turn_drop(turns->items[i].turning);
    due_free(&turns->due);
    free(turns);
}

int turns_count(const struct turns *turns)
{
    return turns->count;
}

static bool transport_there(struct daemon *daemon,
                            const struct daemon_operation *operation,
                            struct error *err)
{
    char *cache;

    if (daemon->http != NULL)
        return true;
    cache = file_join(daemon->state, "answers");
    daemon->http =
        http_transport_open(cache, operation->config->contact, NULL, err);
    free(cache);
    return daemon->http != NULL;
}

static void tell_next(struct daemon *daemon)
{
    const struct daemon_operation *first = due_first(&daemon->turns->due);

    daemon->turn_next = first != NULL ? first->next : SCHEDULE_NEVER;
}

/* After a reload, and when the clock was set, all are looked at. */
static struct daemon_operation *earliest(struct daemon *daemon)
{
    if (daemon->turn_next == 0) {
        due_fill(&daemon->turns->due, daemon->operations,
                 daemon->operation_count, daemon->now);
        tell_next(daemon);
    }
    return due_first(&daemon->turns->due);
}

/* The time of the next turn, and of what is wrong. */
static void settle(struct daemon *daemon, struct daemon_operation *operation,
                   utc_s next)
{
    operation->under_way = false;
    operation->turned = daemon->now;
    operation->next = next;
    if (daemon->turn_next == 0)
        return;
    due_add(&daemon->turns->due, operation);
    tell_next(daemon);
}

/* The earliest. */
static void begin(struct daemon *daemon, struct daemon_operation *operation)
{
    struct under_way *item = &daemon->turns->items[daemon->turns->count];
    struct transport transport;
    struct error err = {""};

    memset(item, 0, sizeof *item);
    item->operation = operation;
    operation->under_way = true;
    due_take_first(&daemon->turns->due);
    tell_next(daemon);
    if (transport_there(daemon, operation, &err)) {
        transport = http_transport(daemon->http);
        item->turning =
            turn_begin(operation->config, daemon->now, &transport,
                       daemon->store, daemon->models, operation->folder, &err);
    }
    if (item->turning != NULL) {
        if (daemon->operation_count > FEW_OPERATIONS)
            turn_among_many(item->turning);
        daemon->turns->count++;
        return;
    }
    trouble_tell_one(operation, daemon->now, err.text);
    operation->kept_back = false; /* nobody has the newer one any more */
    settle(daemon, operation, daemon->now + TURNS_RETRY_S);
}

static void ask(struct daemon *daemon, struct under_way *item)
{
    item->count = turn_round(item->turning, &item->requests, &item->answers);
    for (int i = 0; i < item->count; i++)
        http_begin(daemon->http, daemon->now, &item->requests[i],
                   &item->answers[i]);
}

static utc_s next_of(const struct daemon *daemon,
                     const struct turn_result *result)
{
    utc_s soon = daemon->now + TURNS_RETRY_S;
    utc_s next = result->next;

    if (result->unpublished && next > soon)
        next = soon;
    if (next < daemon->now + SCHEDULE_SHORTEST_REST_S)
        next = daemon->now + SCHEDULE_SHORTEST_REST_S;
    return next;
}

static void prune(struct daemon *daemon, struct daemon_operation *operation)
{
    struct civil_date today = zone_date(operation->zone, daemon->now);
    struct error err = {""};

    if (civil_date_compare(operation->pruned, today) == 0)
        return;
    if (store_prune(daemon->store, operation->config->slug, daemon->now,
                    &err) != 0)
        log_warn(_("old rows stay in the store: %s"), err.text);
    operation->pruned = today;
}

static void tell_end(const struct daemon_operation *operation,
                     const struct turn_result *result)
{
    char next[ISO_TIME_SIZE];

    iso_time_local(operation->zone, operation->next, next);
    log_info(words_count("%s: turn done, %d file changed, next turn %s "
                         "operation=%s fresh=%s",
                         "%s: turn done, %d files changed, next turn %s "
                         "operation=%s fresh=%s",
                         result->published),
             operation->config->name, result->published, next,
             operation->config->slug, result->fresh ? "yes" : "no");
}

static void end(struct daemon *daemon, struct under_way *item)
{
    struct daemon_operation *operation = item->operation;
    struct bulletin *bulletin = NULL;
    struct turn_result result;
    struct error err = {""};

    if (turn_end(item->turning, &result, &bulletin, &err) != 0)
        error_list_add(&result.troubles, "%s", err.text);
    item->turning = NULL;
    operation->fresh = result.fresh;
    operation->kept_back = bulletin != NULL && !result.in_place;
    if (bulletin != NULL && result.in_place)
        operation->weather_from = bulletin->weather_from;
    settle(daemon, operation, next_of(daemon, &result));
    trouble_tell(operation, daemon->now, &result.troubles);
    tell_end(operation, &result);
    for (int i = 0; i < daemon->plug_count; i++) {
        const struct loop_plug *plug = &daemon->plugs[i];

        if (plug->part.turned != NULL)
            plug->part.turned(plug->self, daemon, operation, &result, bulletin);
    }
    prune(daemon, operation);
    bulletin_free(bulletin);
    turn_result_free(&result);
}

/* True when the turn has come to its end. */
static bool carry_on(struct daemon *daemon, struct under_way *item)
{
    for (;;) {
        if (item->count > 0 &&
            http_pending(daemon->http, item->answers, item->count))
            return false;
        if (item->count > 0)
            turn_take(item->turning);
        ask(daemon, item);
        if (item->count == 0)
            break;
    }
    end(daemon, item);
    return true;
}

/* Those that began first come first. True when the last of them has come to
 * its end. */
static bool carry_all_on(struct daemon *daemon)
{
    struct turns *turns = daemon->turns;
    int64_t until_ms = net_clock_ms() + ROUND_MS;
    bool ended = false;

    turns->broken_off = false;
    for (int i = 0; i < turns->count && !turns->broken_off;) {
        if (!carry_on(daemon, &turns->items[i])) {
            i++;
            continue;
        }
        ended = true;
        turns->count--;
        memmove(&turns->items[i], &turns->items[i + 1],
                (size_t)(turns->count - i) * sizeof turns->items[0]);
        turns->broken_off = i < turns->count && net_clock_ms() >= until_ms;
    }
    return ended && turns->count == 0;
}

static bool more_due(const struct daemon *daemon)
{
    return daemon->turns->count < TURNS_AT_ONCE &&
           (daemon->turn_next == 0 ||
            schedule_turn_due(daemon->turn_next, daemon->now));
}

static bool all_turned(const struct daemon *daemon)
{
    for (int i = 0; i < daemon->operation_count; i++)
        if (daemon->operations[i]->turned == 0 ||
            schedule_turn_due(daemon->operations[i]->next, daemon->now))
            return false;
    return true;
}

/* Once a day, when all who are to ask have asked by this clock. */
static void prune_answers(struct daemon *daemon)
{
    bool due = daemon->now >= daemon->answers_next ||
               daemon->now < daemon->answers_next - SECONDS_PER_DAY;

    if (!due || daemon->http == NULL || !all_turned(daemon))
        return;
    daemon->answers_next = daemon->now + SECONDS_PER_DAY;
    http_prune(daemon->http, daemon->now);
}

/* Between turns a daemon needs little: the memory of the last ones goes back
 * to the machine, unless the next one wants it at once. */
static void rest(struct daemon *daemon)
{
    prune_answers(daemon);
    earliest(daemon);
    if (daemon->turn_next <= daemon->now + NO_REST_S)
        return;
    if (daemon->store != NULL)
        store_rest(daemon->store);
    mem_give_back();
}

void turns_work(struct daemon *daemon, bool begin_new)
{
    while (begin_new && daemon->store != NULL && more_due(daemon)) {
        struct daemon_operation *operation = earliest(daemon);

        if (operation == NULL || operation->next > daemon->now)
            break;
        begin(daemon, operation);
    }
    if (daemon->http != NULL)
        http_work(daemon->http);
    if (carry_all_on(daemon))
        rest(daemon);
}

int turns_wait_ms(struct daemon *daemon, int longest_ms)
{
    int wait_ms = longest_ms, net_ms = -1;

    if (daemon->turns->broken_off)
        return 0;
    if (daemon->turn_next == 0)
        earliest(daemon);
    if (daemon->store != NULL && daemon->turns->count < TURNS_AT_ONCE)
        wait_ms = schedule_wait_ms(daemon->now, daemon->turn_next, longest_ms);
    if (daemon->http != NULL && daemon->turns->count > 0)
        net_ms = http_wait_ms(daemon->http);
    return net_ms >= 0 && net_ms < wait_ms ? net_ms : wait_ms;
}
