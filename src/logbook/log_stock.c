#include "logbook/log_stock.h"

#include <string.h>

/* Half an hour each, as sugarhouse/boil.h reckons. */
static const double start_and_finish_h = 1;

struct course {
    const struct log_view *view;
    const struct zone *zone;
    utc_s now;
    const struct log_stock_bush *bushes;
    int bush_count;
    const struct log_stock_house *house;
    struct log_stock *out;
    utc_s since[LOG_STOCK_BUSHES]; /* last emptied or tapped; 0: unknown */
};

static bool counts(const struct course *course, const struct log_entry *entry)
{
    return !entry->removed && entry->note.at <= course->now &&
           log_season_of(course->zone, entry->note.at) ==
               log_season_of(course->zone, course->now);
}

/* Adds sap of some age; the mean follows. */
static void pour(struct log_held *held, double litres, double age_h)
{
    if (litres <= 0)
        return;
    held->age_h = (held->age_h * held->l + age_h * litres) / (held->l + litres);
    held->l += litres;
}

static void cap(struct course *course, struct log_held *held, double most_l)
{
    if (most_l <= 0 || held->l <= most_l)
        return;
    course->out->overflow_l += held->l - most_l;
    held->l = most_l;
}

static void find_since(struct course *course)
{
    for (int b = 0; b < course->bush_count; b++)
        if (course->bushes[b].has_tapped &&
            course->bushes[b].tapped <= course->now)
            course->since[b] = course->bushes[b].tapped;
    for (int i = 0; i < course->view->count; i++) {
        const struct log_note *note = &course->view->entries[i].note;

        if (!counts(course, &course->view->entries[i]))
            continue;
        if (note->kind == LOG_COLLECTED || note->kind == LOG_BOILED)
            course->out->has_log = true;
        if (note->kind != LOG_COLLECTED && note->kind != LOG_TAPPED)
            continue;
        for (int b = 0; b < course->bush_count; b++)
            if (log_of_bush(note, course->bushes[b].name))
                course->since[b] = note->at;
    }
}

/* Litres of all taps from `from` to `to`; an hour cut in two by shares. */
static double ran_l(const struct log_stock_bush *bush, utc_s from, utc_s to)
{
    utc_s start = bush->flow_start;
    double sum = 0;
    int hour = 0;

    if (from > start) {
        utc_s before = (from - start) / SECONDS_PER_HOUR;

        hour = before < bush->flow_hours ? (int)before : bush->flow_hours;
        start += (utc_s)hour * SECONDS_PER_HOUR;
    }
    for (; hour < bush->flow_hours && start < to; hour++) {
        utc_s first = start > from ? start : from;
        utc_s last =
            start + SECONDS_PER_HOUR < to ? start + SECONDS_PER_HOUR : to;

        if (last > first)
            sum += bush->sap_l_per_tap[hour] * (double)(last - first) /
                   SECONDS_PER_HOUR;
        start += SECONDS_PER_HOUR;
    }
    return sum * bush->taps;
}

static double hours_between(utc_s from, utc_s to)
{
    return (double)(to - from) / SECONDS_PER_HOUR;
}

static void fill_buckets(struct course *course, int b)
{
    const struct log_stock_bush *bush = &course->bushes[b];
    struct log_held *held = &course->out->buckets[b];

    for (utc_s at = course->since[b]; at < course->now;) {
        utc_s next = at - at % SECONDS_PER_HOUR + SECONDS_PER_HOUR;

        next = next < course->now ? next : course->now;
        pour(held, ran_l(bush, at, next), hours_between(at, course->now));
        cap(course, held, bush->bucket_l * bush->taps);
        at = next;
    }
}

/* Sap that a boil took; one of which only the hours are told by the fire's
 * rate. */
static double boiled_l(const struct log_note *note,
                       const struct log_stock_house *house)
{
    double full_h = note->figure[LOG_HOURS] - start_and_finish_h;

    if (note->has[LOG_SAP_L])
        return note->figure[LOG_SAP_L];
    return full_h > 0 ? full_h * house->sap_rate_l_h : 0;
}

/* What the log says of the tanks in [from, to). */
static void pour_logged(struct course *course, utc_s from, utc_s to)
{
    struct log_held *tanks = &course->out->tanks;

    for (int i = 0; i < course->view->count; i++) {
        const struct log_note *note = &course->view->entries[i].note;
        double taken = 0;

        if (note->at < from || note->at >= to ||
            !counts(course, &course->view->entries[i]))
            continue;
        if (note->kind == LOG_COLLECTED)
            pour(tanks, note->figure[LOG_SAP_L],
                 hours_between(note->at, course->now));
        else if (note->kind == LOG_BOILED)
            taken = boiled_l(note, course->house);
        tanks->l = tanks->l > taken ? tanks->l - taken : 0;
        cap(course, tanks, course->house->storage_l);
    }
}

static void pour_tubing(struct course *course, utc_s from, utc_s to)
{
    for (int b = 0; b < course->bush_count; b++) {
        utc_s since = course->since[b];

        if (course->bushes[b].buckets || since == 0 || to <= since)
            continue;
        pour(&course->out->tanks,
             ran_l(&course->bushes[b], from > since ? from : since, to),
             hours_between(from, course->now));
    }
    cap(course, &course->out->tanks, course->house->storage_l);
}

/* The first thing known of the tanks this season. */
static utc_s first_known(const struct course *course)
{
    utc_s first = course->now;

    for (int i = 0; i < course->view->count; i++)
        if (counts(course, &course->view->entries[i]) &&
            course->view->entries[i].note.at < first)
            first = course->view->entries[i].note.at;
    for (int b = 0; b < course->bush_count; b++)
        if (!course->bushes[b].buckets && course->since[b] != 0 &&
            course->since[b] < first)
            first = course->since[b];
    return first;
}

void log_stock_make(const struct log_view *view, const struct zone *zone,
                    utc_s now, const struct log_stock_bush *bushes,
                    int bush_count, const struct log_stock_house *house,
                    struct log_stock *out)
{
    struct course course = {.view = view,
                            .zone = zone,
                            .now = now,
                            .bushes = bushes,
                            .bush_count = bush_count,
                            .house = house,
                            .out = out};

    memset(out, 0, sizeof *out);
    if (course.bush_count > LOG_STOCK_BUSHES)
        course.bush_count = LOG_STOCK_BUSHES;
    find_since(&course);
    for (int b = 0; b < course.bush_count; b++)
        if (bushes[b].buckets && course.since[b] != 0)
            fill_buckets(&course, b);
    for (utc_s at = first_known(&course); at <= now;) {
        utc_s next = at - at % SECONDS_PER_HOUR + SECONDS_PER_HOUR;

        next = next <= now ? next : now + 1;
        pour_logged(&course, at, next);
        pour_tubing(&course, at, next < now ? next : now);
        at = next;
    }
}
