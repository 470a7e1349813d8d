#include "daemon/status.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/words.h"
#include "daemon/notify.h"
#include "daemon/schedule.h"
#include "publish/bulletin.h"

/* A datagram to the service manager may be longer; who reads it wants less. */
enum { LINE_MAX_BYTES = 3000 };

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
    iso_time_utc(operation->trouble_since, since);
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

/* First of all, and what follows is of the old configuration. */
static void add_reload_trouble(const struct daemon *daemon, struct text *out)
{
    char since[ISO_TIME_SIZE];

    if (daemon->reload_trouble == NULL)
        return;
    iso_time_utc(daemon->reload_since, since);
    text_addf(out,
              _("new configuration refused, the old one stays in force, since "
                "%s: %s; "),
              since, daemon->reload_trouble);
}

static void add_parts(const struct daemon *daemon, struct text *out)
{
    for (int i = 0; i < daemon->plug_count; i++) {
        const struct loop_plug *plug = &daemon->plugs[i];

        if (plug->part.status != NULL)
            plug->part.status(plug->self, daemon, out);
    }
}

static void write_line(const struct daemon *daemon, struct text *out)
{
    int count = daemon->operation_count;

    add_reload_trouble(daemon, out);
    if (daemon->store == NULL) {
        add_store_trouble(daemon, out);
    } else {
        text_addf(out, words_count("%d operation", "%d operations", count),
                  count);
        add_weather(daemon, out);
        add_next(daemon, out);
        add_trouble(daemon, out);
    }
    add_parts(daemon, out);
}

void status_note(struct status_worst *worst, const struct daemon *daemon,
                 const char *slug, utc_s since, const char *why)
{
    const struct daemon_operation *operation;

    worst->count++;
    if (worst->count > 1 && since >= worst->since)
        return;
    operation = daemon_operation(daemon, slug);
    worst->name = operation != NULL ? operation->config->name : slug;
    worst->since = since;
    worst->why = why;
    iso_time_utc(since, worst->since_words);
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
