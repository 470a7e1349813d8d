/* The table of the coming days. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/phrase.h"
#include "publish/season_words.h"
#include "publish/show.h"
#include "publish/table.h"

enum {
    COLUMN_DAY,
    COLUMN_RUN,
    COLUMN_HOURS,
    COLUMN_SAP,
    COLUMN_RANGE,
    COLUMN_CHANCE,
    COLUMN_LOW,
    COLUMN_HIGH,
    COLUMN_FROST,
    COLUMN_TAP,
    COLUMN_SPREAD,
    COLUMN_FIRST_BUSH,
    MOST_BUSHES = TABLE_MAX_COLUMNS - COLUMN_FIRST_BUSH,
    RANK_CHANCE = 1,
    RANK_RANGE = 2,
    RANK_FROST = 3,
    RANK_BUSH = 5,
    RANK_SPREAD = 6,
    LEGEND_BYTES = 400,
    SILENT_S = 3 * SECONDS_PER_HOUR, /* the daemon turns at least hourly */
};

struct week {
    const struct bulletin *bulletin;
    enum unit_system units;
    int taps;
    struct table table;
};

static void set_cell(char *cell, const char *words)
{
    size_t cut = utf8_cut(words, strlen(words), TABLE_CELL_SIZE - 1);

    memcpy(cell, words, cut);
    cell[cut] = '\0';
}

static void set_head(struct week *week, int column, const char *words,
                     bool right, int rank)
{
    struct table_column *head = &week->table.columns[column];

    set_cell(head->head, words);
    head->right = right;
    head->rank = rank;
}

static void set_heads(struct week *week)
{
    const struct bulletin *bulletin = week->bulletin;
    int bushes = bulletin->bush_count;

    set_head(week, COLUMN_DAY, _("Day"), false, 0);
    set_head(week, COLUMN_RUN, _("Run"), false, 0);
    set_head(week, COLUMN_HOURS, _("Hours"), false, 1);
    set_head(week, COLUMN_SAP, _("Sap"), true, 0);
    set_head(week, COLUMN_RANGE, _("Range"), true, RANK_RANGE);
    set_head(week, COLUMN_CHANCE, _("Chance"), true, RANK_CHANCE);
    set_head(week, COLUMN_LOW, _("Low"), true, 1);
    set_head(week, COLUMN_HIGH, _("High"), true, 1);
    set_head(week, COLUMN_FROST, _("Frost before"), true, RANK_FROST);
    set_head(week, COLUMN_TAP, _("A tap"), true, 4);
    set_head(week, COLUMN_SPREAD, _("Differ"), true, RANK_SPREAD);
    week->table.column_count = COLUMN_FIRST_BUSH;
    if (bushes < 2 || bushes > MOST_BUSHES)
        return;
    for (int i = 0; i < bushes; i++)
        set_head(week, COLUMN_FIRST_BUSH + i, bulletin->bushes[i].name, true,
                 RANK_BUSH);
    week->table.column_count += bushes;
}

/* Frost of the night before: "15 h, 10 F". */
static void set_frost(const struct week *week, struct civil_date date,
                      char *cell)
{
    struct bulletin_night night;
    char low[PHRASE_SIZE], words[PHRASE_SIZE + 16];

    if (!bulletin_night(week->bulletin, civil_date_add(date, -1), &night))
        return;
    if (night.freezing_hours == 0) {
        set_cell(cell, words_in("frost", "none"));
        return;
    }
    phrase_temperature(night.min_c, week->units, low);
    snprintf(words, sizeof words, _("%d h, %s"), night.freezing_hours, low);
    set_cell(cell, words);
}

/* Largest difference between the sources that day, over the bushes. */
static void set_spread(const struct week *week, struct civil_date date,
                       char *cell)
{
    const struct bulletin *bulletin = week->bulletin;
    double largest = -1;
    char words[PHRASE_SIZE];

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct outlook_day *day =
            bulletin_bush_day(&bulletin->bushes[i], date);

        if (day != NULL && day->has_spread)
            largest = fmax(largest, day->source_spread_k);
    }
    if (largest < 0)
        return;
    phrase_temperature_span(largest, week->units, words);
    set_cell(cell, words);
}

static void set_bushes(const struct week *week, struct civil_date date,
                       char cells[][TABLE_CELL_SIZE])
{
    const struct bulletin *bulletin = week->bulletin;
    char words[PHRASE_SIZE];

    for (int i = 0; COLUMN_FIRST_BUSH + i < week->table.column_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        const struct outlook_day *day = bulletin_bush_day(bush, date);

        if (day == NULL || !day->known)
            continue;
        phrase_volume(day->sap_l_per_tap_p50 * bush->taps, week->units, words);
        set_cell(cells[COLUMN_FIRST_BUSH + i], words);
    }
}

static void set_figures(const struct week *week, const struct bulletin_day *day,
                        char cells[][TABLE_CELL_SIZE])
{
    char words[PHRASE_SIZE];

    set_cell(cells[COLUMN_RUN], phrase_strength_cell(day->strength));
    if (day->has_window && day->strength > STRENGTH_NONE) {
        phrase_window(week->bulletin, day->run_start, day->run_end, words);
        set_cell(cells[COLUMN_HOURS], words);
    }
    phrase_volume(day->sap_l_p50, week->units, words);
    set_cell(cells[COLUMN_SAP], words);
    phrase_volume_range(day->sap_l_p10, day->sap_l_p90, week->units, words);
    set_cell(cells[COLUMN_RANGE], words);
    phrase_chance_short(day->chance, words);
    set_cell(cells[COLUMN_CHANCE], words);
    phrase_temperature(day->min_c, week->units, words);
    set_cell(cells[COLUMN_LOW], words);
    phrase_temperature(day->max_c, week->units, words);
    set_cell(cells[COLUMN_HIGH], words);
    if (week->taps > 0) {
        phrase_per_tap(day->sap_l_p50 / week->taps, week->units, words);
        set_cell(cells[COLUMN_TAP], words);
    }
}

static void add_day(struct week *week, const struct bulletin_day *day)
{
    char(*cells)[TABLE_CELL_SIZE];
    char date[PHRASE_SIZE];

    if (week->table.row_count == TABLE_MAX_ROWS)
        return;
    cells = week->table.cells[week->table.row_count];
    phrase_date_cell(day->date, date);
    set_cell(cells[COLUMN_DAY], date);
    if (day->known) {
        set_figures(week, day, cells);
        set_bushes(week, day->date, cells);
    } else {
        set_cell(cells[COLUMN_RUN], _("no data"));
    }
    set_frost(week, day->date, cells[COLUMN_FROST]);
    set_spread(week, day->date, cells[COLUMN_SPREAD]);
    week->table.bold[week->table.row_count] =
        day->known && day->strength >= STRENGTH_FAIR_RUN;
    week->table.row_count++;
}

static void write_title(const struct week *week, utc_s now, int width,
                        struct text *out)
{
    const struct bulletin *bulletin = week->bulletin;
    char age[PHRASE_SIZE], moment[PHRASE_SIZE];
    char *title;

    if (bulletin->weather_from == 0) {
        title = mem_format(
            words_count("%s, %d tap: no weather service has answered yet.",
                        "%s, %d taps: no weather service has answered yet.",
                        week->taps),
            bulletin->operation, week->taps);
    } else {
        bulletin_age_words(bulletin->weather_from, now, age, sizeof age);
        phrase_moment(bulletin, bulletin->weather_from, moment);
        title = mem_format(words_count("%s, %d tap: forecast of %s, %s.",
                                       "%s, %d taps: forecast of %s, %s.",
                                       week->taps),
                           bulletin->operation, week->taps, moment, age);
    }
    table_wrap(title, width, 0, out);
    text_add(out, "\n");
    free(title);
}

/* Of the columns that are shown. */
static void write_legend(const struct week *week, int rank, int width,
                         struct text *out)
{
    char least[PHRASE_SIZE];
    struct text words;

    if (rank < RANK_CHANCE)
        return;
    phrase_per_tap(OUTLOOK_RUN_L_PER_TAP, week->units, least);
    text_init(&words, LEGEND_BYTES);
    if (rank >= RANK_RANGE)
        text_addf(&words, "%s ", _("Range: holds 8 times in 10."));
    text_addf(&words, _("Chance: of a run, %s a tap or more."), least);
    text_add(out, "\n");
    table_wrap(words.bytes, width, 0, out);
    text_free(&words);
    if (rank >= RANK_FROST)
        table_wrap(_("Frost before: hours and low of the night before."), width,
                   0, out);
    if (rank >= RANK_SPREAD)
        table_wrap(_("Differ: how far the weather services lie apart."), width,
                   0, out);
}

static void write_silence(const struct bulletin *bulletin, utc_s now, int width,
                          struct text *out)
{
    char moment[PHRASE_SIZE];
    char *words;

    if (now - bulletin->made < SILENT_S)
        return;
    phrase_moment(bulletin, bulletin->made, moment);
    words = mem_format(_("Nothing has been published since %s. Is thawbelld "
                         "running?"),
                       moment);
    table_wrap(words, width, 2, out);
    free(words);
}

/* What is wrong with the sources, and what else the reader should know. */
static void write_notes(const struct week *week, int width, struct text *out)
{
    const struct bulletin *bulletin = week->bulletin;
    char *words;

    for (int i = 0; i < bulletin->source_count; i++) {
        const struct bulletin_source *source = &bulletin->sources[i];

        if (source->trouble[0] == '\0')
            continue;
        words = phrase_trouble(bulletin, source);
        table_wrap(words, width, 2, out);
        free(words);
    }
    for (int i = 0; i < bulletin->notes.count; i++)
        table_wrap(bulletin->notes.items[i], width, 2, out);
}

/* What the plan asks for, or why there is none. */
static void write_actions(const struct week *week, utc_s now, int width,
                          struct text *out)
{
    const struct bulletin *bulletin = week->bulletin;
    struct civil_date today = bulletin_date(bulletin, now);
    char when[PHRASE_SIZE], what[PHRASE_SIZE];
    bool first = true;

    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];
        char *words;

        if (bulletin_action_over(bulletin, action, now))
            continue;
        text_add(out, first ? "\n" : "");
        first = false;
        phrase_action_time(bulletin, action, today, when);
        phrase_action(action, week->units, what);
        if (action->reason[0] == '\0')
            words = mem_format(_("%s, %s."), what, when);
        else if (bulletin_reason_told(bulletin, i, now))
            words = mem_format(_("%s, %s, for the same reason."), what, when);
        else
            words = mem_format(_("%s, %s. %s"), what, when, action->reason);
        /* Whole sentences, one after the other; of later days the reason is
         * enough. */
        if (action->detail[0] != '\0' &&
            bulletin_action_near(bulletin, i, now)) {
            char *longer = mem_format("%s %s", words, action->detail);

            free(words);
            words = longer;
        }
        table_wrap(words, width, 2, out);
        free(words);
    }
    if (bulletin->lack != LACKS_NOTHING) {
        text_add(out, first ? "\n" : "");
        table_wrap(plan_lack_words(bulletin->lack), width, 2, out);
    }
}

/* How the season stands, a paragraph a bush. */
static void write_season(const struct week *week, utc_s now, int width,
                         struct text *out)
{
    const struct bulletin *bulletin = week->bulletin;
    struct civil_date today = bulletin_date(bulletin, now);
    bool first = true;

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        struct text words;
        char *named;

        if (bush->season == NULL)
            continue;
        text_init(&words, SEASON_WORDS_MAX);
        season_words(bush, today, &words);
        named = bulletin->bush_count > 1
                    ? mem_format(_("%s: %s"), bush->name, words.bytes)
                    : mem_copy_text(words.bytes);
        text_add(out, first ? "\n" : "");
        first = false;
        table_wrap(named, width, 2, out);
        text_free(&words);
        free(named);
    }
}

static int all_taps(const struct bulletin *bulletin)
{
    int taps = 0;

    for (int i = 0; i < bulletin->bush_count; i++)
        taps += bulletin->bushes[i].taps;
    return taps;
}

void show_week(const struct bulletin *bulletin, utc_s now,
               const struct show_style *style, struct text *out)
{
    struct week *week = mem_alloc(1, sizeof *week);
    struct civil_date today = bulletin_date(bulletin, now);
    int width = style->columns < 40 ? 80 : style->columns;

    week->bulletin = bulletin;
    week->units = style->units;
    week->taps = all_taps(bulletin);
    set_heads(week);
    for (int i = 0; i < bulletin->day_count; i++)
        if (civil_date_compare(bulletin->days[i].date, today) >= 0)
            add_day(week, &bulletin->days[i]);
    write_title(week, now, width, out);
    if (week->table.row_count > 0) {
        int rank = table_write(&week->table, width, style->colour, out);

        write_legend(week, rank, width, out);
    } else {
        table_wrap(_("The forecast has run out."), width, 0, out);
    }
    write_actions(week, now, width, out);
    write_season(week, now, width, out);
    write_silence(bulletin, now, width, out);
    write_notes(week, width, out);
    free(week);
}
