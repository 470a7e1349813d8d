#include "publish/calendar_events.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "publish/phrase.h"

enum { DESCRIPTION_MAX = 4000, REASON_SIZE = 256 };

/* From here on a run in some bush is as likely as not. */
#define EVEN_CHANCE 0.5

static char *make_uid(const struct bulletin *bulletin, const char *kind,
                      struct civil_date date, int number)
{
    if (number > 1)
        return mem_format("%s-%s-%04d%02d%02d-%d@thawbell", bulletin->slug,
                          kind, date.year, date.month, date.day, number);
    return mem_format("%s-%s-%04d%02d%02d@thawbell", bulletin->slug, kind,
                      date.year, date.month, date.day);
}

bool calendar_is_action(const struct bulletin *bulletin, const char *uid)
{
    size_t slug = strlen(bulletin->slug);

    if (strncmp(uid, bulletin->slug, slug) != 0 || uid[slug] != '-')
        return false;
    for (int kind = 0; kind < ACTION_KIND_COUNT; kind++) {
        const char *word = action_word((enum action_kind)kind);
        size_t length = strlen(word);

        if (strncmp(uid + slug + 1, word, length) == 0 &&
            uid[slug + 1 + length] == '-')
            return true;
    }
    return false;
}

char *calendar_summary(const char *words)
{
    char *summary = mem_copy_text(words);
    size_t length = strlen(summary);

    while (length > 0 && utf8_columns(summary) > CALENDAR_SUMMARY_MAX) {
        length = utf8_cut(summary, length, length - 1);
        summary[length] = '\0';
    }
    return summary;
}

struct calendar_event *calendar_append(struct calendar_memory *memory,
                                       const struct calendar_event *event)
{
    memory->events = mem_resize(memory->events, (size_t)memory->count + 1,
                                sizeof *memory->events);
    memory->events[memory->count] = *event;
    return &memory->events[memory->count++];
}

struct calendar_event *calendar_find(const struct calendar_memory *memory,
                                     const char *uid)
{
    for (int i = 0; i < memory->count; i++)
        if (strcmp(memory->events[i].uid, uid) == 0)
            return &memory->events[i];
    return NULL;
}

static char *run_summary(const struct bulletin *bulletin,
                         const struct bulletin_day *day)
{
    char volume[PHRASE_SIZE], chance[PHRASE_SIZE];
    char *words, *summary;

    if (day->strength == STRENGTH_NONE)
        return calendar_summary(_("No run now expected"));
    phrase_volume(day->sap_l_p50, bulletin->units, volume);
    phrase_chance_short(day->chance, chance);
    /* Strength, volume, chance: "Good run, 120 gal, 85%". */
    words = mem_format(_("%s, %s, %s"), phrase_strength_first(day->strength),
                       volume, chance);
    if (utf8_columns(words) > CALENDAR_SUMMARY_MAX) {
        free(words);
        words = mem_format(_("%s, %s"), phrase_strength_first(day->strength),
                           volume);
    }
    summary = calendar_summary(words);
    free(words);
    return summary;
}

static void describe_bushes(const struct bulletin *bulletin,
                            struct civil_date date, struct text *out)
{
    char volume[PHRASE_SIZE];

    for (int i = 0; bulletin->bush_count > 1 && i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        const struct outlook_day *day = bulletin_bush_day(bush, date);

        if (day == NULL || !day->known)
            continue;
        phrase_volume(day->sap_l_per_tap_p50 * bush->taps, bulletin->units,
                      volume);
        text_addf(out, _("%s: %s, about %s.\n"), bush->name,
                  phrase_strength(day->strength), volume);
    }
}

static void describe_credit(const struct bulletin *bulletin, struct text *out)
{
    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];

        if (bulletin_has_credit(bulletin, i))
            text_addf(out, _("Source: %s %s\n"), source->credit,
                      source->credit_url);
    }
}

static void describe_run(const struct bulletin *bulletin,
                         const struct bulletin_day *day, struct text *out)
{
    char volume[PHRASE_SIZE], range[PHRASE_SIZE], window[PHRASE_SIZE];
    char chance[PHRASE_SIZE], least[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, bulletin->units, volume);
    phrase_volume_range(day->sap_l_p10, day->sap_l_p90, bulletin->units, range);
    phrase_window(bulletin, day->run_start, day->run_end, window);
    phrase_chance(day->chance, chance);
    phrase_per_tap(OUTLOOK_RUN_L_PER_TAP, bulletin->units, least);
    if (day->has_window && day->strength > STRENGTH_NONE)
        text_addf(out, _("Runs %s, local time.\n"), window);
    text_addf(out, _("Sap: about %s, 8 times in 10 within %s.\n"), volume,
              range);
    text_addf(out, _("Chance of a run (%s a tap or more): %s.\n"), least,
              chance);
}

static char *run_description(const struct bulletin *bulletin,
                             const struct bulletin_day *day)
{
    char reason[REASON_SIZE];
    struct text out;

    text_init(&out, DESCRIPTION_MAX);
    phrase_reason(bulletin, day->date, bulletin->units, reason, sizeof reason);
    if (reason[0] != '\0')
        text_addf(&out, "%s\n", reason);
    describe_run(bulletin, day, &out);
    describe_bushes(bulletin, day->date, &out);
    describe_credit(bulletin, &out);
    return text_steal(&out);
}

/* A day is told from a fair run on, or where a bush runs that is small beside
 * the others; one that was told stays told. */
static void want_run(const struct calendar_memory *memory,
                     const struct bulletin *bulletin,
                     const struct bulletin_day *day,
                     struct calendar_memory *out)
{
    char *uid = make_uid(bulletin, "run", day->date, 1);

    if (day->strength < STRENGTH_FAIR_RUN && day->chance < EVEN_CHANCE &&
        calendar_find(memory, uid) == NULL) {
        free(uid);
        return;
    }
    calendar_append(out, &(struct calendar_event){
                             .uid = uid,
                             .summary = run_summary(bulletin, day),
                             .description = run_description(bulletin, day),
                             .all_day = true,
                             .date = day->date});
}

static char *action_description(const struct bulletin_action *action)
{
    struct text out;

    text_init(&out, DESCRIPTION_MAX);
    if (action->reason[0] != '\0')
        text_addf(&out, "%s\n", action->reason);
    if (action->detail[0] != '\0')
        text_addf(&out, "%s\n", action->detail);
    if (action->unless[0] != '\0')
        text_addf(&out, "%s\n", action->unless);
    return text_steal(&out);
}

/* The same kind twice in a day: the second gets a number in its UID. */
static int action_number(const struct bulletin *bulletin, int index)
{
    const struct bulletin_action *action = &bulletin->actions[index];
    int number = 1;

    for (int i = 0; i < index; i++)
        if (bulletin->actions[i].kind == action->kind &&
            civil_date_compare(bulletin->actions[i].date, action->date) == 0)
            number++;
    return number;
}

static void want_action(const struct bulletin *bulletin, int index,
                        struct calendar_memory *out)
{
    const struct bulletin_action *action = &bulletin->actions[index];
    char words[PHRASE_SIZE];

    if (!action->all_day && action->end <= action->start)
        return;
    phrase_action(action, bulletin->units, words);
    calendar_append(
        out, &(struct calendar_event){
                 .uid = make_uid(bulletin, action_word(action->kind),
                                 action->date, action_number(bulletin, index)),
                 .summary = calendar_summary(words),
                 .description = action_description(action),
                 .all_day = action->all_day,
                 .date = action->date,
                 .start = action->all_day ? 0 : action->start,
                 .end = action->all_day ? 0 : action->end});
}

/* A feed without any event is no calendar by RFC 5545 section 3.6, and tells
 * a new subscriber nothing: so the first day of all is one. */
static void want_beginning(const struct bulletin *bulletin,
                           struct calendar_memory *out)
{
    struct civil_date today = bulletin_date(bulletin, bulletin->made);

    calendar_append(
        out, &(struct calendar_event){
                 .uid = make_uid(bulletin, "begin", today, 1),
                 .summary = calendar_summary(_("Sap forecast begins")),
                 .description = mem_copy_text(
                     _("No run is in sight yet. Run days show here as soon as "
                       "one is.\n")),
                 .all_day = true,
                 .date = today});
}

bool calendar_is_told(const struct calendar_event *event, utc_s now)
{
    return !event->cancelled ||
           now - event->cancelled_at <
               (utc_s)CALENDAR_CANCELLED_DAYS * SECONDS_PER_DAY;
}

static bool tells_anything(const struct calendar_memory *memory, utc_s now)
{
    for (int i = 0; i < memory->count; i++)
        if (calendar_is_told(&memory->events[i], now))
            return true;
    return false;
}

void calendar_wanted(const struct calendar_memory *memory,
                     const struct bulletin *bulletin,
                     struct calendar_memory *out)
{
    struct civil_date today = bulletin_date(bulletin, bulletin->made);

    *out = (struct calendar_memory){0};
    for (int i = 0; i < bulletin->day_count; i++) {
        const struct bulletin_day *day = &bulletin->days[i];

        if (day->known && civil_date_compare(day->date, today) >= 0)
            want_run(memory, bulletin, day, out);
    }
    for (int i = 0; i < bulletin->action_count; i++)
        want_action(bulletin, i, out);
    if (!tells_anything(memory, bulletin->made) && out->count == 0)
        want_beginning(bulletin, out);
}
