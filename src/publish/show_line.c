/* The line: what is to be done, what today brings, what of the season matters,
 * tonight's frost, what comes next, and the age of the forecast when it is old.
 * Each sentence has forms from long to short, and the line takes the longest
 * that fit. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "publish/phrase.h"
#include "publish/season_words.h"
#include "publish/show_line.h"

enum {
    LINE_COLUMNS = 80,
    LINE_MIN_COLUMNS = 20,
    WAYS = LINE_FORMS * LINE_FORMS * LINE_FORMS * LINE_FORMS * LINE_FORMS,
    NIGHT_OVER_H = 4, /* till then "tonight" is the night under way */
    EVENING_H = 18    /* from then on today will not change */
};

/* What is lost with each form, from the longest to the shortest. Ours: they
 * settle what gives way first when the line is too long. */
static const int weights_for_today[LINE_SENTENCES][LINE_FORMS] = {
    {0, 1, 6, 20, 33},
    {0, 2, 40, 40, 40},
    {0, 1, 2, 30, 30},
    {0, 1, 9, 9, 9},
    {0, 1, 3, 5, 12}};
/* When there is nothing more to come today. */
static const int weights_for_later[LINE_SENTENCES][LINE_FORMS] = {
    {0, 1, 1, 2, 2},
    {0, 2, 40, 40, 40},
    {0, 1, 2, 30, 30},
    {0, 2, 9, 9, 9},
    {0, 1, 6, 9, 20}};

/* Why there is no plan is the same every day, and may go before today's run
 * does. */
static const int weights_of_lack[LINE_FORMS] = {0, 1, 12, 12, 12};

void line_put(struct line *line, enum line_sentence sentence, int form,
              const char *format, ...)
{
    va_list values;

    va_start(values, format);
    vsnprintf(line->forms[sentence][form], LINE_FORM_SIZE, format, values);
    va_end(values);
    /* Today is never passed over in silence. */
    if (sentence == LINE_TODAY && form == LINE_FORMS - 2)
        memcpy(line->forms[LINE_TODAY][LINE_FORMS - 1],
               line->forms[LINE_TODAY][form], LINE_FORM_SIZE);
}

static void say_window(struct line *line, const char *volume,
                       const char *chance)
{
    const struct bulletin_day *day = line->day;
    const char *strength = phrase_strength_first(day->strength);
    char window[PHRASE_SIZE];

    phrase_window(line->bulletin, day->run_start, day->run_end, window);
    line_put(line, LINE_TODAY, 0, _("%s today %s, about %s, %s chance."),
             strength, window, volume, chance);
    line_put(line, LINE_TODAY, 1, _("%s today %s, %s, %s chance."), strength,
             window, volume, chance);
    line_put(line, LINE_TODAY, 2, _("%s today %s, %s, %s."), strength, window,
             volume, chance);
    line_put(line, LINE_TODAY, 3, _("%s %s."), strength, window);
}

static void say_under_way(struct line *line, const char *volume,
                          const char *chance)
{
    const char *strength = phrase_strength_first(line->day->strength);
    char end[PHRASE_SIZE];

    phrase_end(line->bulletin, line->day->run_end, end);
    line_put(line, LINE_TODAY, 0, _("%s until %s, about %s today, %s chance."),
             strength, end, volume, chance);
    line_put(line, LINE_TODAY, 1, _("%s until %s, %s, %s chance."), strength,
             end, volume, chance);
    line_put(line, LINE_TODAY, 2, _("%s until %s, %s, %s."), strength, end,
             volume, chance);
    line_put(line, LINE_TODAY, 3, _("%s until %s."), strength, end);
}

static void say_over(struct line *line, const char *volume)
{
    const char *strength = phrase_strength_first(line->day->strength);
    char end[PHRASE_SIZE];

    line->weights = weights_for_later;
    phrase_end(line->bulletin, line->day->run_end, end);
    line_put(line, LINE_TODAY, 0, _("%s today, over since %s, about %s."),
             strength, end, volume);
    line_put(line, LINE_TODAY, 1, _("%s today, over, about %s."), strength,
             volume);
    line_put(line, LINE_TODAY, 2, _("Today's run is over."));
    line_put(line, LINE_TODAY, 3, _("Run over."));
}

static void say_weeping(struct line *line, const char *volume,
                        const char *chance)
{
    const char *strength = phrase_strength_first(line->day->strength);

    line_put(line, LINE_TODAY, 0, _("%s today, about %s, %s chance of a run."),
             strength, volume, chance);
    line_put(line, LINE_TODAY, 1, _("%s today, %s, %s chance of a run."),
             strength, volume, chance);
    line_put(line, LINE_TODAY, 2, _("%s today, %s."), strength, volume);
    line_put(line, LINE_TODAY, 3, _("%s today."), strength);
}

static void say_none(struct line *line, const char *chance)
{
    bool open = line->day->chance >= 0.05 && line->hour < EVENING_H;

    line->weights = weights_for_later;
    if (open)
        line_put(line, LINE_TODAY, 0, _("No run likely today, %s chance."),
                 chance);
    else
        line_put(line, LINE_TODAY, 0, _("No run today."));
    line_put(line, LINE_TODAY, 1,
             open ? _("No run likely today.") : _("No run today."));
    line_put(line, LINE_TODAY, 2, _("No run today."));
    line_put(line, LINE_TODAY, 3, _("No run."));
}

/* In a narrow line what is to be done today goes before the run's hours and
 * amount, but not before the run; the plan of an old forecast does not. */
static void say_run_alone(struct line *line)
{
    if (line->due && line->now - line->bulletin->weather_from < SHOW_VERY_OLD_S)
        line_put(line, LINE_TODAY, LINE_FORMS - 1, _("%s."),
                 phrase_strength_first(line->day->strength));
}

static void say_run(struct line *line, const char *volume, const char *chance)
{
    if (!line->day->has_window || line->day->strength == STRENGTH_WEEPING)
        say_weeping(line, volume, chance);
    else if (line->now < line->day->run_start)
        say_window(line, volume, chance);
    else
        say_under_way(line, volume, chance);
    say_run_alone(line);
}

static void say_today(struct line *line)
{
    const struct bulletin_day *day = line->day;
    char volume[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, line->units, volume);
    phrase_chance(day->chance, chance);
    if (!day->known)
        for (int form = 0; form < LINE_FORMS; form++)
            line_put(line, LINE_TODAY, form, _("No weather data for today."));
    else if (day->strength == STRENGTH_NONE)
        say_none(line, chance);
    else if (day->has_window && day->strength != STRENGTH_WEEPING &&
             line->now >= day->run_end)
        say_over(line, volume);
    else
        say_run(line, volume, chance);
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
    line_put(line, LINE_TONIGHT, 0,
             low_c <= 0 ? _("Freezes tonight, to %s.")
                        : _("No freeze tonight, low %s."),
             low);
    line_put(line, LINE_TONIGHT, 1, _("%s tonight."), low);
}

static void say_tomorrow(struct line *line, const struct bulletin_day *day)
{
    const char *strength = phrase_strength(day->strength);
    char window[PHRASE_SIZE], volume[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, line->units, volume);
    phrase_chance(day->chance, chance);
    phrase_window(line->bulletin, day->run_start, day->run_end, window);
    if (day->has_window) {
        line_put(line, LINE_NEXT, 0, _("Tomorrow %s %s, %s, %s chance."),
                 strength, window, volume, chance);
        line_put(line, LINE_NEXT, 1, _("Tomorrow %s %s, %s, %s."), strength,
                 window, volume, chance);
    } else {
        line_put(line, LINE_NEXT, 0, _("Tomorrow %s, %s, %s chance."), strength,
                 volume, chance);
        line_put(line, LINE_NEXT, 1, _("Tomorrow %s, %s, %s."), strength,
                 volume, chance);
    }
    line_put(line, LINE_NEXT, 2, _("Tomorrow %s, %s."), strength, volume);
    line_put(line, LINE_NEXT, 3, _("Tomorrow %s."), strength);
}

static void say_later(struct line *line, const struct bulletin_day *day)
{
    const char *strength = phrase_strength(day->strength);
    char date[PHRASE_SIZE], volume[PHRASE_SIZE], chance[PHRASE_SIZE];

    phrase_volume(day->sap_l_p50, line->units, volume);
    phrase_chance(day->chance, chance);
    phrase_date(day->date, date);
    line_put(line, LINE_NEXT, 0, _("Next: %s %s, about %s, %s chance."),
             strength, date, volume, chance);
    line_put(line, LINE_NEXT, 1, _("Next: %s %s, %s chance."), strength, date,
             chance);
    line_put(line, LINE_NEXT, 2, _("Next: %s %s, %s."), strength, date, chance);
    line_put(line, LINE_NEXT, 3, _("Next run %s."), date);
}

static void say_nothing_ahead(struct line *line, struct civil_date last)
{
    char date[PHRASE_SIZE];
    bool today = line->day->strength >= STRENGTH_FAIR_RUN;

    phrase_date(last, date);
    line_put(line, LINE_NEXT, 0,
             today ? _("No other run through %s.")
                   : _("No run in sight through %s."),
             date);
    line_put(line, LINE_NEXT, 1,
             today ? _("Then none through %s.") : _("No run through %s."),
             date);
    line_put(line, LINE_NEXT, 2,
             today ? _("Then none.") : _("No run in sight."));
    line_put(line, LINE_NEXT, 3,
             today ? _("Then none.") : _("No run in sight."));
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

static void say_last_run(struct line *line, const struct bulletin_season *of)
{
    char first[PHRASE_SIZE];

    phrase_date(of->last_run_first, first);
    if (civil_date_compare(of->last_run_first, civil_date_add(line->today, 1)) >
        0)
        line_put(line, LINE_SEASON, 0, _("Likely the last good run from %s."),
                 first);
    else
        line_put(line, LINE_SEASON, 0, _("Likely the last good run."));
    line_put(line, LINE_SEASON, 1, _("Likely the last good run."));
    line_put(line, LINE_SEASON, 2, _("Likely the last run."));
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
        line_put(line, LINE_SEASON, 0, _("Buds are near: off-flavour risk %s."),
                 risk);
        line_put(line, LINE_SEASON, 1, _("Off-flavour risk %s."), risk);
        line_put(line, LINE_SEASON, 2, _("Buds are near."));
    }
    if (matter == SEASON_MATTERS_OVER)
        for (int form = 0; form < 3; form++)
            line_put(line, LINE_SEASON, form, _("The season is over."));
}

static void say_age(struct line *line)
{
    char age[PHRASE_SIZE];

    if (line->now - line->bulletin->weather_from < SHOW_OLD_S)
        return;
    if (line->bulletin->weather_from == 0) {
        snprintf(line->age, LINE_FORM_SIZE, "%s",
                 _("No service has answered yet."));
        return;
    }
    bulletin_age_words(line->bulletin->weather_from, line->now, age,
                       sizeof age);
    snprintf(line->age, LINE_FORM_SIZE, _("Forecast %s."), age);
}

/* The sentences put side by side; the age first once it is a day, why there is
 * no plan last. */
static void join(const struct line *line, const int form[LINE_SENTENCES],
                 char *out, size_t out_size)
{
    bool first = line->now - line->bulletin->weather_from >= SHOW_VERY_OLD_S;
    const char *action = line->forms[LINE_ACTION][form[LINE_ACTION]];
    const char *parts[] = {first ? line->age : "",
                           line->lacks ? "" : action,
                           line->forms[LINE_TODAY][form[LINE_TODAY]],
                           line->forms[LINE_SEASON][form[LINE_SEASON]],
                           line->forms[LINE_TONIGHT][form[LINE_TONIGHT]],
                           line->forms[LINE_NEXT][form[LINE_NEXT]],
                           line->lacks ? action : "",
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

static void measure(const struct line *line,
                    int widths[LINE_SENTENCES][LINE_FORMS])
{
    for (int i = 0; i < LINE_SENTENCES; i++)
        for (int form = 0; form < LINE_FORMS; form++)
            widths[i][form] = with_blank(line->forms[i][form]);
}

/* Of all ways to say it the one that fits and loses least. */
static void fit(const struct line *line, int columns, int best[LINE_SENTENCES])
{
    int widths[LINE_SENTENCES][LINE_FORMS], least = -1;
    int age = with_blank(line->age) - 1;

    measure(line, widths);
    for (int n = 0; n < WAYS; n++) {
        int form[LINE_SENTENCES] = {0}, loss = 0, total = age, rest = n;

        for (int i = LINE_SENTENCES - 1; i >= 0; i--, rest /= LINE_FORMS)
            form[i] = rest % LINE_FORMS;
        for (int i = 0; i < LINE_SENTENCES; i++) {
            loss += line->lacks && i == LINE_ACTION ? weights_of_lack[form[i]]
                                                    : line->weights[i][form[i]];
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
    int form[LINE_SENTENCES];

    for (int i = 0; i < LINE_SENTENCES; i++)
        form[i] = LINE_FORMS - 1;
    line_say_action(line);
    say_today(line);
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
    char words[LINE_SENTENCES * LINE_FORM_SIZE];

    if (columns > LINE_COLUMNS || columns < LINE_MIN_COLUMNS)
        columns = LINE_COLUMNS;
    if (line.day == NULL)
        say_run_out(&line, words, sizeof words);
    else
        say_all(&line, columns, words, sizeof words);
    cut(words, columns);
    text_add(out, words);
}
