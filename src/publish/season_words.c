#include "publish/season_words.h"

#include <stdio.h>

#include "base/words.h"
#include "publish/phrase.h"

/* From this risk of an off-flavour on the line tells of the buds: below the
 * 0.4 that models/season.json has as time to pull. Ours. */
#define RISK_THAT_MATTERS 0.25

static const char *stage_sentence(enum season_stage stage)
{
    static const char *const sentences[SEASON_STAGE_COUNT] = {
        N_("The season has not begun."),     N_("Early in the season."),
        N_("At the height of the season."),  N_("Late in the season."),
        N_("The buds are turning the sap."), N_("The season is over.")};

    return _(sentences[stage]);
}

static bool is_set(struct civil_date date)
{
    return date.year != 0;
}

static void add_sentence(struct text *out, const char *sentence)
{
    text_addf(out, out->length > 0 ? " %s" : "%s", sentence);
}

static void add_stage(const struct bulletin_bush *bush, struct civil_date date,
                      struct text *out)
{
    const struct bulletin_season_day *day = bulletin_season_day(bush, date);

    if (day != NULL)
        add_sentence(out, stage_sentence(day->stage));
}

enum bud_event { SWELL, BREAK };

static void add_spread(enum bud_event event, const struct season_date *date,
                       struct text *out)
{
    char p10[PHRASE_SIZE], p50[PHRASE_SIZE], p90[PHRASE_SIZE];
    char sentence[4 * PHRASE_SIZE];

    if (!date->known)
        return;
    phrase_date(date->p10, p10);
    phrase_date(date->p50, p50);
    phrase_date(date->p90, p90);
    snprintf(sentence, sizeof sentence,
             event == SWELL
                 ? _("Buds swell about %s (8 times in 10 from %s to %s).")
                 : _("Buds break about %s (8 times in 10 from %s to %s)."),
             p50, p10, p90);
    add_sentence(out, sentence);
}

/* The event that is still ahead. */
static void add_buds(const struct bulletin_season *season,
                     struct civil_date today, struct text *out)
{
    if (season->swell.known &&
        civil_date_compare(season->swell.p90, today) >= 0)
        add_spread(SWELL, &season->swell, out);
    else if (season->bud_break.known &&
             civil_date_compare(season->bud_break.p90, today) >= 0)
        add_spread(BREAK, &season->bud_break, out);
}

static bool untapped(const struct bulletin_season *season)
{
    return !is_set(season->tapped) && !is_set(season->pulled) &&
           is_set(season->tap_from);
}

static bool runs_ahead(const struct bulletin_bush *bush,
                       struct civil_date today)
{
    for (int i = 0; i < bush->outlook->count; i++) {
        const struct outlook_day *day = &bush->outlook->days[i];

        if (day->known && day->strength >= STRENGTH_FAIR_RUN &&
            civil_date_compare(day->date, today) >= 0)
            return true;
    }
    return false;
}

/* Tapping pays, a run is in sight, and the buds are not near. */
static bool tap_now(const struct bulletin_bush *bush, struct civil_date today)
{
    const struct bulletin_season *season = bush->season;

    return untapped(season) &&
           civil_date_compare(season->tap_from, today) <= 0 &&
           (!is_set(season->pull_from) ||
            civil_date_compare(today, season->pull_from) < 0) &&
           runs_ahead(bush, today);
}

static void add_tapping(const struct bulletin_season *season,
                        struct civil_date today, struct text *out)
{
    char date[PHRASE_SIZE], sentence[2 * PHRASE_SIZE];

    if (!untapped(season))
        return;
    phrase_date(season->tap_from, date);
    snprintf(sentence, sizeof sentence,
             civil_date_compare(season->tap_from, today) > 0
                 ? _("Tapping pays from about %s on.")
                 : _("Tapping pays since %s."),
             date);
    add_sentence(out, sentence);
}

static void add_pulling(const struct bulletin_season *season,
                        struct civil_date today, struct text *out)
{
    char from[PHRASE_SIZE], by[PHRASE_SIZE], sentence[3 * PHRASE_SIZE];

    if (is_set(season->pulled)) {
        phrase_date(season->pulled, from);
        snprintf(sentence, sizeof sentence, _("The taps were pulled %s."),
                 from);
        add_sentence(out, sentence);
        return;
    }
    if (!is_set(season->pull_from) || !is_set(season->pull_by))
        return;
    phrase_date(season->pull_from, from);
    phrase_date(season->pull_by, by);
    snprintf(sentence, sizeof sentence,
             civil_date_compare(season->pull_by, today) < 0
                 ? _("Pull the taps: their time was from %s to %s.")
                 : _("Pull the taps between %s and %s."),
             from, by);
    add_sentence(out, sentence);
}

static void add_last_run(const struct bulletin_season *season,
                         struct civil_date today, struct text *out)
{
    char first[PHRASE_SIZE], last[PHRASE_SIZE], sentence[4 * PHRASE_SIZE];

    if (!is_set(season->last_run_last) ||
        civil_date_compare(season->last_run_last, today) < 0)
        return;
    phrase_date(season->last_run_first, first);
    phrase_date(season->last_run_last, last);
    snprintf(sentence, sizeof sentence,
             _("The run of %s to %s is likely the last good one."), first,
             last);
    add_sentence(out, sentence);
}

void season_words(const struct bulletin_bush *bush, struct civil_date today,
                  struct text *out)
{
    const struct bulletin_season *season = bush->season;

    if (season == NULL)
        return;
    add_stage(bush, today, out);
    add_last_run(season, today, out);
    add_buds(season, today, out);
    if (tap_now(bush, today))
        add_sentence(out, _("A run is in sight and no tapping is noted: tap "
                            "now."));
    else
        add_tapping(season, today, out);
    add_pulling(season, today, out);
}

static void add_risk(const struct bulletin_bush *bush, struct civil_date date,
                     struct text *out)
{
    const struct bulletin_season_day *day = bulletin_season_day(bush, date);
    char risk[PHRASE_SIZE], sentence[2 * PHRASE_SIZE];

    if (day == NULL)
        return;
    phrase_chance(day->off_flavour, risk);
    snprintf(sentence, sizeof sentence,
             _("Risk of an off-flavour that day: %s."), risk);
    add_sentence(out, sentence);
}

static void add_taphole(const struct bulletin_season *season, struct text *out)
{
    char date[PHRASE_SIZE], sentence[2 * PHRASE_SIZE];

    if (!is_set(season->taphole_spent) || !is_set(season->tapped))
        return;
    phrase_date(season->taphole_spent, date);
    snprintf(sentence, sizeof sentence,
             _("The tapholes are worn out by about %s."), date);
    add_sentence(out, sentence);
}

void season_words_of_day(const struct bulletin_bush *bush,
                         struct civil_date date, struct text *out)
{
    const struct bulletin_season *season = bush->season;

    if (season == NULL)
        return;
    add_stage(bush, date, out);
    add_risk(bush, date, out);
    add_last_run(season, date, out);
    add_spread(SWELL, &season->swell, out);
    add_spread(BREAK, &season->bud_break, out);
    add_tapping(season, date, out);
    add_taphole(season, out);
    add_pulling(season, date, out);
}

static enum season_matter matter_of(const struct bulletin_bush *bush,
                                    struct civil_date today)
{
    const struct bulletin_season *season = bush->season;
    const struct bulletin_season_day *day = bulletin_season_day(bush, today);

    if (day == NULL || !is_set(season->tapped) || is_set(season->pulled))
        return SEASON_MATTERS_NOT;
    if (day->stage == SEASON_OVER)
        return SEASON_MATTERS_OVER;
    if (day->off_flavour >= RISK_THAT_MATTERS)
        return SEASON_MATTERS_BUDS;
    return is_set(season->last_run_last) &&
                   civil_date_compare(season->last_run_last, today) >= 0
               ? SEASON_MATTERS_LAST_RUN
               : SEASON_MATTERS_NOT;
}

enum season_matter season_matter(const struct bulletin *bulletin,
                                 struct civil_date today,
                                 const struct bulletin_bush **bush)
{
    enum season_matter found = SEASON_MATTERS_NOT;
    int most = -1;

    *bush = NULL;
    for (int i = 0; i < bulletin->bush_count; i++) {
        enum season_matter matter = matter_of(&bulletin->bushes[i], today);

        if (matter == SEASON_MATTERS_NOT || bulletin->bushes[i].taps <= most)
            continue;
        found = matter;
        most = bulletin->bushes[i].taps;
        *bush = &bulletin->bushes[i];
    }
    return found;
}
