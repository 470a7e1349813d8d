/* What drives a day's score: the night, the thaw, the wood, the tapholes. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/phrase.h"
#include "publish/season_words.h"
#include "publish/show.h"
#include "publish/table.h"

enum { LABEL_COLUMNS = 16 };

struct why {
    const struct bulletin *bulletin;
    enum unit_system units;
    int width;
    struct text *out;
};

/* A row: the label, then the words, wrapped under themselves. Frees them. */
static void add_row(const struct why *why, const char *label, char *words)
{
    struct text padded;

    text_init(&padded, 2 * strlen(words) + 1);
    table_wrap(words, why->width - LABEL_COLUMNS, 0, &padded);
    for (char *at = padded.bytes; *at != '\0';) {
        size_t length = strcspn(at, "\n");
        int blanks = LABEL_COLUMNS - utf8_columns(label);

        text_add(why->out, label);
        text_addf(why->out, "%*s", blanks > 1 ? blanks : 1, "");
        text_add_bytes(why->out, at, length);
        text_add(why->out, "\n");
        at += length + (at[length] == '\n');
        label = "";
    }
    text_free(&padded);
    free(words);
}

static void write_head(const struct why *why, const struct bulletin_day *day)
{
    char date[PHRASE_SIZE], window[PHRASE_SIZE], volume[PHRASE_SIZE];
    char chance[PHRASE_SIZE], range[PHRASE_SIZE];
    const char *strength = phrase_strength(day->strength);
    char *words;

    phrase_date(day->date, date);
    phrase_volume(day->sap_l_p50, why->units, volume);
    phrase_volume_range(day->sap_l_p10, day->sap_l_p90, why->units, range);
    phrase_chance(day->chance, chance);
    phrase_window(why->bulletin, day->run_start, day->run_end, window);
    if (!day->known)
        words = mem_format(_("%s: no weather data."), date);
    else if (day->strength == STRENGTH_NONE)
        words = mem_format(_("%s: no run likely, %s chance."), date, chance);
    else if (!day->has_window)
        words = mem_format(_("%s: %s, about %s (%s), %s chance of a run."),
                           date, strength, volume, range, chance);
    else
        words = mem_format(_("%s: %s %s, about %s (%s), %s chance of a run."),
                           date, strength, window, volume, range, chance);
    table_wrap(words, why->width, 0, why->out);
    free(words);
}

static void write_reason(const struct why *why, struct civil_date date)
{
    char reason[256];

    phrase_reason(why->bulletin, date, why->units, reason, sizeof reason);
    if (reason[0] != '\0')
        table_wrap(reason, why->width, 0, why->out);
    text_add(why->out, "\n");
}

static void write_night(const struct why *why, struct civil_date date)
{
    struct bulletin_night night;
    char low[PHRASE_SIZE], at[PHRASE_SIZE], from[PHRASE_SIZE], to[PHRASE_SIZE];

    if (!bulletin_night(why->bulletin, civil_date_add(date, -1), &night))
        return;
    phrase_temperature(night.min_c, why->units, low);
    phrase_clock(why->bulletin, night.min_at, at);
    phrase_clock(why->bulletin, night.freeze_from, from);
    phrase_clock(why->bulletin, night.freeze_until, to);
    if (night.freezing_hours == 0)
        add_row(why, _("Night before"),
                mem_format(_("no frost, low %s at %s"), low, at));
    else if (night.freezing_hours >= 23)
        add_row(
            why, _("Night before"),
            mem_format(_("frost from noon to noon, low %s at %s"), low, at));
    else if (strcmp(from, to) == 0)
        add_row(why, _("Night before"),
                mem_format(_("%d h of frost from noon to noon, low %s at %s"),
                           night.freezing_hours, low, at));
    else
        add_row(why, _("Night before"),
                mem_format(_("%d h of frost between %s and %s, low %s at %s"),
                           night.freezing_hours, from, to, low, at));
}

static void write_air(const struct why *why, const struct outlook_day *day)
{
    char low[PHRASE_SIZE], high[PHRASE_SIZE], freeze[PHRASE_SIZE];
    char thaw[PHRASE_SIZE], spread[PHRASE_SIZE];

    phrase_temperature(day->min_c, why->units, low);
    phrase_temperature(day->max_c, why->units, high);
    phrase_degree_hours(day->freeze_degree_hours, why->units, freeze);
    phrase_degree_hours(day->thaw_degree_hours, why->units, thaw);
    add_row(why, _("Air"),
            mem_format(_("%s to %s; frost %s from noon to noon, thaw %s"), low,
                       high, freeze, thaw));
    if (!day->has_spread)
        return;
    phrase_temperature_span(day->source_spread_k, why->units, spread);
    add_row(why, _("Services"),
            mem_format(_("differ by at most %s that day"), spread));
}

static void write_sap(const struct why *why, const struct bulletin_bush *bush,
                      const struct outlook_day *day)
{
    char likely[PHRASE_SIZE], low[PHRASE_SIZE], high[PHRASE_SIZE];
    char peak[PHRASE_SIZE];

    phrase_per_tap(day->sap_l_per_tap_p50, why->units, likely);
    phrase_per_tap(day->sap_l_per_tap_p10, why->units, low);
    phrase_per_tap(day->sap_l_per_tap_p90, why->units, high);
    phrase_clock(why->bulletin, day->run_peak, peak);
    if (day->has_window)
        add_row(why, bush->name,
                mem_format(_("%s a tap, 8 times in 10 from %s to %s; strongest "
                             "at %s"),
                           likely, low, high, peak));
    else
        add_row(why, bush->name,
                mem_format(_("%s a tap, 8 times in 10 from %s to %s"), likely,
                           low, high));
}

/* A span of one hour is told as that hour. */
static char *hours_words(const char *from, const char *to, const char *end,
                         const char *until)
{
    bool begins = strcmp(from, to) == 0, ends = strcmp(end, until) == 0;

    if (begins && ends)
        return mem_format(_("8 times in 10 it begins at %s and ends at %s"),
                          from, end);
    if (begins)
        return mem_format(
            _("8 times in 10 it begins at %s and ends from %s to %s"), from,
            end, until);
    if (ends)
        return mem_format(
            _("8 times in 10 it begins from %s to %s and ends at %s"), from, to,
            end);
    return mem_format(
        _("8 times in 10 it begins from %s to %s and ends from %s to %s"), from,
        to, end, until);
}

static void write_hours(const struct why *why, const struct outlook_day *day)
{
    char from[PHRASE_SIZE], to[PHRASE_SIZE], end[PHRASE_SIZE];
    char until[PHRASE_SIZE];

    if (!day->has_window || !day->has_window_span)
        return;
    phrase_clock(why->bulletin, day->run_start_p10, from);
    phrase_clock(why->bulletin, day->run_start_p90, to);
    phrase_end(why->bulletin, day->run_end_p10, end);
    phrase_end(why->bulletin, day->run_end_p90, until);
    add_row(why, _("  hours"), hours_words(from, to, end, until));
}

static void write_tree(const struct why *why, const struct outlook_day *day)
{
    char charge[PHRASE_SIZE], recharge[PHRASE_SIZE], branch[PHRASE_SIZE];
    char trunk[PHRASE_SIZE], low[PHRASE_SIZE], high[PHRASE_SIZE];
    char taphole[PHRASE_SIZE];

    phrase_share(day->charge, charge);
    phrase_share(day->recharge, recharge);
    phrase_share(day->branch_ice_max, branch);
    phrase_share(day->trunk_ice_max, trunk);
    phrase_share(day->taphole, taphole);
    phrase_temperature(day->wood_min_c, why->units, low);
    phrase_temperature(day->wood_max_c, why->units, high);
    add_row(why, _("  stored sap"),
            mem_format(_("%s of what the wood can hold; the night before added "
                         "%s"),
                       charge, recharge));
    add_row(why, _("  wood"),
            mem_format(_("frozen in the night: branches %s, outer trunk %s; "
                         "trunk from %s to %s"),
                       branch, trunk, low, high));
    add_row(why, _("  taphole"),
            mem_format(_("%s of a fresh hole's flow is left"), taphole));
}

static void write_season(const struct why *why,
                         const struct bulletin_bush *bush,
                         struct civil_date date)
{
    struct text words;

    if (bush->season == NULL)
        return;
    text_init(&words, SEASON_WORDS_MAX);
    season_words_of_day(bush, date, &words);
    add_row(why, _("  season"), text_steal(&words));
}

static void write_rules(const struct why *why, const struct bulletin_bush *bush,
                        const struct outlook_day *day)
{
    char rule_a[PHRASE_SIZE], rule_b[PHRASE_SIZE];

    phrase_per_tap(day->rule_a_l_per_tap, why->units, rule_a);
    phrase_per_tap(day->rule_b_l_per_tap, why->units, rule_b);
    add_row(
        why, _("  compare"),
        mem_format(_("two simple rules of the day's low and high say %s and "
                     "%s a tap"),
                   rule_a, rule_b));
    add_row(why, _("  model"),
            mem_format(_("%s %s, %s, %d taps, %d forecast members"),
                       bush->outlook->model_name, bush->outlook->model_version,
                       phrase_gathering(bush->gathering), bush->taps,
                       bush->outlook->member_count));
}

static void write_bush(const struct why *why, const struct bulletin_bush *bush,
                       struct civil_date date)
{
    const struct outlook_day *day = bulletin_bush_day(bush, date);

    if (day == NULL)
        return;
    text_add(why->out, "\n");
    if (!day->known) {
        add_row(why, bush->name,
                mem_format(_("weather is known for %d of the day's %d hours "
                             "only"),
                           day->known_hours, day->day_hours));
        return;
    }
    write_sap(why, bush, day);
    write_hours(why, day);
    write_tree(why, day);
    write_season(why, bush, date);
    write_rules(why, bush, day);
}

/* What the plan asks for that day, why, how, and what would change it; or why
 * there is no plan. */
static void write_actions(const struct why *why, struct civil_date date)
{
    const struct bulletin *bulletin = why->bulletin;
    char what[PHRASE_SIZE], when[PHRASE_SIZE];

    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];
        char *words, *all;

        if (civil_date_compare(action->date, date) != 0)
            continue;
        phrase_action(action, why->units, what);
        phrase_action_time(bulletin, action, date, when);
        text_add(why->out, "\n");
        words = action->all_day ? mem_format(_("%s."), what)
                                : mem_format(_("%s, %s."), what, when);
        /* Whole sentences, one after the other. */
        all = mem_format("%s %s%s%s%s%s", words, action->reason,
                         action->detail[0] != '\0' ? " " : "", action->detail,
                         action->unless[0] != '\0' ? " " : "", action->unless);
        table_wrap(all, why->width, 2, why->out);
        free(words);
        free(all);
    }
    if (bulletin->lack == LACKS_NOTHING ||
        civil_date_compare(date, bulletin_date(bulletin, bulletin->made)) < 0)
        return;
    text_add(why->out, "\n");
    table_wrap(plan_lack_words(bulletin->lack), why->width, 2, why->out);
}

static int no_such_day(const struct bulletin *bulletin, struct civil_date date,
                       struct error *err)
{
    char words[ISO_DATE_SIZE], first[ISO_DATE_SIZE], last[ISO_DATE_SIZE];

    iso_date(date, words);
    if (bulletin->day_count == 0)
        return error_set(err, _("the bulletin holds no days"));
    iso_date(bulletin->days[0].date, first);
    iso_date(bulletin->days[bulletin->day_count - 1].date, last);
    return error_set(err, _("%s is not in the bulletin: it goes from %s to %s"),
                     words, first, last);
}

static void write_age(const struct why *why, utc_s now)
{
    char age[PHRASE_SIZE];
    char *words;

    if (why->bulletin->weather_from == 0 ||
        now - why->bulletin->weather_from < SHOW_OLD_S)
        return;
    bulletin_age_words(why->bulletin->weather_from, now, age, sizeof age);
    words = mem_format(_("The forecast is %s."), age);
    text_add(why->out, "\n");
    table_wrap(words, why->width, 0, why->out);
    free(words);
}

int show_why(const struct bulletin *bulletin, utc_s now, struct civil_date date,
             const struct show_style *style, struct text *out,
             struct error *err)
{
    const struct bulletin_day *day = bulletin_day(bulletin, date);
    struct why why = {bulletin, style->units,
                      style->columns < 40 ? 80 : style->columns, out};
    const struct outlook_day *first;

    if (why.width > 100)
        why.width = 100; /* longer lines are hard to read */
    if (day == NULL)
        return no_such_day(bulletin, date, err);
    write_head(&why, day);
    write_reason(&why, date);
    write_night(&why, date);
    first = bulletin->bush_count > 0
                ? bulletin_bush_day(&bulletin->bushes[0], date)
                : NULL;
    if (first != NULL && first->known)
        write_air(&why, first);
    for (int i = 0; i < bulletin->bush_count; i++)
        write_bush(&why, &bulletin->bushes[i], date);
    write_actions(&why, date);
    write_age(&why, now);
    return 0;
}
