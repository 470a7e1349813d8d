#include "daemon/status.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/words.h"
#include "daemon/notify.h"
#include "daemon/schedule.h"
#include "publish/bulletin.h"

enum { LINE_MAX_BYTES = 600 };

static const struct daemon_operation *in_trouble(const struct daemon *daemon,
                                                 int *count)
{
    const struct daemon_operation *first = NULL;

    *count = 0;
    for (int i = 0; i < daemon->operation_count; i++) {
        const struct daemon_operation *operation = daemon->operations[i];

        if (operation->trouble_since == 0)
            continue;
        if (first == NULL || operation->trouble_since < first->trouble_since)
            first = operation;
        (*count)++;
    }
    return first;
}

/* Of what is published; those with nothing published are counted apart. */
static void add_weather(const struct daemon *daemon, struct text *out)
{
    int count = daemon->operation_count, without = 0;
    utc_s oldest = SCHEDULE_NEVER;
    char from[ISO_TIME_SIZE];

    for (int i = 0; i < count; i++) {
        utc_s weather = daemon->operations[i]->weather_from;

        without += weather == 0;
        if (weather != 0 && weather < oldest)
            oldest = weather;
    }
    if (without == 1 && count == 1)
        text_add(out, _("; nothing published yet"));
    else if (without > 0)
        text_addf(out, _("; %d with nothing published yet"), without);
    if (oldest == SCHEDULE_NEVER)
        return;
    iso_time_utc(oldest, from);
    text_addf(out, _("; oldest weather of %s"), from);
}

static void add_next(const struct daemon *daemon, struct text *out)
{
    char next[ISO_TIME_SIZE];

    if (daemon->turn_next == 0 || daemon->turn_next == SCHEDULE_NEVER) {
        text_add(out, _("; at work"));
        return;
    }
    iso_time_utc(daemon->turn_next, next);
    text_addf(out, _("; next turn %s"), next);
}

static void add_trouble(const struct daemon *daemon, struct text *out)
{
    const struct daemon_operation *operation;
    char since[ISO_TIME_SIZE];
    int count;

    operation = in_trouble(daemon, &count);
    if (operation == NULL || operation->troubles.count == 0)
        return;
    iso_time_local(operation->zone, operation->trouble_since, since);
    text_addf(out, _("; %d in trouble, %s since %s: %s"), count,
              operation->config->name, since, operation->troubles.items[0]);
}

static void add_store_trouble(const struct daemon *daemon, struct text *out)
{
    char since[ISO_TIME_SIZE];

    iso_time_utc(daemon->store_since, since);
    text_addf(out, _("the store cannot be opened; trying again since %s: %s"),
              since, daemon->store_why.text);
}

static void write_line(const struct daemon *daemon, struct text *out)
{
    int count = daemon->operation_count;

    if (daemon->reload_trouble != NULL) {
        text_add(out, daemon->reload_trouble);
        return;
    }
    if (daemon->store == NULL) {
        add_store_trouble(daemon, out);
        return;
    }
    text_addf(out, words_count("%d operation", "%d operations", count), count);
    add_weather(daemon, out);
    add_next(daemon, out);
    add_trouble(daemon, out);
}

void status_tell(struct daemon *daemon)
{
    struct text line;

    if (daemon->operation_count > 100 && daemon->now < daemon->status_next)
        return;
    daemon->status_next = daemon->now + 60;
    text_init(&line, LINE_MAX_BYTES);
    write_line(daemon, &line);
    notify_status(daemon->notify, line.bytes);
    text_free(&line);
}
