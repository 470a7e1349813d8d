/* The logbook as people read it. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "command/note.h"
#include "publish/table.h"
#include "sugarhouse/grade.h"

enum { SCALE = 20, CHUNK = 30, BUSH_COLUMNS = 10 };

void note_moment(const struct zone *zone, utc_s at, char out[24])
{
    struct civil_time civil = zone_civil(zone, at);
    char date[ISO_DATE_SIZE];

    iso_date(civil.date, date);
    snprintf(out, 24, "%s %02d:%02d", date, civil.hour, civil.minute);
}

/* "42 gal", "0.75 gal", "160 L": as it was noted, to four digits. */
static void amount_words(double volume_l, enum unit_system units,
                         char out[QUANTITY_SIZE])
{
    bool us = units == UNITS_US;
    double value = us ? volume_l / L_PER_US_GALLON : volume_l;

    char number[QUANTITY_SIZE];

    snprintf(number, sizeof number, value >= 1000 ? "%.0f" : "%.4g", value);
    number_mark(number);
    snprintf(out, QUANTITY_SIZE, us ? _("%.30s gal") : _("%.30s L"), number);
}

static const char *kind_phrase(enum log_kind kind)
{
    static const char *const words[LOG_KIND_COUNT] = {
        N_("tapped"), N_("collected"),   N_("boiled"),
        N_("drew"),   N_("off-flavour"), N_("pulled the taps")};

    return _(words[kind]);
}

static const char *sign_phrase(enum log_sign sign)
{
    static const char *const words[LOG_SIGN_COUNT] = {
        "", N_("tasted clean"), N_("dark"), N_("milky sap"), N_("off taste")};

    return sign == LOG_SIGN_NONE ? "" : _(words[sign]);
}

static const char *grade_phrase(enum grade grade)
{
    static const char *const words[GRADE_COUNT] = {N_("golden"), N_("amber"),
                                                   N_("dark"), N_("very dark"),
                                                   N_("processing")};

    return _(words[grade]);
}

/* Figures one after another, as in a book of accounts. */
static void add_figures(const struct log_note *note, enum unit_system units,
                        struct text *out)
{
    char amount[QUANTITY_SIZE], number[QUANTITY_SIZE];
    const char *before = " ";

    for (int i = 0; i < LOG_FIGURE_COUNT; i++) {
        double value = note->figure[i];

        if (!note->has[i])
            continue;
        text_add(out, before);
        before = ", ";
        snprintf(number, sizeof number, i == LOG_HOURS ? "%.4g" : "%.3g",
                 value);
        number_mark(number);
        if (i == LOG_SAP_L || i == LOG_SYRUP_L) {
            amount_words(value, units, amount);
            text_add(out, amount);
        } else if (i == LOG_HOURS) {
            text_addf(out, _("%s h"), number);
        } else if (i == LOG_LIGHT_PCT) {
            text_addf(out, _("%s%% light"), number);
        } else {
            text_addf(out, _("%s Brix"), number);
        }
    }
}

void note_phrase(const struct log_note *note, enum unit_system units,
                 struct text *out)
{
    int grade = note->kind == LOG_DREW ? log_draw_grade(note) : -1;

    text_add(out, kind_phrase(note->kind));
    add_figures(note, units, out);
    if (note->sign != LOG_SIGN_NONE)
        text_addf(out, _(": %s"), sign_phrase(note->sign));
    if (grade >= 0)
        text_addf(out, _(" (%s)"), grade_phrase((enum grade)grade));
    if (note->remark[0] != '\0')
        text_addf(out, _(", \"%s\""), note->remark);
}

static void pad_to(struct text *out, const char *words, int columns)
{
    text_add(out, words);
    for (int i = utf8_columns(words); i < columns; i++)
        text_add(out, " ");
}

static void add_line(struct text *out, const struct zone *zone,
                     const struct log_note *note, enum unit_system units)
{
    char moment[24];

    note_moment(zone, note->at, moment);
    text_addf(out, "%s  ", moment);
    pad_to(out, note->bush[0] != '\0' ? note->bush : "-", BUSH_COLUMNS);
    text_add(out, "  ");
    note_phrase(note, units, out);
}

/* The course of one entry through its corrections. */
static void add_history(struct text *out, const struct logbook *book,
                        const struct log_entry *entry,
                        const struct operation *operation,
                        enum unit_system units)
{
    for (int i = 0; i < book->count; i++) {
        const struct log_record *record = &book->records[i];
        char moment[24];
        bool first = strcmp(record->uid, entry->uid) == 0;

        if (!first && strcmp(record->target, entry->uid) != 0)
            continue;
        note_moment(operation->zone, record->written, moment);
        if (record->change == LOG_REMOVAL) {
            text_addf(out, _("      %s removed\n"), moment);
            continue;
        }
        text_addf(out,
                  first ? _("      %s noted as ") : _("      %s corrected to "),
                  moment);
        add_line(out, operation->zone, &record->note, units);
        text_add(out, "\n");
    }
}

static void add_entry(struct text *out, const struct logbook *book,
                      const struct log_entry *entry,
                      const struct operation *operation, bool all,
                      enum unit_system units)
{
    text_addf(out, "%4d  ", entry->number);
    add_line(out, operation->zone, &entry->note, units);
    if (entry->removed)
        text_add(out, _("  [removed]"));
    else if (entry->waiting)
        text_add(out, _("  [waits for thawbelld]"));
    text_add(out, "\n");
    if (all && (entry->removed || entry->corrected))
        add_history(out, book, entry, operation, units);
}

/* "2024, 2026": those of which something is noted; the view is by time. */
static void add_seasons(const struct log_view *view, const struct zone *zone,
                        struct text *out)
{
    int last = 0;

    for (int i = 0; i < view->count; i++) {
        int season = log_season_of(zone, view->entries[i].note.at);

        if (season == last)
            continue;
        text_addf(out, last == 0 ? "%d" : ", %d", season);
        last = season;
    }
}

bool note_season_empty(const struct log_view *view, const struct zone *zone,
                       int season, struct text *out)
{
    for (int i = 0; i < view->count; i++)
        if (log_season_of(zone, view->entries[i].note.at) == season)
            return false;
    if (view->count == 0) {
        text_addf(out,
                  _("Nothing is noted for the season %d. Begin with such as: "
                    "thawbell note tapped\n"),
                  season);
        return true;
    }
    text_addf(out,
              _("Nothing is noted for the season %d. There are notes of: "),
              season);
    add_seasons(view, zone, out);
    text_add(out, "\n");
    return true;
}

void note_list_show(const struct logbook *book,
                    const struct operation *operation, int season, bool all,
                    enum unit_system units, struct text *out)
{
    struct log_view view;
    int shown = 0;

    log_view_make(book, all, &view);
    for (int i = 0; i < view.count; i++) {
        if (!all &&
            log_season_of(operation->zone, view.entries[i].note.at) != season)
            continue;
        add_entry(out, book, &view.entries[i], operation, all, units);
        shown++;
    }
    if (shown == 0 && all)
        text_add(out, _("Nothing is noted yet. Begin with such as: thawbell "
                        "note tapped\n"));
    else if (shown == 0)
        note_season_empty(&view, operation->zone, season, out);
    log_view_free(&view);
}

static void set_columns(struct table *table, const char *const *heads,
                        const char *right, int count)
{
    memset(table, 0, sizeof *table);
    table->column_count = count;
    for (int i = 0; i < count; i++) {
        snprintf(table->columns[i].head, TABLE_CELL_SIZE, "%s",
                 heads[i][0] != '\0' ? _(heads[i]) : "");
        table->columns[i].right = right[i] == 'r';
    }
}

static void put_cell(struct table *table, int column, const char *words)
{
    snprintf(table->cells[table->row_count][column], TABLE_CELL_SIZE, "%.47s",
             words);
}

static void put_day(struct table *table, int column, bool known, utc_s at,
                    const struct zone *zone)
{
    char date[ISO_DATE_SIZE];

    if (!known)
        return;
    iso_date(zone_date(zone, at), date);
    put_cell(table, column, date);
}

static void put_bush(struct table *table, const char *name, int taps,
                     const struct log_bush_season *bush,
                     const struct zone *zone, enum unit_system units)
{
    char words[QUANTITY_SIZE];

    put_cell(table, 0, name);
    snprintf(words, sizeof words, "%d", taps);
    put_cell(table, 1, words);
    put_day(table, 2, bush->has_tapped, bush->tapped, zone);
    put_day(table, 3, bush->has_pulled, bush->pulled, zone);
    volume_format(bush->sap_l, units, words);
    put_cell(table, 4, words);
    if (taps > 0) {
        per_tap_format(bush->sap_l / taps, units, words);
        put_cell(table, 5, words);
    }
    if (bush->has_brix) {
        number_format(bush->brix, 1, words);
        put_cell(table, 6, words);
    }
    table->row_count++;
}

static void show_bushes(const struct log_season *season,
                        const struct log_bush *bushes, int count,
                        const struct zone *zone, const struct show_style *style,
                        struct text *out)
{
    static const char *const heads[] = {N_("Bush"),   N_("taps"), N_("tapped"),
                                        N_("pulled"), N_("sap"),  N_("a tap"),
                                        N_("Brix")};
    struct table *table = mem_alloc(1, sizeof *table);

    for (int first = 0; first < count; first += CHUNK) {
        set_columns(table, heads, "lrllrrr", 7);
        for (int i = first; i < count && i < first + CHUNK; i++)
            put_bush(table, bushes[i].name, bushes[i].taps, &season->bushes[i],
                     zone, style->units);
        if (count > 1 && first + CHUNK >= count)
            put_bush(table, _("together"), season->taps, &season->together,
                     zone, style->units);
        table_write(table, style->columns, style->colour, out);
    }
    free(table);
}

static void show_syrup(const struct log_season *season, enum unit_system units,
                       struct text *out)
{
    char amount[QUANTITY_SIZE], tap[QUANTITY_SIZE], number[QUANTITY_SIZE];
    double ratio = log_season_ratio(season);
    bool us = units == UNITS_US;

    amount_words(season->syrup_l, units, amount);
    number_format(season->syrup_l / season->taps *
                      (us ? 4 / L_PER_US_GALLON : 1),
                  2, number);
    snprintf(tap, sizeof tap, us ? _("%.30s qt") : _("%.30s L"), number);
    if (season->draws == 0)
        text_add(out, _("No syrup is drawn yet.\n"));
    else if (ratio > 0)
        text_addf(out,
                  _("Syrup: %s in %d draws, %s a tap; %.0f of sap made one of "
                    "syrup.\n"),
                  amount, season->draws, tap, ratio);
    else
        text_addf(out, _("Syrup: %s in %d draws, %s a tap.\n"), amount,
                  season->draws, tap);
    number_format(season->boil_hours, 1, number);
    if (season->boils > 0 && season->boil_hours > 0)
        text_addf(out, _("Boils: %d, %s h at the fire.\n"), season->boils,
                  number);
}

static void show_classes(const struct log_season *season, struct text *out)
{
    double known_l = 0;
    const char *before = "";

    for (int grade = 0; grade < GRADE_COUNT; grade++)
        known_l += season->grade_l[grade];
    if (known_l <= 0)
        return;
    text_add(out, _("Classes: "));
    for (int grade = 0; grade < GRADE_COUNT; grade++) {
        if (season->grade_l[grade] <= 0)
            continue;
        text_addf(out, _("%s%s %.0f%%"), before,
                  grade_phrase((enum grade)grade),
                  season->grade_l[grade] / known_l * 100);
        before = ", ";
    }
    if (season->unclassed_l > 0)
        text_addf(out, _("; %.0f%% of the syrup is without a class"),
                  season->unclassed_l / season->syrup_l * 100);
    text_add(out, ".\n");
}

/* The class of most of the week's syrup; -1 if none is known. */
static int main_grade(const struct log_week *week)
{
    int best = -1;

    for (int grade = 0; grade < GRADE_COUNT; grade++)
        if (week->grade_l[grade] > 0 &&
            (best < 0 || week->grade_l[grade] > week->grade_l[best]))
            best = grade;
    return best;
}

static void put_week(struct table *table, const struct log_week *week,
                     enum unit_system units)
{
    char words[QUANTITY_SIZE], scale[SCALE + 3];
    int grade = main_grade(week);

    iso_date(week->monday, words);
    put_cell(table, 0, words);
    amount_words(week->syrup_l, units, words);
    put_cell(table, 1, words);
    if (grade >= 0)
        put_cell(table, 2, grade_phrase((enum grade)grade));
    if (week->has_light) {
        snprintf(words, sizeof words, _("%d%%"), (int)(week->light_pct + 0.5));
        put_cell(table, 3, words);
        memset(scale, '.', sizeof scale);
        scale[0] = scale[SCALE + 1] = '|';
        scale[SCALE + 2] = '\0';
        scale[1 + (int)(week->light_pct / 100 * (SCALE - 1) + 0.5)] = 'o';
        put_cell(table, 4, scale);
    }
    if (week->off_flavour)
        put_cell(table, 5, _("off-flavour noted"));
    table->row_count++;
}

static void show_weeks(const struct log_season *season,
                       const struct show_style *style, struct text *out)
{
    static const char *const heads[] = {N_("Week of"),       N_("syrup"),
                                        N_("class"),         N_("light"),
                                        N_("dark to light"), ""};
    struct table *table;

    if (season->week_count == 0)
        return;
    table = mem_alloc(1, sizeof *table);
    set_columns(table, heads, "lrlrll", 6);
    for (int i = 0; i < season->week_count; i++)
        put_week(table, &season->weeks[i], style->units);
    text_add(out, "\n");
    table_write(table, style->columns, style->colour, out);
    free(table);
}

void note_season_show(const struct log_season *season,
                      const struct log_bush *bushes, int bush_count,
                      const struct zone *zone, const struct show_style *style,
                      struct text *out)
{
    text_addf(out, _("Season %d\n\n"), season->year);
    show_bushes(season, bushes, bush_count, zone, style, out);
    text_add(out, "\n");
    show_syrup(season, style->units, out);
    show_classes(season, out);
    show_weeks(season, style, out);
}
