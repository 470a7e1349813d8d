/* The season put together from courses of the weather. */
#include "tree/season.h"

#include <stdlib.h>

#include "base/memory.h"
#include "tree/season_private.h"

/* Sums over the courses. */
struct tally {
    int count;
    double *swell, *bud_break; /* positions by course */
    int *last_good_day;
    double warm_kh[SEASON_MAX_DAYS];
    double run_weather[SEASON_MAX_DAYS], off_flavour[SEASON_MAX_DAYS];
};

static void tally_add(struct tally *tally, const struct season_signs *signs)
{
    int n = tally->count++;

    tally->swell[n] = signs->swell;
    tally->bud_break[n] = signs->bud_break;
    tally->last_good_day[n] = signs->last_good_day;
    for (int day = 0; day < signs->days; day++) {
        tally->warm_kh[day] += signs->warm_kh[day];
        tally->run_weather[day] += signs->run_weather[day];
        tally->off_flavour[day] += signs->off_flavour[day];
    }
}

/* The courses of one weather: drawn in it, one after another, where it ends.
 * Its days before `from` are in `signs` already. */
static void tally_weather(const struct season_model *model,
                          const struct season_calendar *calendar,
                          const struct season_climate *climate,
                          struct season_weather *weather, int from, int members,
                          uint64_t seed, struct season_signs *signs,
                          struct tally *tally)
{
    bool drawn = weather->known < weather->days;

    for (int member = 0; member < members; member++) {
        if (drawn)
            season_draw_ahead(weather, &model->general, climate,
                              &calendar->shares, seed, member);
        if (drawn || member == 0)
            season_signs_read(model, weather, calendar, from, signs);
        from = weather->known > from ? weather->known : from;
        tally_add(tally, signs);
    }
}

static void set_days(struct season *season, const struct season_weather *first,
                     struct tally *tally)
{
    season->year = first->year;
    season->first_day = season_first_day(first->year);
    season->day_count = first->days;
    season->known_days = first->known;
    season->filled_days = first->filled;
    for (int day = 0; day < first->days; day++) {
        struct season_day *d = &season->days[day];

        tally->warm_kh[day] /= tally->count;
        d->run_weather = tally->run_weather[day] / tally->count;
        d->off_flavour = tally->off_flavour[day] / tally->count;
        d->known = day < first->known;
        d->filled = d->known && !first->own[day];
    }
}

/* The last spell that the known weather holds, if it is not over. */
static void find_last_good_run(const struct tally *tally, struct civil_date now,
                               struct season *season)
{
    const struct season_spell *last;
    int end, more = 0;

    if (season->spell_count == 0) {
        return;
    }
    last = &season->spells[season->spell_count - 1];
    end = (int)(civil_day_number(last->last) - season->first_day);
    for (int i = 0; i < tally->count; i++) {
        more += tally->last_good_day[i] > end;
    }
    season->chance_of_more = (double)more / tally->count;
    season->has_last_good_run = civil_date_compare(last->last, now) >= 0 &&
                                season->chance_of_more < 0.5;
    season->last_good_run = *last;
}

static void finish(const struct season_model *model,
                   const struct season_site *site, struct tally *tally,
                   struct civil_date now, struct season *season)
{
    season->swell =
        season_date_from(tally->swell, tally->count, model->buds.swell_sd_d,
                         season->first_day, season->day_count);
    season->bud_break =
        season_date_from(tally->bud_break, tally->count, model->buds.break_sd_d,
                         season->first_day, season->day_count);
    season_apply_notes(model, site, season);
    season_tap(model, site, tally->warm_kh, season);
    season_pull(model, season);
    season_find_spells(season);
    season_set_stages(model, season);
    find_last_good_run(tally, now, season);
}

static bool same_numbers(const double *one, const double *other, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (!(one[i] == other[i]))
            return false;
    return true;
}

/* Days, up to `most`, in which two courses are the same; the first `day` of
 * them are known to be. */
static int days_shared(const struct season_weather *one,
                       const struct season_weather *other, int day, int most)
{
    while (day < most && day < one->known && day < other->known &&
           same_numbers(one->temp_c[day], other->temp_c[day],
                        sizeof one->temp_c[day] / sizeof *one->temp_c[day]) &&
           same_numbers(&one->min_c[day], &other->min_c[day], 1) &&
           same_numbers(&one->max_c[day], &other->max_c[day], 1))
        day++;
    return day < most ? day : most;
}

/* Each course in turn; the season takes its days from the first. What all of
 * them so far have in common is read once. */
static void tally_courses(const struct season_model *model,
                          const struct season_site *site,
                          const struct season_climate *climate,
                          const struct season_courses *courses, int each,
                          uint64_t seed, struct tally *tally,
                          struct season_weather *first)
{
    struct season_weather *weather = mem_alloc(1, sizeof *weather);
    struct season_calendar *calendar = mem_alloc(1, sizeof *calendar);
    struct season_signs *signs = mem_alloc(1, sizeof *signs);
    int shared = 0;

    for (int i = 0; i < courses->count; i++) {
        int same = courses->lay(courses->self, i, weather);

        if (i == 0) {
            *first = *weather;
            season_calendar_make(&model->buds, &model->sun, weather->year,
                                 weather->days, site->latitude, calendar);
        }
        shared = i == 0 ? 0
                        : days_shared(first, weather, same,
                                      i == 1 ? weather->days : shared);
        tally_weather(model, calendar, climate, weather, shared, each,
                      seed + (uint64_t)i * 1000003u, signs, tally);
    }
    free(signs);
    free(calendar);
    free(weather);
}

struct season *season_make_of(const struct season_model *model,
                              const struct season_site *site,
                              const struct season_climate *climate,
                              const struct season_courses *courses,
                              struct civil_date now, int members, uint64_t seed)
{
    struct season *season = mem_alloc(1, sizeof *season);
    struct season_weather *first = mem_alloc(1, sizeof *first);
    struct tally *tally = mem_alloc(1, sizeof *tally);
    int each = members / courses->count > 1 ? members / courses->count : 1;
    size_t size = (size_t)each * (size_t)courses->count;

    tally->swell = mem_alloc(size, sizeof *tally->swell);
    tally->bud_break = mem_alloc(size, sizeof *tally->bud_break);
    tally->last_good_day = mem_alloc(size, sizeof *tally->last_good_day);
    tally_courses(model, site, climate, courses, each, seed, tally, first);
    season->species = model->species;
    set_days(season, first, tally);
    finish(model, site, tally, now, season);
    free(tally->swell);
    free(tally->bud_break);
    free(tally->last_good_day);
    free(tally);
    free(first);
    return season;
}

static int lay_copy(const void *self, int number, struct season_weather *out)
{
    const struct season_weather *const *weathers = self;

    *out = *weathers[number];
    return 0;
}

struct season *season_make(const struct season_model *model,
                           const struct season_site *site,
                           const struct season_climate *climate,
                           const struct season_weather *const *weathers,
                           int weather_count, struct civil_date now,
                           int members, uint64_t seed)
{
    struct season_courses courses = {weather_count, lay_copy, weathers};

    return season_make_of(model, site, climate, &courses, now, members, seed);
}

void season_free(struct season *season)
{
    free(season);
}
