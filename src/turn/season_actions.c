/* What there is to do about the season: tap, pull. */
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/words.h"
#include "turn/make_season.h"

enum { FILLED_THAT_MATTER = 3 };

/* The day told before, if it is of this season; else year 0. */
static struct civil_date told_before(const struct config *config,
                                     struct store *store, const char *note,
                                     int year)
{
    struct civil_date date = {0, 0, 0};
    char *held = NULL;

    if (store_get_note(store, config->slug, note, &held, NULL) == 0 &&
        held != NULL && iso_date_parse(held, &date, NULL) != 0)
        date.year = 0;
    free(held);
    if (date.year != 0 && season_of_day(civil_day_number(date)) != year)
        date.year = 0;
    return date;
}

static void remember(const struct config *config, struct store *store,
                     const char *note, struct civil_date date)
{
    char words[ISO_DATE_SIZE];

    iso_date(date, words);
    store_put_note(store, config->slug, note, words, NULL);
}

static int days_from(struct civil_date a, struct civil_date b)
{
    return (int)(civil_day_number(b) - civil_day_number(a));
}

/* `by`: season_tap_by. */
static bool tap_holds(struct civil_date told, struct civil_date tap_from,
                      struct civil_date by, struct civil_date today)
{
    if (told.year == 0)
        return false;
    if (civil_date_compare(told, today) < 0)
        return by.year == 0 || days_from(told, by) <= SEASON_STEADY_DAYS;
    if (by.year != 0 && civil_date_compare(told, by) > 0 &&
        civil_date_compare(tap_from, by) <= 0)
        return false;
    return abs(days_from(tap_from, told)) <= SEASON_STEADY_DAYS;
}

/* A day gone by holds unless the season has moved on from it. */
static bool pull_holds(struct civil_date told,
                       const struct bulletin_season *season,
                       struct civil_date today)
{
    if (told.year == 0)
        return false;
    if (civil_date_compare(told, today) < 0)
        return days_from(today, season->pull_from) <= SEASON_STEADY_DAYS;
    return civil_date_compare(told, season->pull_from) >= 0 &&
           civil_date_compare(told, season->pull_by) <= 0;
}

static struct civil_date middle(struct civil_date from, struct civil_date by)
{
    return civil_date_add(from, days_from(from, by) / 2);
}

static struct civil_date later(struct civil_date a, struct civil_date b)
{
    return civil_date_compare(a, b) > 0 ? a : b;
}

static void add(struct bulletin *bulletin, const char *bush,
                enum action_kind kind, struct civil_date date,
                const char *reason, const char *unless)
{
    struct bulletin_action action = {
        .kind = kind, .date = date, .all_day = true};

    action_say(bulletin, &action, SAYING_REASON, reason, said_nothing(),
               said_nothing(), said_nothing());
    action_say(bulletin, &action, SAYING_UNLESS, unless, said_nothing(),
               said_nothing(), said_nothing());
    if (bulletin->bush_count > 1)
        snprintf(action.bush, sizeof action.bush, "%s", bush);
    bulletin_add_action(bulletin, &action);
}

/* To tap: the buds are near. */
static bool too_late(const struct bulletin_season *season,
                     struct civil_date today)
{
    return season->pull_from.year != 0 &&
           civil_date_compare(today, season->pull_from) >= 0;
}

static void add_tapping(const struct config *config, struct store *store,
                        const struct bulletin_bush *bush,
                        struct civil_date today, struct bulletin *bulletin)
{
    const struct bulletin_season *season = bush->season;
    char *note = mem_format("season-tap %s", bush->name);
    struct civil_date told = told_before(config, store, note, season->year);
    struct civil_date by = season_tap_by(bush->outlook, today);

    if (season->tapped.year == 0 && season->pulled.year == 0 &&
        season->tap_from.year != 0 && !too_late(season, today) &&
        days_from(today, season->tap_from) <= SEASON_TOLD_AHEAD_DAYS) {
        if (!tap_holds(told, season->tap_from, by, today)) {
            told = later(season->tap_from, today);
            remember(config, store, note, told);
        }
        if (civil_date_compare(told, today) >= 0)
            add(bulletin, bush->name, ACTION_TAP, told,
                N_("Later, runs are lost; much earlier, the tapholes age for "
                   "little."),
                by.year != 0
                    ? N_("If it is done already, note it: thawbell note "
                         "tapped.")
                    : N_("It can wait while no thaw is in sight."));
    }
    free(note);
}

static const char *pull_reason(const struct bulletin_season *season)
{
    bool spent =
        season->taphole_spent.year != 0 &&
        civil_date_compare(season->taphole_spent, season->pull_from) <= 0;

    return spent ? N_("The tapholes are worn out: little more will run.")
                 : N_("The buds are turning the sap: an off-flavour is "
                      "likely.");
}

static void add_pulling(const struct config *config, struct store *store,
                        const struct bulletin_bush *bush,
                        struct civil_date today, struct bulletin *bulletin)
{
    const struct bulletin_season *season = bush->season;
    char *note = mem_format("season-pull %s", bush->name);
    struct civil_date told = told_before(config, store, note, season->year);

    if (season->tapped.year != 0 && season->pull_from.year != 0 &&
        days_from(today, season->pull_from) <= SEASON_TOLD_AHEAD_DAYS) {
        if (!pull_holds(told, season, today)) {
            told = later(middle(season->pull_from, season->pull_by), today);
            remember(config, store, note, told);
        }
        if (civil_date_compare(told, today) >= 0)
            add(bulletin, bush->name, ACTION_PULL, told, pull_reason(season),
                N_("Frosty nights let it wait; milky sap or an off taste bring "
                   "it forward."));
    }
    free(note);
}

void make_season_notes(struct bulletin *bulletin)
{
    int most = 0;

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_season *season = bulletin->bushes[i].season;

        if (season != NULL && season->days_filled > most)
            most = season->days_filled;
    }
    if (most > FILLED_THAT_MATTER)
        bulletin_note(bulletin,
                      N_("For %s days since 1 January no weather is on "
                         "record; the usual climate of the place stands in "
                         "for them."),
                      said_count(most), said_nothing());
}

void make_season_actions(const struct config *config, struct store *store,
                         struct bulletin *bulletin)
{
    struct civil_date today = bulletin_date(bulletin, bulletin->made);

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];

        if (bush->season == NULL)
            continue;
        add_tapping(config, store, bush, today, bulletin);
        add_pulling(config, store, bush, today, bulletin);
    }
}
