#include "publish/mail_watch.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/words.h"
#include "publish/mail_plan.h"
#include "publish/phrase.h"
#include "publish/season_words.h"
#include "publish/show.h"

static const char *const kind_words[MAIL_KINDS] = {
    "run-starting", "overflow", "spoilage",      "freeze-up",
    "plan-changed", "budding",  "forecast-stale"};

const char *mail_kind_word(enum mail_kind kind)
{
    return kind_words[kind];
}

int mail_kind_from_word(const char *word)
{
    for (int i = 0; i < MAIL_KINDS; i++)
        if (strcmp(word, kind_words[i]) == 0)
            return i;
    return -1;
}

/* The day whose run begins within two hours, or is under way. */
static const struct bulletin_day *starting(const struct bulletin *bulletin,
                                           utc_s now)
{
    for (int i = 0; i < bulletin->day_count; i++) {
        const struct bulletin_day *day = &bulletin->days[i];

        if (day->known && day->has_window &&
            day->strength >= STRENGTH_FAIR_RUN && day->chance >= 0.5 &&
            now >= day->run_start - MAIL_RUN_AHEAD_S && now < day->run_end)
            return day;
    }
    return NULL;
}

static const struct bulletin_action *
next_action(const struct bulletin *bulletin, utc_s now)
{
    for (int i = 0; i < bulletin->action_count; i++)
        if (!bulletin_action_over(bulletin, &bulletin->actions[i], now))
            return &bulletin->actions[i];
    return NULL;
}

/* "Collect 150 gal, Sat 7 Mar 16:00-18:00." */
static void say_action(const struct bulletin *bulletin,
                       const struct bulletin_action *action, utc_s now,
                       char *out, size_t size)
{
    char what[PHRASE_SIZE], when[PHRASE_SIZE];

    phrase_action(action, bulletin->units, what);
    phrase_action_time(bulletin, action, bulletin_date(bulletin, now), when);
    snprintf(out, size, _("%s, %s."), what, when);
}

static void say_run_lines(const struct bulletin *bulletin,
                          const struct bulletin_day *day, utc_s now,
                          struct mail_condition *out)
{
    const struct bulletin_action *action = next_action(bulletin, now);
    char volume[PHRASE_SIZE], range[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, bulletin->units, volume);
    phrase_volume_range(day->sap_l_p10, day->sap_l_p90, bulletin->units, range);
    phrase_chance(day->chance, chance);
    snprintf(out->lines[0], MAIL_LINE_SIZE,
             _("About %s from all taps (%s, 8 times in 10), %s chance."),
             volume, range, chance);
    phrase_reason(bulletin, day->date, bulletin->units, out->lines[1],
                  MAIL_LINE_SIZE);
    if (action != NULL)
        say_action(bulletin, action, now, out->lines[2], MAIL_LINE_SIZE);
    else
        snprintf(out->lines[2], MAIL_LINE_SIZE, "%s",
                 _("Look after buckets and lines."));
}

static bool watch_run(const struct bulletin *bulletin, utc_s now,
                      struct mail_condition *out)
{
    const struct bulletin_day *day = starting(bulletin, now);
    char window[PHRASE_SIZE];

    if (day == NULL)
        return false;
    phrase_window(bulletin, day->run_start, day->run_end, window);
    snprintf(out->subject, MAIL_LINE_SIZE, _("%s, %s"),
             phrase_strength_first(day->strength), window);
    say_run_lines(bulletin, day, now, out);
    out->best_before = day->run_end;
    return true;
}

static const struct bulletin_action *
averting(const struct bulletin *bulletin, utc_s now, enum action_averts averts)
{
    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];

        if (action->averts == averts && !action->all_day &&
            !bulletin_action_over(bulletin, action, now) &&
            action->start <= now + MAIL_AHEAD_S)
            return action;
    }
    return NULL;
}

/* A loss that an action of the coming day averts. */
static bool watch_loss(const struct bulletin *bulletin, utc_s now,
                       enum action_averts averts, struct mail_condition *out)
{
    const struct bulletin_action *action = averting(bulletin, now, averts);
    char words[MAIL_LINE_SIZE / 2];

    if (action == NULL)
        return false;
    say_action(bulletin, action, now, out->lines[0], MAIL_LINE_SIZE);
    snprintf(words, sizeof words, "%.250s", out->lines[0]);
    snprintf(out->subject, MAIL_LINE_SIZE,
             averts == AVERTS_OVERFLOW   ? _("Sap would run over: %s")
             : averts == AVERTS_SPOILAGE ? _("Sap would spoil: %s")
                                         : _("The tank would freeze: %s"),
             words);
    snprintf(out->lines[1], MAIL_LINE_SIZE, "%s", action->reason);
    snprintf(out->lines[2], MAIL_LINE_SIZE, "%s", action->unless);
    out->best_before = action->end;
    return true;
}

/* An off-flavour is near, or the time to pull the taps. */
static bool watch_buds(const struct bulletin *bulletin, utc_s now,
                       struct mail_condition *out)
{
    struct civil_date today = bulletin_date(bulletin, now);
    const struct bulletin_bush *bush;
    enum season_matter matter = season_matter(bulletin, today, &bush);
    struct text words;

    if (matter != SEASON_MATTERS_BUDS && matter != SEASON_MATTERS_OVER)
        return false;
    text_init(&words, SEASON_WORDS_MAX);
    season_words(bush, today, &words);
    snprintf(out->subject, MAIL_LINE_SIZE,
             matter == SEASON_MATTERS_OVER
                 ? _("%s: the taps are past their time")
                 : _("%s: the buds come, an off-flavour is near"),
             bush->name);
    snprintf(out->lines[0], MAIL_LINE_SIZE, "%.600s", words.bytes);
    snprintf(out->lines[1], MAIL_LINE_SIZE, "%s",
             _("Taste the sap before you boil it, and the first syrup of each "
               "draw."));
    snprintf(out->lines[2], MAIL_LINE_SIZE, "%s",
             _("Note what you find (thawbell note): it moves the forecast."));
    text_free(&words);
    out->best_before = now + (utc_s)MAIL_BUDS_DAYS * SECONDS_PER_DAY;
    return true;
}

static const struct bulletin_source *troubled(const struct bulletin *bulletin)
{
    for (int i = 0; i < bulletin->source_count; i++)
        if (bulletin->sources[i].trouble[0] != '\0')
            return &bulletin->sources[i];
    return NULL;
}

static bool watch_age(const struct bulletin *bulletin, utc_s now,
                      struct mail_condition *out)
{
    const struct bulletin_source *source = troubled(bulletin);
    char age[PHRASE_SIZE], made[PHRASE_SIZE];

    if (bulletin->weather_from == 0 ||
        now - bulletin->weather_from < SHOW_VERY_OLD_S)
        return false;
    bulletin_age_words(bulletin->weather_from, now, age, sizeof age);
    phrase_moment(bulletin, bulletin->weather_from, made);
    snprintf(out->subject, MAIL_LINE_SIZE, _("The forecast is %s"), age);
    snprintf(out->lines[0], MAIL_LINE_SIZE,
             _("No new weather has come since %s."), made);
    if (source != NULL)
        snprintf(out->lines[1], MAIL_LINE_SIZE, "%s: %s", source->name,
                 source->trouble);
    else
        snprintf(out->lines[1], MAIL_LINE_SIZE, "%s",
                 _("Is the network up? \"thawbell check\" says more."));
    snprintf(out->lines[2], MAIL_LINE_SIZE, "%s",
             _("Calendar and page still tell the old one; thawbelld keeps "
               "asking."));
    out->best_before = now + SECONDS_PER_DAY;
    return true;
}

int mail_watch(const struct bulletin *bulletin, utc_s now,
               const struct mail_told *told, int told_count,
               struct mail_condition out[MAIL_KINDS])
{
    const char *before = words_use(bulletin->language);
    int count = 0;

    for (int kind = 0; kind < MAIL_KINDS; kind++) {
        struct mail_condition *next = &out[count];
        bool holds = false;

        memset(next, 0, sizeof *next);
        next->kind = (enum mail_kind)kind;
        if (kind == MAIL_RUN_STARTING)
            holds = watch_run(bulletin, now, next);
        else if (kind == MAIL_OVERFLOW)
            holds = watch_loss(bulletin, now, AVERTS_OVERFLOW, next);
        else if (kind == MAIL_SPOILAGE)
            holds = watch_loss(bulletin, now, AVERTS_SPOILAGE, next);
        else if (kind == MAIL_FREEZE_UP)
            holds = watch_loss(bulletin, now, AVERTS_FREEZE_UP, next);
        else if (kind == MAIL_PLAN_CHANGED)
            holds = mail_watch_plan(bulletin, now, told, told_count, next);
        else if (kind == MAIL_BUDDING)
            holds = watch_buds(bulletin, now, next);
        else
            holds = watch_age(bulletin, now, next);
        count += holds;
    }
    words_use(before);
    return count;
}
