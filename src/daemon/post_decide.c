#include "daemon/post_decide.h"

#include <string.h>

#include "daemon/schedule.h"

enum { HOUR = SECONDS_PER_HOUR, PLAN_REST_S = 3 * HOUR };

/* A condition that has not held for so long is over, and may start anew.
 * Shorter gaps are the forecast's trembling; runs of one day after the other
 * are one. */
static const int rest_s[MAIL_KINDS] = {
    [MAIL_RUN_STARTING] = 20 * HOUR, [MAIL_OVERFLOW] = 6 * HOUR,
    [MAIL_SPOILAGE] = 6 * HOUR,      [MAIL_FREEZE_UP] = 12 * HOUR,
    [MAIL_PLAN_CHANGED] = 0,         [MAIL_BUDDING] = 72 * HOUR,
    [MAIL_FORECAST_STALE] = 0,
};

bool post_is_quiet(const struct post_rules *rules, const struct zone *zone,
                   utc_s now)
{
    struct civil_time civil = zone_civil(zone, now);
    int minute = civil.hour * 60 + civil.minute;
    int from = rules->quiet_from_min, to = rules->quiet_to_min;

    if (!rules->has_quiet || from == to)
        return false;
    return from < to ? minute >= from && minute < to
                     : minute >= from || minute < to;
}

utc_s post_decide_next(const struct post_rules *rules, const struct zone *zone,
                       utc_s now)
{
    utc_s next = schedule_next(zone, rules->morning_min, now);
    utc_s end;

    if (!post_is_quiet(rules, zone, now))
        return next;
    end = schedule_next(zone, rules->quiet_to_min % (24 * 60), now);
    return end < next ? end : next;
}

static void decide_morning(const struct post_rules *rules,
                           const struct zone *zone, bool can_tell, utc_s now,
                           struct post_memory *memory,
                           struct post_decision *out)
{
    utc_s due = rules->due != 0 ? rules->due : now;

    if (!schedule_due(zone, rules->morning_min, memory->morning, now,
                      &out->date))
        return;
    out->missed =
        due >= schedule_instant(zone, out->date, POST_MORNING_END_MIN) &&
        rules->morning_min < POST_MORNING_END_MIN;
    out->morning = !out->missed && can_tell;
    if (out->missed || out->morning)
        memory->morning = out->date;
}

/* Kept to the hour, so that the memory does not change with every look. */
static utc_s whole_hour(utc_s instant)
{
    return instant - instant % HOUR;
}

static void look_at(struct post_condition *condition, enum mail_kind kind,
                    bool holds, utc_s now)
{
    bool nonsense = condition->since > now + SECONDS_PER_DAY ||
                    condition->seen > now + SECONDS_PER_DAY;

    if (nonsense) /* noted under a wrong clock */
        memset(condition, 0, sizeof *condition);
    if (!holds && condition->active && now - condition->seen >= rest_s[kind])
        memset(condition, 0, sizeof *condition);
    /* Another change of the plan after the last was told. */
    if (holds && kind == MAIL_PLAN_CHANGED && condition->told != 0 &&
        now - condition->told >= PLAN_REST_S)
        memset(condition, 0, sizeof *condition);
    if (!holds)
        return;
    if (!condition->active) {
        condition->active = true;
        condition->since = now;
        condition->told = 0;
    }
    condition->seen = whole_hour(now);
}

static const struct mail_condition *
find(const struct mail_condition *conditions, int count, enum mail_kind kind)
{
    for (int i = 0; i < count; i++)
        if (conditions[i].kind == kind)
            return &conditions[i];
    return NULL;
}

static void remember_plan(const struct bulletin *bulletin, utc_s now,
                          struct post_memory *memory)
{
    memory->told_count = mail_tell(bulletin, now, memory->told);
    memory->has_told = true;
}

static void tell(const struct bulletin *bulletin,
                 const struct mail_condition *held, utc_s now,
                 struct post_memory *memory, struct post_decision *out)
{
    struct post_condition *condition = &memory->conditions[held->kind];

    out->since[out->alert_count] = condition->since;
    out->alerts[out->alert_count++] = *held;
    condition->told = now;
    if (held->kind == MAIL_PLAN_CHANGED)
        remember_plan(bulletin, now, memory);
}

static void decide_alerts(const struct post_rules *rules,
                          const struct zone *zone,
                          const struct bulletin *bulletin, utc_s now,
                          struct post_memory *memory, struct post_decision *out)
{
    bool quiet = post_is_quiet(rules, zone, now);
    struct mail_condition held[MAIL_KINDS];
    int count =
        mail_watch(bulletin, now, memory->has_told ? memory->told : NULL,
                   memory->told_count, held);

    for (int kind = 0; kind < MAIL_KINDS; kind++) {
        struct post_condition *condition = &memory->conditions[kind];
        bool wanted = (rules->alerts & 1U << kind) != 0;
        const struct mail_condition *one =
            wanted ? find(held, count, (enum mail_kind)kind) : NULL;

        look_at(condition, (enum mail_kind)kind, one != NULL, now);
        if (one == NULL || condition->told != 0)
            continue;
        if (out->morning)
            condition->told = now;
        else if (!quiet)
            tell(bulletin, one, now, memory, out);
    }
}

void post_decide(const struct post_rules *rules, const struct zone *zone,
                 const struct bulletin *bulletin, utc_s now,
                 struct post_memory *memory, struct post_decision *out)
{
    memset(out, 0, sizeof *out);
    decide_morning(rules, zone, bulletin != NULL, now, memory, out);
    if (bulletin == NULL)
        return;
    decide_alerts(rules, zone, bulletin, now, memory, out);
    if (out->morning)
        remember_plan(bulletin, now, memory);
}
