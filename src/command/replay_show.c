/* What a replay gives, in words. */
#include <stdio.h>

#include "base/words.h"
#include "command/replay.h"
#include "publish/phrase.h"

static void date_words(const struct season_date *date, char out[96])
{
    char p10[ISO_DATE_SIZE], p50[ISO_DATE_SIZE], p90[ISO_DATE_SIZE];

    if (!date->known) {
        (void)snprintf(out, 96, "%s", _("not reached by 31 July"));
        return;
    }
    iso_date(date->p10, p10);
    iso_date(date->p50, p50);
    iso_date(date->p90, p90);
    (void)snprintf(out, 96, _("%s (%s to %s)"), p50, p10, p90);
}

static void show_species(const struct season *season)
{
    char swell[96], bud_break[96];

    date_words(&season->swell, swell);
    date_words(&season->bud_break, bud_break);
    (void)printf(_("  %s: buds swell %s, break %s.\n"),
                 phrase_species(season->species), swell, bud_break);
}

static void show_tapping(const struct season *season)
{
    char from[ISO_DATE_SIZE], by[ISO_DATE_SIZE];

    if (season->has_tap_from) {
        iso_date(season->tap_from, from);
        (void)printf(_("  Tap from %s.\n"), from);
    } else {
        (void)puts(_("  No weather to tap for."));
    }
    if (season->has_pull) {
        iso_date(season->pull_from, from);
        iso_date(season->pull_by, by);
        (void)printf(_("  Pull the taps between %s and %s.\n"), from, by);
    }
}

static void show_spell(const struct season_spell *spell)
{
    char first[ISO_DATE_SIZE], last[ISO_DATE_SIZE], worth[QUANTITY_SIZE];

    iso_date(spell->first, first);
    iso_date(spell->last, last);
    number_format(spell->run_days, 1, worth);
    (void)printf(_("  Run weather from %s to %s, worth %s run days.\n"), first,
                 last, worth);
}

static void show_season(const struct replay_season *row, enum species species)
{
    const struct season *season = row->of[species];

    (void)printf(_("Season %d, as the weather makes it (%s)\n"), season->year,
                 phrase_species(species));
    show_tapping(season);
    for (int i = 0; i < season->spell_count; i++) {
        show_spell(&season->spells[i]);
    }
    if (season->has_last_good_run) {
        (void)puts(_("  The last of these is likely the last good run."));
    }
    (void)puts(_("  Buds, the likely date and the span of four years in "
                 "five:"));
    for (int i = 0; i < SPECIES_COUNT; i++) {
        show_species(row->of[i]);
    }
    if (season->filled_days > 0) {
        (void)printf(_("  %d days had no weather and were filled.\n"),
                     season->filled_days);
    }
}

void replay_seasons_show(const struct replay_seasons *seasons,
                         enum species species)
{
    for (int i = 0; i < seasons->count; i++) {
        if (i > 0) {
            (void)puts("");
        }
        show_season(&seasons->rows[i], species);
    }
}

static void figure_words(struct replay_figure figure, int decimals,
                         char out[QUANTITY_SIZE])
{
    if (figure.known) {
        number_format(figure.value, decimals, out);
    } else {
        (void)snprintf(out, QUANTITY_SIZE, "-");
    }
}

static const char *forecaster_words(int forecaster)
{
    switch (forecaster) {
    case REPLAY_MODEL:
        return _("model");
    case REPLAY_RULE_A:
        return _("day rule A");
    case REPLAY_RULE_B:
        return _("day rule B");
    default:
        return _("climatology");
    }
}

static struct replay_figure in_unit(struct replay_figure litres,
                                    enum unit_system units)
{
    litres.value /= units == UNITS_US ? L_PER_US_GALLON : 1.0;
    return litres;
}

static void show_skill(const struct replay_skill *skill, int forecaster,
                       enum unit_system units)
{
    char words[7][QUANTITY_SIZE];

    figure_words(skill->pearson, 2, words[0]);
    figure_words(skill->spearman, 2, words[1]);
    figure_words(in_unit(skill->mae_l, units), 1, words[2]);
    figure_words(in_unit(skill->bias_l, units), 1, words[3]);
    figure_words(skill->hit_rate, 2, words[4]);
    figure_words(skill->false_alarm_rate, 2, words[5]);
    figure_words(skill->roc_area, 2, words[6]);
    (void)printf("%-12s %8s %8s %8s %8s %6s %6s %6s\n",
                 forecaster_words(forecaster), words[0], words[1], words[2],
                 words[3], words[4], words[5], words[6]);
}

void replay_sap_show(const struct replay *replay, enum unit_system units)
{
    char lost[QUANTITY_SIZE];

    (void)printf(
        _("%d collections; %d more left out: no weather, no amount, or "
          "before the tapping.\n"),
        replay->count, replay->left_out);
    (void)printf("%-12s %8s %8s %8s %8s %6s %6s %6s\n", "", _("pearson"),
                 _("spearman"), units == UNITS_US ? _("mae gal") : _("mae L"),
                 units == UNITS_US ? _("bias gal") : _("bias L"), _("hits"),
                 _("alarms"), _("roc"));
    for (int f = 0; f < REPLAY_FORECASTERS; f++) {
        show_skill(&replay->skill[f], f, units);
    }
    if (replay->overflow_l > 0.0) {
        volume_format(replay->overflow_l, units, lost);
        (void)printf(_("By the model %s ran over the buckets.\n"), lost);
    }
}
