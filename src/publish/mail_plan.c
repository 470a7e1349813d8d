#include "publish/mail_plan.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/words.h"
#include "publish/phrase.h"

/* From now to the end of tomorrow, and not under way: what has begun is in
 * somebody's hands. */
static bool ahead(const struct bulletin *bulletin, utc_s now,
                  const struct mail_told *told)
{
    struct civil_date today = bulletin_date(bulletin, now);

    return civil_date_compare(told->date, today) >= 0 &&
           civil_date_compare(told->date, civil_date_add(today, 1)) <= 0 &&
           (told->start == 0 || told->start > now);
}

static struct mail_told as_told(const struct bulletin_action *action)
{
    return (struct mail_told){action->kind, action->date,
                              action->all_day ? 0 : action->start,
                              action->all_day ? 0 : action->end};
}

int mail_tell(const struct bulletin *bulletin, utc_s now,
              struct mail_told told[MAIL_MAX_TOLD])
{
    int count = 0;

    for (int i = 0; i < bulletin->action_count && count < MAIL_MAX_TOLD; i++) {
        told[count] = as_told(&bulletin->actions[i]);
        count += ahead(bulletin, now, &told[count]);
    }
    return count;
}

static bool same(const struct mail_told *a, const struct mail_told *b)
{
    return a->kind == b->kind && civil_date_compare(a->date, b->date) == 0 &&
           (a->start == 0) == (b->start == 0) &&
           llabs((long long)(a->start - b->start)) < MAIL_MOVED_S &&
           llabs((long long)(a->end - b->end)) < MAIL_MOVED_S;
}

/* The first of `list` that has no like in `other`, or NULL. */
static const struct mail_told *
without_like(const struct bulletin *bulletin, utc_s now,
             const struct mail_told *list, int count,
             const struct mail_told *other, int other_count)
{
    for (int i = 0; i < count; i++) {
        bool found = !ahead(bulletin, now, &list[i]);

        for (int j = 0; !found && j < other_count; j++)
            found = same(&list[i], &other[j]);
        if (!found)
            return &list[i];
    }
    return NULL;
}

static const struct bulletin_action *action_of(const struct bulletin *bulletin,
                                               const struct mail_told *told)
{
    for (int i = 0; told != NULL && i < bulletin->action_count; i++) {
        struct mail_told one = as_told(&bulletin->actions[i]);

        if (one.kind == told->kind && one.start == told->start &&
            civil_date_compare(one.date, told->date) == 0)
            return &bulletin->actions[i];
    }
    return NULL;
}

/* "Boil 18:00-22:00", with its amount where one is told. */
static void say(const struct bulletin *bulletin, utc_s now,
                const struct bulletin_action *action, char *what, char *when)
{
    phrase_action(action, bulletin->units, what);
    phrase_action_time(bulletin, action, bulletin_date(bulletin, now), when);
}

static void say_now(const struct bulletin *bulletin, utc_s now,
                    const struct bulletin_action *action,
                    struct mail_condition *out)
{
    char what[PHRASE_SIZE], when[PHRASE_SIZE];

    say(bulletin, now, action, what, when);
    snprintf(out->subject, MAIL_LINE_SIZE, _("Plan changed: %s, %s"), what,
             when);
    snprintf(out->lines[0], MAIL_LINE_SIZE, _("Now: %s, %s."), what, when);
    snprintf(out->lines[2], MAIL_LINE_SIZE, "%s", action->reason);
}

/* What was told, in words: as the action that it was, without an amount. */
static struct bulletin_action bare(const struct mail_told *told)
{
    return (struct bulletin_action){.kind = told->kind,
                                    .date = told->date,
                                    .all_day = told->start == 0,
                                    .start = told->start,
                                    .end = told->end};
}

static void say_before(const struct bulletin *bulletin, utc_s now,
                       const struct mail_told *told, bool replaced,
                       struct mail_condition *out)
{
    struct bulletin_action action = bare(told);
    char what[PHRASE_SIZE], when[PHRASE_SIZE];

    say(bulletin, now, &action, what, when);
    if (replaced) {
        snprintf(out->lines[1], MAIL_LINE_SIZE, _("Before: %s, %s."), what,
                 when);
        return;
    }
    snprintf(out->subject, MAIL_LINE_SIZE, _("Plan changed: not %s, %s"), what,
             when);
    snprintf(out->lines[0], MAIL_LINE_SIZE, _("Falls away: %s, %s."), what,
             when);
    snprintf(out->lines[1], MAIL_LINE_SIZE, "%s",
             _("The weather or what is in the buckets is no longer what it "
               "was for."));
}

/* A told action of the same kind is what a new one stands for. */
static const struct mail_told *replaced_by(const struct bulletin *bulletin,
                                           utc_s now,
                                           const struct mail_told *now_told,
                                           const struct mail_told *told,
                                           int count)
{
    for (int i = 0; i < count; i++)
        if (told[i].kind == now_told->kind && ahead(bulletin, now, &told[i]))
            return &told[i];
    return NULL;
}

bool mail_watch_plan(const struct bulletin *bulletin, utc_s now,
                     const struct mail_told *told, int told_count,
                     struct mail_condition *out)
{
    struct mail_told current[MAIL_MAX_TOLD];
    int count = mail_tell(bulletin, now, current);
    const struct mail_told *gone, *fresh;
    const struct bulletin_action *action;

    if (told == NULL)
        return false;
    fresh = without_like(bulletin, now, current, count, told, told_count);
    gone = without_like(bulletin, now, told, told_count, current, count);
    action = action_of(bulletin, fresh);
    if (action != NULL) {
        const struct mail_told *before =
            replaced_by(bulletin, now, fresh, told, told_count);

        say_now(bulletin, now, action, out);
        if (before != NULL)
            say_before(bulletin, now, before, true, out);
        out->best_before =
            action->all_day ? now + SECONDS_PER_DAY : action->end;
        return true;
    }
    if (gone == NULL)
        return false;
    say_before(bulletin, now, gone, false, out);
    out->best_before = gone->end != 0 ? gone->end : now + SECONDS_PER_DAY;
    return true;
}
