/* Tapping, taphole, runs, pulling and the stages between them. */
#include <math.h>
#include <string.h>

#include "tree/season_private.h"

static const int FIRST_TAPPING_DAY = 61; /* 1 January */
static const double STAGE_EARLY_SHARE = 0.2, STAGE_LATE_SHARE = 0.8;
static const double SPELL_LEAST_RUN_DAYS = 1.0;
enum { PULL_AFTER_TAPHOLE_DAYS = 7 };

const char *season_stage_word(enum season_stage stage)
{
    static const char *const WORDS[SEASON_STAGE_COUNT] = {
        "dormant", "early", "main", "late", "budding", "over"};

    return stage < SEASON_STAGE_COUNT ? WORDS[stage] : "dormant";
}

static int day_index(const struct season *season, struct civil_date date)
{
    return (int)(civil_day_number(date) - season->first_day);
}

static struct civil_date day_date(const struct season *season, int day)
{
    return civil_date_from_day_number(season->first_day + day);
}

/* First day with a hole in the tree; past the end if there is none. */
static int start_day(const struct season *season)
{
    int day = season->has_start ? day_index(season, season->start)
                                : season->day_count;

    return day < 0 ? 0 : day;
}

/* Log-odds that a note adds to the risk of a day. Assumptions, as
 * docs/model-season.md says: a clean taste speaks against, the rest for. */
static double note_log_odds(enum season_note_kind kind)
{
    switch (kind) {
    case SEASON_NOTE_CLEAN:
        return -2.0;
    case SEASON_NOTE_DARK:
        return 1.0;
    case SEASON_NOTE_MILKY:
        return 1.5;
    case SEASON_NOTE_OFF_TASTE:
        return 3.5;
    }
    return 0.0;
}

/* A risk of nearly nothing or nearly all still moves; a note that speaks for
 * an off-flavour never lowers the risk, nor one against it raises it. */
static double move_risk(double risk, double log_odds)
{
    double bounded = fmax(0.02, fmin(0.98, risk));
    double moved = 1.0 / (1.0 + (1.0 - bounded) / bounded * exp(-log_odds));

    return log_odds > 0.0 ? fmax(risk, moved) : fmin(risk, moved);
}

void season_apply_notes(const struct season_model *model,
                        const struct season_site *site, struct season *season)
{
    for (int i = 0; i < site->note_count && site->notes; i++) {
        int noted = day_index(season, site->notes[i].date);
        double log_odds = note_log_odds(site->notes[i].kind);

        for (int day = noted < 0 ? 0 : noted;
             noted >= 0 && day < season->day_count; day++) {
            double faded = exp(-(day - noted) / model->general.log_memory_d);

            season->days[day].off_flavour =
                move_risk(season->days[day].off_flavour, log_odds * faded);
        }
    }
}

static double keeps(const struct season_model *model, double warm_kh)
{
    return exp(-model->general.taphole_ageing * warm_kh / 1000.0);
}

/* The latest day that keeps the asked share of what tapping on the best day
 * would give: run weather of good sap, each day by the state of its hole. */
static int best_tapping_day(const struct season_model *model,
                            const double *warm_kh, const struct season *season)
{
    double score[SEASON_MAX_DAYS + 1] = {0}, best = 0.0;

    for (int day = season->day_count - 1; day >= FIRST_TAPPING_DAY; day--) {
        const struct season_day *d = &season->days[day];

        score[day] = d->run_weather * (1.0 - d->off_flavour) +
                     keeps(model, warm_kh[day]) * score[day + 1];
        best = fmax(best, score[day]);
    }
    for (int day = season->day_count - 1; day >= FIRST_TAPPING_DAY; day--) {
        if (best > 0.0 && score[day] >= model->general.tap_keeps * best) {
            return day;
        }
    }
    return -1;
}

static void age_taphole(const struct season_model *model,
                        const struct season_site *site, const double *warm_kh,
                        int tapped, struct season *season)
{
    int told = site->has_taphole ? day_index(season, site->taphole_on) : -1;
    double left = 1.0;

    for (int day = 0; day < season->day_count; day++) {
        if (day >= tapped) {
            left *= keeps(model, warm_kh[day]);
        }
        if (day == told) {
            left = site->taphole_left;
        }
        season->days[day].taphole = left;
        if (!season->has_taphole_end && left <= model->general.taphole_spent) {
            season->has_taphole_end = true;
            season->taphole_end = day_date(season, day);
        }
    }
}

void season_tap(const struct season_model *model,
                const struct season_site *site, const double *warm_kh,
                struct season *season)
{
    int tapped = best_tapping_day(model, warm_kh, season);

    season->has_tap_from = tapped >= 0;
    if (tapped >= 0) {
        season->tap_from = day_date(season, tapped);
    }
    season->has_start = site->tapped || season->has_tap_from;
    season->start = site->tapped ? site->tapped_on : season->tap_from;
    tapped = start_day(season);
    age_taphole(model, site, warm_kh, tapped, season);
}

void season_pull(const struct season_model *model, struct season *season)
{
    const struct season_general *general = &model->general;
    int from = -1, by = -1;

    for (int day = start_day(season); day < season->day_count && by < 0;
         day++) {
        const struct season_day *d = &season->days[day];
        bool spent = d->taphole <= general->taphole_spent;

        if (from < 0 && (spent || d->off_flavour >= general->pull_risk_from)) {
            from = day;
        }
        if (d->off_flavour >= general->pull_risk_by ||
            (spent && day >= from + PULL_AFTER_TAPHOLE_DAYS)) {
            by = day;
        }
    }
    season->has_pull = from >= 0 && by >= 0;
    if (season->has_pull) {
        season->pull_from = day_date(season, from);
        season->pull_by = day_date(season, by);
    }
}

static void drop_smallest_spell(struct season *season)
{
    int smallest = 0;

    for (int i = 1; i < season->spell_count; i++) {
        if (season->spells[i].run_days < season->spells[smallest].run_days) {
            smallest = i;
        }
    }
    season->spell_count--;
    memmove(&season->spells[smallest], &season->spells[smallest + 1],
            (size_t)(season->spell_count - smallest) *
                sizeof season->spells[0]);
}

static void add_spell(struct season *season, int first, int last)
{
    struct season_spell spell = {day_date(season, first),
                                 day_date(season, last), 0.0};

    for (int day = first; day <= last; day++) {
        spell.run_days += season->days[day].run_weather;
    }
    if (spell.run_days < SPELL_LEAST_RUN_DAYS) {
        return;
    }
    if (season->spell_count == SEASON_MAX_SPELLS) {
        drop_smallest_spell(season);
    }
    season->spells[season->spell_count++] = spell;
}

void season_find_spells(struct season *season)
{
    int first = -1, last = -1;
    int start = start_day(season);
    int end = season->has_pull ? day_index(season, season->pull_by)
                               : season->day_count - 1;

    for (int day = start; day <= end && day < season->day_count; day++) {
        bool runs = season->days[day].known &&
                    season->days[day].run_weather >= SEASON_RUN_DAY;

        if (runs && first >= 0 && day - last > 2) {
            add_spell(season, first, last);
            first = -1;
        }
        if (runs) {
            first = first < 0 ? day : first;
            last = day;
        }
    }
    if (first >= 0) {
        add_spell(season, first, last);
    }
}

static enum season_stage stage_of(const struct season_model *model,
                                  const struct season *season, int day,
                                  double share)
{
    if (season->has_pull && day >= day_index(season, season->pull_by)) {
        return SEASON_OVER;
    }
    if (day < start_day(season)) {
        return SEASON_DORMANT;
    }
    if (season->days[day].off_flavour >= model->general.pull_risk_from) {
        return SEASON_BUDDING;
    }
    if (share < STAGE_EARLY_SHARE) {
        return SEASON_EARLY;
    }
    return share < STAGE_LATE_SHARE ? SEASON_MAIN : SEASON_LATE;
}

void season_set_stages(const struct season_model *model, struct season *season)
{
    int start = start_day(season);
    int end = season->has_pull ? day_index(season, season->pull_by)
                               : season->day_count;
    double whole = 0.0, so_far = 0.0;

    for (int day = start; day < end; day++) {
        whole += season->days[day].run_weather;
    }
    for (int day = 0; day < season->day_count; day++) {
        double share = whole > 0.0 ? so_far / whole : 0.0;

        season->days[day].stage = stage_of(model, season, day, share);
        if (day >= start && day < end) {
            so_far += season->days[day].run_weather;
        }
    }
}
