/* The line: what today brings, what is to be done, what of the season matters,
 * tonight's frost, what comes next, and the age of the forecast when it is old.
 * Each sentence has forms from long to short, and the line takes the longest
 * that fit. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "publish/phrase.h"
#include "publish/season_words.h"
#include "publish/show.h"

enum {
    LINE_COLUMNS = 80,
    LINE_MIN_COLUMNS = 20,
    FORMS = 5, /* the last says nothing or least */
    FORM_SIZE = 200,
    WAYS = FORMS * FORMS * FORMS * FORMS * FORMS, /* one FORMS a sentence */
    NIGHT_OVER_H = 4, /* till then "tonight" is the night under way */
    EVENING_H = 18,   /* from then on today will not change */
    ACTION_AHEAD_S = 36 * SECONDS_PER_HOUR, /* what is to be done till then */
};

enum sentence { TODAY, ACTION, SEASON, TONIGHT, NEXT, SENTENCES };

/* What is lost with each form, from the longest to the shortest. Ours: they
 * settle what gives way first when the line is too long. */
static const int weights_for_today[SENTENCES][FORMS] = {{0, 1, 6, 20, 20},
                                                        {0, 2, 40, 40, 40},
                                                        {0, 1, 2, 30, 30},
                                                        {0, 1, 9, 9, 9},
                                                        {0, 1, 3, 5, 12}};
/* When there is nothing more to come today. */
static const int weights_for_later[SENTENCES][FORMS] = {{0, 1, 1, 2, 2},
                                                        {0, 2, 40, 40, 40},
                                                        {0, 1, 2, 30, 30},
                                                        {0, 2, 9, 9, 9},
                                                        {0, 1, 6, 9, 20}};

struct line {
    const struct bulletin *bulletin;
    utc_s now;
    enum unit_system units;
    struct civil_date today;
    int hour;
    const struct bulletin_day *day; /* today's row, or NULL */
    const int (*weights)[FORMS];
    /* Each sentence from long to short; "" says nothing. */
    char forms[SENTENCES][FORMS][FORM_SIZE];
    char age[FORM_SIZE];
};

static void __attribute__((format(printf, 4, 5)))
put(struct line *line, enum sentence sentence, int form, const char *format,
    ...)
{
    va_list values;

    va_start(values, format);
    vsnprintf(line->forms[sentence][form], FORM_SIZE, format, values);
    va_end(values);
    /* Today is never passed over in silence. */
    if (sentence == TODAY && form == FORMS - 2)
        memcpy(line->forms[TODAY][FORMS - 1], line->forms[TODAY][form],
               FORM_SIZE);
}

static void say_window(struct line *line, const char *volume,
                       const char *chance)
{
    const struct bulletin_day *day = line->day;
    const char *strength = phrase_strength_first(day->strength);
    char window[PHRASE_SIZE];

    phrase_window(line->bulletin, day->run_start, day->run_end, window);
    put(line, TODAY, 0, _("%s today %s, about %s, %s chance."), strength,
        window, volume, chance);
    put(line, TODAY, 1, _("%s today %s, %s, %s chance."), strength, window,
        volume, chance);
    put(line, TODAY, 2, _("%s today %s, %s, %s."), strength, window, volume,
        chance);
    put(line, TODAY, 3, _("%s %s."), strength, window);
}

static void say_under_way(struct line *line, const char *volume,
                          const char *chance)
{
    const char *strength = phrase_strength_first(line->day->strength);
    char end[PHRASE_SIZE];

    phrase_end(line->bulletin, line->day->run_end, end);
    put(line, TODAY, 0, _("%s until %s, about %s today, %s chance."), strength,
        end, volume, chance);
    put(line, TODAY, 1, _("%s until %s, %s, %s chance."), strength, end, volume,
        chance);
    put(line, TODAY, 2, _("%s until %s, %s, %s."), strength, end, volume,
        chance);
    put(line, TODAY, 3, _("%s until %s."), strength, end);
}

static void say_over(struct line *line, const char *volume)
{
    const char *strength = phrase_strength_first(line->day->strength);
    char end[PHRASE_SIZE];

    line->weights = weights_for_later;
    phrase_end(line->bulletin, line->day->run_end, end);
    put(line, TODAY, 0, _("%s today, over since %s, about %s."), strength, end,
        volume);
    put(line, TODAY, 1, _("%s today, over, about %s."), strength, volume);
    put(line, TODAY, 2, _("Today's run is over."));
    put(line, TODAY, 3, _("Run over."));
}

static void say_weeping(struct line *line, const char *volume,
                        const char *chance)
{
    const char *strength = phrase_strength_first(line->day->strength);

    put(line, TODAY, 0, _("%s today, about %s, %s chance of a run."), strength,
        volume, chance);
    put(line, TODAY, 1, _("%s today, %s, %s chance of a run."), strength,
        volume, chance);
    put(line, TODAY, 2, _("%s today, %s."), strength, volume);
    put(line, TODAY, 3, _("%s today."), strength);
}

static void say_none(struct line *line, const char *chance)
{
    bool open = line->day->chance >= 0.05 && line->hour < EVENING_H;

    line->weights = weights_for_later;
    if (open)
        put(line, TODAY, 0, _("No run likely today, %s chance."), chance);
    else
        put(line, TODAY, 0, _("No run today."));
    put(line, TODAY, 1, open ? _("No run likely today.") : _("No run today."));
    put(line, TODAY, 2, _("No run today."));
    put(line, TODAY, 3, _("No run."));
}

static void say_today(struct line *line)
{
    const struct bulletin_day *day = line->day;
    char volume[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, line->units, volume);
    phrase_chance(day->chance, chance);
    if (!day->known)
        for (int form = 0; form < FORMS; form++)
            put(line, TODAY, form, _("No weather data for today."));
    else if (day->strength == STRENGTH_NONE)
        say_none(line, chance);
    else if (!day->has_window || day->strength == STRENGTH_WEEPING)
        say_weeping(line, volume, chance);
    else if (line->now < day->run_start)
        say_window(line, volume, chance);
    else if (line->now < day->run_end)
        say_under_way(line, volume, chance);
    else
        say_over(line, volume);
}

/* The low of the coming night: from the hours, else of the day it ends in. */
static bool tonight_c(const struct line *line, double *low_c)
{
    struct civil_time civil = bulletin_civil(line->bulletin, line->now);
    struct civil_date evening =
        civil_date_add(civil.date, civil.hour < NIGHT_OVER_H ? -1 : 0);
    const struct bulletin_day *after =
        bulletin_day(line->bulletin, civil_date_add(evening, 1));
    struct bulletin_night night;

    if (bulletin_night(line->bulletin, evening, &night)) {
        *low_c = night.min_c;
        return true;
    }
    if (after == NULL || !after->known)
        return false;
    *low_c = after->min_c;
    return true;
}

static void say_tonight(struct line *line)
{
    char low[PHRASE_SIZE];
    double low_c;

    if (!tonight_c(line, &low_c))
        return;
    phrase_temperature(low_c, line->units, low);
    put(line, TONIGHT, 0,
        low_c <= 0 ? _("Freezes tonight, to %s.")
                   : _("No freeze tonight, low %s."),
        low);
    put(line, TONIGHT, 1, _("%s tonight."), low);
}

static void say_tomorrow(struct line *line, const struct bulletin_day *day)
{
    const char *strength = phrase_strength(day->strength);
    char window[PHRASE_SIZE], volume[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, line->units, volume);
    phrase_chance(day->chance, chance);
    phrase_window(line->bulletin, day->run_start, day->run_end, window);
    if (day->has_window) {
        put(line, NEXT, 0, _("Tomorrow %s %s, %s, %s chance."), strength,
            window, volume, chance);
        put(line, NEXT, 1, _("Tomorrow %s %s, %s, %s."), strength, window,
            volume, chance);
    } else {
        put(line, NEXT, 0, _("Tomorrow %s, %s, %s chance."), strength, volume,
            chance);
        put(line, NEXT, 1, _("Tomorrow %s, %s, %s."), strength, volume, chance);
    }
    put(line, NEXT, 2, _("Tomorrow %s, %s."), strength, volume);
    put(line, NEXT, 3, _("Tomorrow %s."), strength);
}

static void say_later(struct line *line, const struct bulletin_day *day)
{
    const char *strength = phrase_strength(day->strength);
    char date[PHRASE_SIZE], volume[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, line->units, volume);
    phrase_chance(day->chance, chance);
    phrase_date(day->date, date);
    put(line, NEXT, 0, _("Next: %s %s, about %s, %s chance."), strength, date,
        volume, chance);
    put(line, NEXT, 1, _("Next: %s %s, %s chance."), strength, date, chance);
    put(line, NEXT, 2, _("Next: %s %s, %s."), strength, date, chance);
    put(line, NEXT, 3, _("Next run %s."), date);
}

static void say_nothing_ahead(struct line *line, struct civil_date last)
{
    char date[PHRASE_SIZE];
    bool today = line->day->strength >= STRENGTH_FAIR_RUN;

    phrase_date(last, date);
    put(line, NEXT, 0,
        today ? _("No other run through %s.")
              : _("No run in sight through %s."),
        date);
    put(line, NEXT, 1,
        today ? _("Then none through %s.") : _("None through %s."), date);
    put(line, NEXT, 2, today ? _("Then none.") : _("None in sight."));
    put(line, NEXT, 3, today ? _("Then none.") : _("None in sight."));
}

/* Tomorrow if it runs or weeps, else the next run, else how far there is
 * none. */
static void say_next(struct line *line)
{
    const struct bulletin *bulletin = line->bulletin;
    struct civil_date tomorrow = civil_date_add(line->today, 1);
    const struct bulletin_day *last = NULL;

    for (int i = 0; i < bulletin->day_count; i++) {
        const struct bulletin_day *day = &bulletin->days[i];
        bool is_tomorrow = civil_date_compare(day->date, tomorrow) == 0;

        if (!day->known || civil_date_compare(day->date, tomorrow) < 0)
            continue;
        last = day;
        if (is_tomorrow && day->strength >= STRENGTH_WEEPING) {
            say_tomorrow(line, day);
            return;
        }
        if (day->strength >= STRENGTH_FAIR_RUN) {
            say_later(line, day);
            return;
        }
    }
    if (last != NULL)
        say_nothing_ahead(line, last->date);
}

static void say_one_action(struct line *line,
                           const struct bulletin_action *action)
{
    struct bulletin_action bare = *action;
    char what[PHRASE_SIZE], when[PHRASE_SIZE], end[PHRASE_SIZE];
    bool under_way = !action->all_day && action->start <= line->now;

    bare.sap_l = 0;
    phrase_action_time(line->bulletin, action, line->today, when);
    phrase_end(line->bulletin, action->end, end);
    for (int form = 0; form < 2; form++) {
        phrase_action(form == 0 ? action : &bare, line->units, what);
        if (under_way)
            put(line, ACTION, form, _("%s until %s."), what, end);
        else
            /* What and when: "Boil 180 gal 18:00-22:00." */
            put(line, ACTION, form, _("%s %s."), what, when);
    }
}

/* The first thing to do today, tonight or tomorrow. */
static void say_action(struct line *line)
{
    const struct bulletin *bulletin = line->bulletin;

    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];
        utc_s start = action->all_day ? bulletin_noon(bulletin, action->date)
                                      : action->start;

        if (bulletin_action_over(bulletin, action, line->now) ||
            start > line->now + ACTION_AHEAD_S)
            continue;
        say_one_action(line, action);
        return;
    }
}

static void say_last_run(struct line *line, const struct bulletin_season *of)
{
    char first[PHRASE_SIZE];

    phrase_date(of->last_run_first, first);
    if (civil_date_compare(of->last_run_first, civil_date_add(line->today, 1)) >
        0)
        put(line, SEASON, 0, _("Likely the last good run from %s."), first);
    else
        put(line, SEASON, 0, _("Likely the last good run."));
    put(line, SEASON, 1, _("Likely the last good run."));
    put(line, SEASON, 2, _("Likely the last run."));
}

static void say_season(struct line *line)
{
    const struct bulletin_bush *bush;
    enum season_matter matter =
        season_matter(line->bulletin, line->today, &bush);
    char risk[PHRASE_SIZE];

    if (matter == SEASON_MATTERS_LAST_RUN)
        say_last_run(line, bush->season);
    if (matter == SEASON_MATTERS_BUDS) {
        phrase_chance(bulletin_season_day(bush, line->today)->off_flavour,
                      risk);
        put(line, SEASON, 0, _("Buds are near: off-flavour risk %s."), risk);
        put(line, SEASON, 1, _("Off-flavour risk %s."), risk);
        put(line, SEASON, 2, _("Buds are near."));
    }
    if (matter == SEASON_MATTERS_OVER)
        for (int form = 0; form < 3; form++)
            put(line, SEASON, form, _("The season is over."));
}

static void say_age(struct line *line)
{
    char age[PHRASE_SIZE];

    if (line->now - line->bulletin->weather_from < SHOW_OLD_S)
        return;
    if (line->bulletin->weather_from == 0) {
        snprintf(line->age, FORM_SIZE, "%s", _("No service has answered yet."));
        return;
    }
    bulletin_age_words(line->bulletin->weather_from, line->now, age,
                       sizeof age);
    snprintf(line->age, FORM_SIZE, _("Forecast %s."), age);
}

/* The sentences put side by side; the age first once it is a day. */
static void join(const struct line *line, const int form[SENTENCES], char *out,
                 size_t out_size)
{
    bool first = line->now - line->bulletin->weather_from >= SHOW_VERY_OLD_S;
    const char *parts[] = {first ? line->age : "",
                           line->forms[TODAY][form[TODAY]],
                           line->forms[ACTION][form[ACTION]],
                           line->forms[SEASON][form[SEASON]],
                           line->forms[TONIGHT][form[TONIGHT]],
                           line->forms[NEXT][form[NEXT]],
                           first ? "" : line->age};
    size_t used = 0;

    out[0] = '\0';
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (parts[i][0] == '\0' || used + 1 >= out_size)
            continue;
        snprintf(out + used, out_size - used, used > 0 ? " %s" : "%s",
                 parts[i]);
        used = strlen(out);
    }
}

/* A sentence and the blank before it; nothing for one that says nothing. */
static int with_blank(const char *sentence)
{
    return sentence[0] != '\0' ? 1 + utf8_columns(sentence) : 0;
}

static void measure(const struct line *line, int widths[SENTENCES][FORMS])
{
    for (int i = 0; i < SENTENCES; i++)
        for (int form = 0; form < FORMS; form++)
            widths[i][form] = with_blank(line->forms[i][form]);
}

/* Of all ways to say it the one that fits and loses least. */
static void fit(const struct line *line, int columns, int best[SENTENCES])
{
    int widths[SENTENCES][FORMS], least = -1;
    int age = with_blank(line->age) - 1;

    measure(line, widths);
    for (int n = 0; n < WAYS; n++) {
        int form[SENTENCES], loss = 0, total = age, rest = n;

        for (int i = SENTENCES - 1; i >= 0; i--, rest /= FORMS)
            form[i] = rest % FORMS;
        for (int i = 0; i < SENTENCES; i++) {
            loss += line->weights[i][form[i]];
            total += widths[i][form[i]];
        }
        if ((least < 0 || loss < least) && total <= columns) {
            least = loss;
            memcpy(best, form, sizeof form);
        }
    }
}

static void cut(char *words, int columns)
{
    size_t length = strlen(words);

    while (length > 0 && utf8_columns(words) > columns) {
        length = utf8_cut(words, length, length - 1);
        words[length] = '\0';
    }
}

static void say_run_out(const struct line *line, char *out, size_t out_size)
{
    char made[PHRASE_SIZE];

    phrase_moment(line->bulletin, line->bulletin->made, made);
    snprintf(out, out_size,
             line->now < line->bulletin->made
                 ? _("The forecast was made later, %s. Is the clock right?")
                 : _("The forecast of %s has run out. Is thawbelld running?"),
             made);
}

static void say_all(struct line *line, int columns, char *out, size_t out_size)
{
    int form[SENTENCES];

    for (int i = 0; i < SENTENCES; i++)
        form[i] = FORMS - 1;
    say_today(line);
    say_action(line);
    say_season(line);
    say_tonight(line);
    say_next(line);
    say_age(line);
    fit(line, columns, form);
    join(line, form, out, out_size);
}

void show_line(const struct bulletin *bulletin, utc_s now,
               const struct show_style *style, struct text *out)
{
    struct civil_time civil = bulletin_civil(bulletin, now);
    struct line line = {.bulletin = bulletin,
                        .now = now,
                        .units = style->units,
                        .today = civil.date,
                        .hour = civil.hour,
                        .day = bulletin_day(bulletin, civil.date),
                        .weights = weights_for_today};
    int columns = style->columns;
    char words[SENTENCES * FORM_SIZE];

    if (columns > LINE_COLUMNS || columns < LINE_MIN_COLUMNS)
        columns = LINE_COLUMNS;
    if (line.day == NULL)
        say_run_out(&line, words, sizeof words);
    else
        say_all(&line, columns, words, sizeof words);
    cut(words, columns);
    text_add(out, words);
}
