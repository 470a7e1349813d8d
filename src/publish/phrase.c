#include "publish/phrase.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "base/words.h"

const char *phrase_strength(enum strength strength)
{
    static const char *const words[STRENGTH_COUNT] = {
        N_("none"), N_("weeping"), N_("fair run"), N_("good run"),
        N_("big run")};

    return _(words[strength]);
}

const char *phrase_strength_first(enum strength strength)
{
    static const char *const words[STRENGTH_COUNT] = {
        N_("No run"), N_("Weeping"), N_("Fair run"), N_("Good run"),
        N_("Big run")};

    return _(words[strength]);
}

const char *phrase_strength_cell(enum strength strength)
{
    const char *const words[STRENGTH_COUNT] = {
        words_in("cell", "none"), words_in("cell", "weeping"),
        words_in("cell", "fair run"), words_in("cell", "good run"),
        words_in("cell", "big run")};

    return words[strength];
}

const char *phrase_species(enum species species)
{
    static const char *const words[SPECIES_COUNT] = {
        N_("sugar maple"),  N_("black maple"), N_("red maple"),
        N_("silver maple"), N_("box elder"),   N_("Norway maple")};

    return _(words[species]);
}

const char *phrase_gathering(enum gathering gathering)
{
    static const char *const words[GATHERING_COUNT] = {
        N_("buckets"), N_("gravity tubing"), N_("vacuum")};

    return _(words[gathering]);
}

const char *phrase_weekday(struct civil_date date)
{
    static const char *const words[] = {N_("Mon"), N_("Tue"), N_("Wed"),
                                        N_("Thu"), N_("Fri"), N_("Sat"),
                                        N_("Sun")};

    return _(words[civil_weekday(date)]);
}

static const char *month_word(int month)
{
    static const char *const words[] = {
        N_("Jan"), N_("Feb"), N_("Mar"), N_("Apr"), N_("May"), N_("Jun"),
        N_("Jul"), N_("Aug"), N_("Sep"), N_("Oct"), N_("Nov"), N_("Dec")};

    return _(words[month - 1]);
}

/* In a sentence French writes the month out: an abbreviation's point would
 * meet the sentence's own. */
static const char *month_cell_word(int month)
{
    const char *const words[] = {
        words_in("cell", "Jan"), words_in("cell", "Feb"),
        words_in("cell", "Mar"), words_in("cell", "Apr"),
        words_in("cell", "May"), words_in("cell", "Jun"),
        words_in("cell", "Jul"), words_in("cell", "Aug"),
        words_in("cell", "Sep"), words_in("cell", "Oct"),
        words_in("cell", "Nov"), words_in("cell", "Dec")};

    return words[month - 1];
}

void phrase_date(struct civil_date date, char out[PHRASE_SIZE])
{
    /* Weekday, day, month: "Sat 7 Mar". */
    snprintf(out, PHRASE_SIZE, _("%s %d %s"), phrase_weekday(date), date.day,
             month_word(date.month));
}

void phrase_date_cell(struct civil_date date, char out[PHRASE_SIZE])
{
    snprintf(out, PHRASE_SIZE, _("%s %d %s"), phrase_weekday(date), date.day,
             month_cell_word(date.month));
}

void phrase_hour(int hour, int minute, char out[PHRASE_SIZE])
{
    if (minute == 0)
        /* A full hour: "10:00". */
        snprintf(out, PHRASE_SIZE, _("%02d:00"), hour);
    else
        snprintf(out, PHRASE_SIZE, _("%02d:%02d"), hour, minute);
}

void phrase_clock(const struct bulletin *bulletin, utc_s instant,
                  char out[PHRASE_SIZE])
{
    struct civil_time civil = bulletin_civil(bulletin, instant);

    phrase_hour(civil.hour, civil.minute, out);
}

void phrase_end(const struct bulletin *bulletin, utc_s instant,
                char out[PHRASE_SIZE])
{
    struct civil_time civil = bulletin_civil(bulletin, instant);

    if (civil.hour == 0 && civil.minute == 0)
        snprintf(out, PHRASE_SIZE, "%s", _("24:00"));
    else
        phrase_clock(bulletin, instant, out);
}

void phrase_window(const struct bulletin *bulletin, utc_s start, utc_s end,
                   char out[PHRASE_SIZE])
{
    char from[PHRASE_SIZE], to[PHRASE_SIZE];

    phrase_clock(bulletin, start, from);
    phrase_end(bulletin, end, to);
    /* From hour to hour: "10:00-17:00". */
    snprintf(out, PHRASE_SIZE, _("%.20s-%.20s"), from, to);
}

void phrase_moment(const struct bulletin *bulletin, utc_s instant,
                   char out[PHRASE_SIZE])
{
    char date[PHRASE_SIZE], clock[PHRASE_SIZE];

    phrase_date(bulletin_date(bulletin, instant), date);
    phrase_clock(bulletin, instant, clock);
    /* Date and hour: "Fri 6 Mar 18:10". */
    snprintf(out, PHRASE_SIZE, _("%.30s %.20s"), date, clock);
}

void phrase_chance(double chance, char out[PHRASE_SIZE])
{
    int percent = 5 * (int)lround(chance * 20);

    if (percent < 5)
        snprintf(out, PHRASE_SIZE, "%s", _("under 5%"));
    else if (percent > 95)
        snprintf(out, PHRASE_SIZE, "%s", _("over 95%"));
    else
        snprintf(out, PHRASE_SIZE, _("%d%%"), percent);
}

void phrase_chance_short(double chance, char out[PHRASE_SIZE])
{
    int percent = 5 * (int)lround(chance * 20);

    if (percent < 5)
        snprintf(out, PHRASE_SIZE, "%s", words_in("short", "under 5%"));
    else if (percent > 95)
        snprintf(out, PHRASE_SIZE, "%s", words_in("short", "over 95%"));
    else
        phrase_chance(chance, out);
}

void phrase_share(double share, char out[PHRASE_SIZE])
{
    snprintf(out, PHRASE_SIZE, _("%d%%"), (int)lround(share * 100));
}

/* The step to which a volume is told, in the unit shown: 1 below 10, 5 below
 * 100, 10 below 1000 and so on; finer below 3. A forecast is no more exact,
 * and a figure that trembles with each run of the weather model would disturb
 * whoever subscribes. */
static double volume_step(double volume)
{
    double step = 10;

    if (volume < 1)
        return 0.1;
    if (volume < 3)
        return 0.5;
    if (volume < 10)
        return 1;
    if (volume < 100)
        return 5;
    while (volume >= step * 100)
        step *= 10;
    return step;
}

/* The figure without its unit, in the unit shown. */
static void volume_figure(double volume_l, enum unit_system units,
                          char out[PHRASE_SIZE])
{
    double volume = units == UNITS_US ? volume_l / L_PER_US_GALLON : volume_l;
    double step = volume_step(volume);
    double told = step * round(volume / step);

    number_format(told, told < 10 && fabs(told - round(told)) > 0.01, out);
}

void phrase_volume(double volume_l, enum unit_system units,
                   char out[PHRASE_SIZE])
{
    char figure[PHRASE_SIZE];

    volume_figure(volume_l, units, figure);
    snprintf(out, PHRASE_SIZE,
             units == UNITS_US ? _("%.30s gal") : _("%.30s L"), figure);
}

void phrase_volume_range(double low_l, double high_l, enum unit_system units,
                         char out[PHRASE_SIZE])
{
    char low[PHRASE_SIZE], high[PHRASE_SIZE];

    volume_figure(low_l, units, low);
    volume_figure(high_l, units, high);
    /* From volume to volume: "60-190". */
    snprintf(out, PHRASE_SIZE, _("%.24s-%.24s"), low, high);
}

void phrase_temperature(double temp_c, enum unit_system units,
                        char out[PHRASE_SIZE])
{
    int degrees = (int)lround(units == UNITS_US ? f_from_c(temp_c) : temp_c);

    snprintf(out, PHRASE_SIZE, units == UNITS_US ? _("%d F") : _("%d C"),
             degrees);
}

void phrase_heat(double temp_c, enum unit_system units, char out[PHRASE_SIZE])
{
    char figure[QUANTITY_SIZE];

    number_format(units == UNITS_US ? f_from_c(temp_c) : temp_c, 1, figure);
    snprintf(out, PHRASE_SIZE, units == UNITS_US ? _("%.30s F") : _("%.30s C"),
             figure);
}

void phrase_temperature_span(double span_k, enum unit_system units,
                             char out[PHRASE_SIZE])
{
    double span = units == UNITS_US ? span_k * 9 / 5 : span_k;

    snprintf(out, PHRASE_SIZE, units == UNITS_US ? _("%.0f F") : _("%.0f C"),
             span);
}

void phrase_degree_hours(double degree_hours_k, enum unit_system units,
                         char out[PHRASE_SIZE])
{
    double sum = units == UNITS_US ? degree_hours_k * 9 / 5 : degree_hours_k;

    snprintf(out, PHRASE_SIZE,
             units == UNITS_US ? _("%.0f F-hours") : _("%.0f C-hours"), sum);
}

void phrase_per_tap(double volume_l, enum unit_system units,
                    char out[PHRASE_SIZE])
{
    double volume = units == UNITS_US ? volume_l / L_PER_US_GALLON : volume_l;
    int decimals = volume < 0.005 ? 0 : volume < 0.095 ? 2 : 1;
    char figure[QUANTITY_SIZE];

    number_format(volume, decimals, figure);
    snprintf(out, PHRASE_SIZE,
             units == UNITS_US ? _("%.30s gal") : _("%.30s L"), figure);
}

char *phrase_trouble(const struct bulletin *bulletin,
                     const struct bulletin_source *source)
{
    char since[PHRASE_SIZE];

    if (source->trouble_since == 0)
        return mem_format(_("%s: %s"), source->name, source->trouble);
    phrase_moment(bulletin, source->trouble_since, since);
    return mem_format(_("%s, since %s: %s"), source->name, since,
                      source->trouble);
}

void phrase_action(const struct bulletin_action *action, enum unit_system units,
                   char out[PHRASE_SIZE])
{
    bool told = action->sap_l > 0;
    char volume[PHRASE_SIZE];

    phrase_volume(action->sap_l, units, volume);
    if (action->kind == ACTION_COLLECT && told)
        snprintf(out, PHRASE_SIZE, _("Collect %.40s"), volume);
    else if (action->kind == ACTION_COLLECT)
        snprintf(out, PHRASE_SIZE, "%s", _("Collect"));
    else if (action->kind == ACTION_BOIL && told)
        snprintf(out, PHRASE_SIZE, _("Boil %.40s"), volume);
    else if (action->kind == ACTION_BOIL)
        snprintf(out, PHRASE_SIZE, "%s", _("Boil"));
    else if (action->kind == ACTION_TAP && action->bush[0] != '\0')
        snprintf(out, PHRASE_SIZE, _("Tap %.40s"), action->bush);
    else if (action->kind == ACTION_TAP)
        snprintf(out, PHRASE_SIZE, "%s", _("Tap the trees"));
    else if (action->bush[0] != '\0')
        snprintf(out, PHRASE_SIZE, _("Pull the taps of %.40s"), action->bush);
    else
        snprintf(out, PHRASE_SIZE, "%s", _("Pull the taps"));
}

void phrase_action_time(const struct bulletin *bulletin,
                        const struct bulletin_action *action,
                        struct civil_date today, char out[PHRASE_SIZE])
{
    bool is_today = civil_date_compare(action->date, today) == 0;
    char date[PHRASE_SIZE], window[PHRASE_SIZE];

    phrase_date(action->date, date);
    phrase_window(bulletin, action->start, action->end, window);
    if (action->all_day && is_today)
        snprintf(out, PHRASE_SIZE, "%s", _("today"));
    else if (action->all_day)
        snprintf(out, PHRASE_SIZE, "%s", date);
    else if (is_today)
        snprintf(out, PHRASE_SIZE, "%s", window);
    else
        /* Date and hours: "Sat 7 Mar 18:00-22:00". */
        snprintf(out, PHRASE_SIZE, _("%.30s %.30s"), date, window);
}
