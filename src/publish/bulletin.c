#include "publish/bulletin.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"

struct bulletin *bulletin_new(void)
{
    return mem_alloc(1, sizeof(struct bulletin));
}

void bulletin_free(struct bulletin *bulletin)
{
    if (bulletin == NULL)
        return;
    for (int i = 0; i < bulletin->bush_count; i++) {
        outlook_free(bulletin->bushes[i].outlook);
        free(bulletin->bushes[i].air_temp_c);
        free(bulletin->bushes[i].air_known);
        free(bulletin->bushes[i].season);
    }
    zone_free(bulletin->zone);
    free(bulletin->sources);
    free(bulletin->bushes);
    free(bulletin->days);
    free(bulletin->actions);
    free(bulletin->plan.buckets_l);
    free(bulletin->plan.tanks_l);
    error_list_free(&bulletin->notes);
    free(bulletin);
}

void bulletin_take_weather(struct bulletin_bush *bush,
                           const struct series *series)
{
    const struct outlook *outlook = bush->outlook;
    size_t hours = (size_t)(outlook->hours > 0 ? outlook->hours : 1);

    free(bush->air_temp_c);
    free(bush->air_known);
    bush->air_temp_c = mem_alloc(hours, sizeof(double));
    bush->air_known = mem_alloc(hours, sizeof(bool));
    for (int hour = 0; hour < outlook->hours; hour++) {
        utc_s instant = outlook->start + (utc_s)hour * SECONDS_PER_HOUR;
        int row = series_row(series, instant);

        if (row >= 0)
            bush->air_known[hour] =
                series_get(series, AIR_TEMP_C, row, &bush->air_temp_c[hour]);
    }
}

const struct bulletin_day *bulletin_day(const struct bulletin *bulletin,
                                        struct civil_date date)
{
    for (int i = 0; i < bulletin->day_count; i++)
        if (civil_date_compare(bulletin->days[i].date, date) == 0)
            return &bulletin->days[i];
    return NULL;
}

const struct outlook_day *bulletin_bush_day(const struct bulletin_bush *bush,
                                            struct civil_date date)
{
    const struct outlook *outlook = bush->outlook;

    for (int i = 0; outlook != NULL && i < outlook->count; i++)
        if (civil_date_compare(outlook->days[i].date, date) == 0)
            return &outlook->days[i];
    return NULL;
}

const struct bulletin_season_day *
bulletin_season_day(const struct bulletin_bush *bush, struct civil_date date)
{
    const struct bulletin_season *season = bush->season;

    for (int i = 0; season != NULL && i < season->day_count; i++)
        if (civil_date_compare(season->days[i].date, date) == 0)
            return &season->days[i];
    return NULL;
}

static void widen_window(struct bulletin_day *day,
                         const struct outlook_day *row)
{
    if (!row->has_window)
        return;
    if (!day->has_window || row->run_start < day->run_start)
        day->run_start = row->run_start;
    if (!day->has_window || row->run_end > day->run_end)
        day->run_end = row->run_end;
    day->has_window = true;
}

/* The bushes stand in one weather: their quantiles add up. */
static void add_bush(struct bulletin_day *day, const struct bulletin_bush *bush,
                     const struct outlook_day *row)
{
    day->sap_l_p10 += row->sap_l_per_tap_p10 * bush->taps;
    day->sap_l_p50 += row->sap_l_per_tap_p50 * bush->taps;
    day->sap_l_p90 += row->sap_l_per_tap_p90 * bush->taps;
    if (row->chance > day->chance)
        day->chance = row->chance;
    widen_window(day, row);
}

const struct bulletin_bush *
bulletin_leading_bush(const struct bulletin *bulletin, struct civil_date date)
{
    const struct bulletin_bush *leading = NULL;
    double most = -1;

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        const struct outlook_day *day = bulletin_bush_day(bush, date);

        if (day != NULL && day->known &&
            day->sap_l_per_tap_p50 * bush->taps > most) {
            most = day->sap_l_per_tap_p50 * bush->taps;
            leading = bush;
        }
    }
    return leading;
}

/* Buckets' worth of all taps: the bounds on vacuum are twice as high. */
static double bucket_taps(const struct bulletin *bulletin)
{
    double taps = 0;

    for (int i = 0; i < bulletin->bush_count; i++)
        taps += bulletin->bushes[i].taps *
                (bulletin->bushes[i].gathering == GATHERING_VACUUM ? 2.0 : 1.0);
    return taps;
}

static enum strength strength_of_all(const struct bulletin *bulletin,
                                     const struct bulletin_day *day)
{
    double taps = bucket_taps(bulletin);
    bool runs = false;

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct outlook_day *row =
            bulletin_bush_day(&bulletin->bushes[i], day->date);

        runs = runs || (row != NULL && row->strength > STRENGTH_NONE);
    }
    if (!runs || taps <= 0)
        return STRENGTH_NONE;
    return outlook_strength(day->sap_l_p50 / taps, GATHERING_BUCKETS);
}

static void sum_day(const struct bulletin *bulletin, struct bulletin_day *day)
{
    const struct outlook_day *first =
        bulletin_bush_day(&bulletin->bushes[0], day->date);

    day->known = first != NULL;
    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        const struct outlook_day *row = bulletin_bush_day(bush, day->date);

        if (row == NULL || !row->known)
            day->known = false;
        else
            add_bush(day, bush, row);
    }
    if (first == NULL || !day->known) {
        *day = (struct bulletin_day){.date = day->date};
        return;
    }
    day->strength = strength_of_all(bulletin, day);
    day->min_c = first->min_c;
    day->max_c = first->max_c;
}

void bulletin_sum_days(struct bulletin *bulletin)
{
    const struct outlook *first =
        bulletin->bush_count > 0 ? bulletin->bushes[0].outlook : NULL;

    free(bulletin->days);
    bulletin->day_count = first == NULL ? 0 : first->count;
    bulletin->days =
        mem_alloc((size_t)bulletin->day_count + 1, sizeof(struct bulletin_day));
    for (int i = 0; first != NULL && i < first->count; i++) {
        bulletin->days[i].date = first->days[i].date;
        sum_day(bulletin, &bulletin->days[i]);
    }
}

static const char *const action_words[ACTION_KIND_COUNT] = {"collect", "boil",
                                                            "tap", "pull"};

bool bulletin_action_over(const struct bulletin *bulletin,
                          const struct bulletin_action *action, utc_s now)
{
    if (!action->all_day)
        return action->end <= now;
    return civil_date_compare(action->date, bulletin_date(bulletin, now)) < 0;
}

static bool has_own_reason(const struct bulletin_action *action)
{
    for (int i = 0; i < action->said_count; i++)
        if (action->said[i].place == SAYING_REASON &&
            action->said[i].saying.values[0].kind != SAID_NOTHING)
            return true;
    return false;
}

bool bulletin_action_near(const struct bulletin *bulletin, int action,
                          utc_s now)
{
    const struct bulletin_action *this = &bulletin->actions[action];

    if (this->all_day || this->start < now + BULLETIN_NEAR_S)
        return true;
    for (int i = 0; i < action; i++) {
        const struct bulletin_action *other = &bulletin->actions[i];

        if (other->kind == ACTION_BOIL &&
            !bulletin_action_over(bulletin, other, now))
            return false;
    }
    return this->kind == ACTION_BOIL;
}

bool bulletin_reason_told(const struct bulletin *bulletin, int action,
                          utc_s now)
{
    const struct bulletin_action *this = &bulletin->actions[action];

    if (has_own_reason(this))
        return false;
    for (int i = action - 1; i >= 0; i--) {
        const struct bulletin_action *other = &bulletin->actions[i];

        if (other->kind == this->kind)
            return !bulletin_action_over(bulletin, other, now) &&
                   strcmp(other->reason, this->reason) == 0;
    }
    return false;
}

static utc_s action_start(const struct bulletin *bulletin,
                          const struct bulletin_action *action)
{
    return action->all_day ? zone_day_start(bulletin->zone, action->date)
                           : action->start;
}

static bool comes_before(const struct bulletin *bulletin,
                         const struct bulletin_action *a,
                         const struct bulletin_action *b)
{
    utc_s start_a = action_start(bulletin, a);
    utc_s start_b = action_start(bulletin, b);

    return start_a != start_b ? start_a < start_b : a->kind < b->kind;
}

void bulletin_add_action(struct bulletin *bulletin,
                         const struct bulletin_action *action)
{
    int place = bulletin->action_count++;

    bulletin->actions =
        mem_resize(bulletin->actions, (size_t)bulletin->action_count,
                   sizeof *bulletin->actions);
    for (; place > 0 &&
           comes_before(bulletin, action, &bulletin->actions[place - 1]);
         place--)
        bulletin->actions[place] = bulletin->actions[place - 1];
    bulletin->actions[place] = *action;
}

const char *action_word(enum action_kind kind)
{
    return action_words[kind];
}

int action_from_word(const char *word)
{
    for (int i = 0; i < ACTION_KIND_COUNT; i++)
        if (strcmp(action_words[i], word) == 0)
            return i;
    return -1;
}

static const char *const averts_words[AVERTS_COUNT] = {"nothing", "overflow",
                                                       "spoilage", "freeze-up"};

const char *averts_word(enum action_averts averts)
{
    return averts_words[averts];
}

int averts_from_word(const char *word)
{
    for (int i = 0; i < AVERTS_COUNT; i++)
        if (strcmp(word, averts_words[i]) == 0)
            return i;
    return -1;
}

static bool same_credit(const struct bulletin_source *one,
                        const struct bulletin_source *other)
{
    return one->in_use && strcmp(one->credit, other->credit) == 0 &&
           strcmp(one->credit_url, other->credit_url) == 0;
}

bool bulletin_has_credit(const struct bulletin *bulletin, int source)
{
    const struct bulletin_source *row = &bulletin->sources[source];

    for (int i = 0; i < source; i++)
        if (same_credit(&bulletin->sources[i], row))
            return false;
    return row->in_use && row->credit[0] != '\0';
}

void bulletin_age_words(utc_s made, utc_s now, char *out, size_t out_size)
{
    long minutes = now > made ? (long)((now - made) / 60) : 0;

    if (minutes < 1)
        snprintf(out, out_size, "%s", _("under 1 min old"));
    else if (minutes < 60)
        snprintf(out, out_size, _("%ld min old"), minutes);
    else if (minutes < 72 * 60)
        snprintf(out, out_size, _("%ld h old"), minutes / 60);
    else
        snprintf(out, out_size, _("%ld days old"), minutes / (24 * 60));
}
