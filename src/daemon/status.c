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

static utc_s oldest_weather(const struct daemon *daemon)
{
    utc_s oldest = SCHEDULE_NEVER;

    for (int i = 0; i < daemon->operation_count; i++)
        if (daemon->operations[i]->weather_from < oldest)
            oldest = daemon->operations[i]->weather_from;
    return oldest;
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

static void write_line(const struct daemon *daemon, struct text *out)
{
    utc_s weather = oldest_weather(daemon);
    int count = daemon->operation_count;
    char from[ISO_TIME_SIZE], next[ISO_TIME_SIZE];

    if (daemon->reload_trouble != NULL) {
        text_add(out, daemon->reload_trouble);
        return;
    }
    if (daemon->store == NULL) {
        text_add(out, _("the store cannot be opened; trying again"));
        return;
    }
    iso_time_utc(weather, from);
    iso_time_utc(daemon->turn_next, next);
    if (weather == 0 || weather == SCHEDULE_NEVER)
        text_addf(out,
                  words_count("%d operation; waiting for a first forecast",
                              "%d operations; waiting for a first forecast",
                              count),
                  count);
    else if (daemon->turn_next == 0 || daemon->turn_next == SCHEDULE_NEVER)
        text_addf(out,
                  words_count("%d operation; oldest weather of %s; at work",
                              "%d operations; oldest weather of %s; at work",
                              count),
                  count, from);
    else
        text_addf(
            out,
            words_count("%d operation; oldest weather of %s; next turn %s",
                        "%d operations; oldest weather of %s; next turn %s",
                        count),
            count, from, next);
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
