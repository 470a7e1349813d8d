#include "logbook/log_season.h"

#include <string.h>

int log_draw_grade(const struct log_note *note)
{
    if (note->has_grade)
        return (int)note->grade;
    if (note->has[LOG_LIGHT_PCT])
        return (int)grade_of_light(note->figure[LOG_LIGHT_PCT]);
    return -1;
}

static double figure(const struct log_note *note, enum log_figure which)
{
    return note->has[which] ? note->figure[which] : 0;
}

/* While `brix` is summed it holds Brix times litres, `measured` the litres. */
struct sums {
    double brix_l[LOG_MAX_BUSHES + 1], measured_l[LOG_MAX_BUSHES + 1];
    double light_l[LOG_MAX_WEEKS], seen_l[LOG_MAX_WEEKS];
};

static void add_to_bush(struct log_bush_season *bush,
                        const struct log_note *note)
{
    switch (note->kind) {
    case LOG_TAPPED:
        if (!bush->has_tapped)
            bush->tapped = note->at;
        bush->has_tapped = true;
        break;
    case LOG_PULLED:
        bush->pulled = note->at;
        bush->has_pulled = true;
        break;
    case LOG_COLLECTED:
        bush->sap_l += figure(note, LOG_SAP_L);
        bush->collections++;
        break;
    default:
        break;
    }
}

static void add_brix(struct sums *sums, int row, const struct log_note *note)
{
    if (note->kind != LOG_COLLECTED || !note->has[LOG_SAP_BRIX])
        return;
    sums->brix_l[row] += note->figure[LOG_SAP_BRIX] * figure(note, LOG_SAP_L);
    sums->measured_l[row] += figure(note, LOG_SAP_L);
}

static void add_bush_note(struct log_season *season, struct sums *sums,
                          const struct log_note *note,
                          const struct log_bush *bushes, int bush_count)
{
    bool own_sap = note->kind == LOG_COLLECTED;

    add_to_bush(&season->together, note);
    add_brix(sums, LOG_MAX_BUSHES, note);
    for (int i = 0; i < bush_count && i < LOG_MAX_BUSHES; i++) {
        /* Sap of all bushes together is no one bush's. */
        if (own_sap && bush_count > 1 && note->bush[0] == '\0')
            continue;
        if (!log_of_bush(note, bushes[i].name))
            continue;
        add_to_bush(&season->bushes[i], note);
        add_brix(sums, i, note);
    }
}

static struct civil_date monday_of(const struct zone *zone, utc_s at)
{
    struct civil_date date = zone_date(zone, at);

    return civil_date_add(date, -civil_weekday(date));
}

/* The view is by time, so a week's draws stand together. -1: no room. */
static int week_of(struct log_season *season, struct civil_date monday)
{
    int last = season->week_count - 1;

    if (last >= 0 &&
        civil_date_compare(season->weeks[last].monday, monday) == 0)
        return last;
    if (season->week_count == LOG_MAX_WEEKS)
        return -1;
    season->weeks[season->week_count].monday = monday;
    return season->week_count++;
}

static void add_draw(struct log_season *season, struct sums *sums,
                     const struct log_note *note, const struct zone *zone)
{
    int row = week_of(season, monday_of(zone, note->at));
    int grade = log_draw_grade(note);
    double syrup_l = figure(note, LOG_SYRUP_L);

    season->draws++;
    season->syrup_l += syrup_l;
    if (grade >= 0)
        season->grade_l[grade] += syrup_l;
    else
        season->unclassed_l += syrup_l;
    if (row < 0)
        return;
    season->weeks[row].syrup_l += syrup_l;
    if (grade >= 0)
        season->weeks[row].grade_l[grade] += syrup_l;
    if (note->has[LOG_LIGHT_PCT]) {
        sums->light_l[row] += note->figure[LOG_LIGHT_PCT] * syrup_l;
        sums->seen_l[row] += syrup_l;
    }
}

/* Only a week that has draws is marked. */
static void mark_off_flavour(struct log_season *season,
                             const struct log_view *view,
                             const struct zone *zone)
{
    for (int i = 0; i < view->count; i++) {
        const struct log_note *note = &view->entries[i].note;

        if (note->kind != LOG_OFF_FLAVOUR || note->sign == LOG_SIGN_CLEAN)
            continue;
        for (int row = 0; row < season->week_count; row++)
            if (civil_date_compare(season->weeks[row].monday,
                                   monday_of(zone, note->at)) == 0)
                season->weeks[row].off_flavour = true;
    }
}

static void settle_means(struct log_season *season, const struct sums *sums,
                         int bush_count)
{
    for (int i = 0; i <= LOG_MAX_BUSHES; i++) {
        struct log_bush_season *bush =
            i == LOG_MAX_BUSHES ? &season->together : &season->bushes[i];

        if ((i >= bush_count && i < LOG_MAX_BUSHES) || sums->measured_l[i] <= 0)
            continue;
        bush->has_brix = true;
        bush->brix = sums->brix_l[i] / sums->measured_l[i];
    }
    for (int row = 0; row < season->week_count; row++) {
        season->weeks[row].has_light = sums->seen_l[row] > 0;
        if (season->weeks[row].has_light)
            season->weeks[row].light_pct =
                sums->light_l[row] / sums->seen_l[row];
    }
}

void log_season_make(const struct log_view *view, const struct zone *zone,
                     int year, const struct log_bush *bushes, int bush_count,
                     struct log_season *out)
{
    struct sums sums;

    memset(&sums, 0, sizeof sums);
    memset(out, 0, sizeof *out);
    out->year = year;
    for (int i = 0; i < bush_count; i++)
        out->taps += bushes[i].taps;
    for (int i = 0; i < view->count; i++) {
        const struct log_note *note = &view->entries[i].note;

        if (view->entries[i].removed || log_season_of(zone, note->at) != year)
            continue;
        if (note->kind == LOG_DREW) {
            add_draw(out, &sums, note, zone);
        } else if (note->kind == LOG_BOILED) {
            out->boils++;
            out->boiled_l += figure(note, LOG_SAP_L);
            out->boil_hours += figure(note, LOG_HOURS);
        } else {
            add_bush_note(out, &sums, note, bushes, bush_count);
        }
    }
    mark_off_flavour(out, view, zone);
    settle_means(out, &sums, bush_count);
}

double log_season_ratio(const struct log_season *season)
{
    double sap_l =
        season->together.sap_l > 0 ? season->together.sap_l : season->boiled_l;

    return sap_l > 0 && season->syrup_l > 0 ? sap_l / season->syrup_l : 0;
}
