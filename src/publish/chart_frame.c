#include "publish/chart_frame.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/decimal.h"
#include "base/words.h"

utc_s chart_midnight(const struct bulletin *bulletin, struct civil_date date)
{
    utc_s guess = bulletin_noon(bulletin, date) - SECONDS_PER_DAY / 2;
    struct civil_time civil = bulletin_civil(bulletin, guess);
    utc_s past = civil.hour * SECONDS_PER_HOUR + civil.minute * 60;

    /* The clock changed in the morning: the guess is off by as much. */
    return civil_date_compare(civil.date, date) < 0
               ? guess + SECONDS_PER_DAY - past
               : guess - past;
}

double chart_x(const struct chart *chart, utc_s instant)
{
    double share =
        (double)(instant - chart->from) / (double)(chart->to - chart->from);

    share = fmin(1, fmax(0, share));
    return chart->left + share * (chart->right - chart->left);
}

double chart_y(const struct chart_panel *panel, double value)
{
    double share = (value - panel->low) / (panel->high - panel->low);

    share = fmin(1, fmax(0, share));
    return panel->bottom - share * (panel->bottom - panel->top);
}

utc_s chart_hour(const struct chart *chart, int hour)
{
    return chart->from + (utc_s)hour * SECONDS_PER_HOUR;
}

double chart_step(double span, int most)
{
    static const double steps[] = {1, 2, 2.5, 5};
    double decade = 0.1;
    int i = 0;

    while (span / (steps[i] * decade) > most) {
        i = (i + 1) % 4;
        decade *= i == 0 ? 10 : 1;
    }
    return steps[i] * decade;
}

double chart_freezing(const struct chart *chart)
{
    return chart->style->units == UNITS_US ? 32 : 0;
}

void chart_air_title(const struct chart *chart, char out[CHART_TITLE_SIZE])
{
    char freezing[PHRASE_SIZE];

    phrase_temperature(0, chart->style->units, freezing);
    if (chart_knows(chart, CHART_AIR))
        snprintf(out, CHART_TITLE_SIZE,
                 _("Air; the heavy line is freezing, %s"), freezing);
    else
        snprintf(out, CHART_TITLE_SIZE, "%s", _("Air: not known"));
}

static void widen(const struct chart *chart, enum chart_quantity quantity,
                  struct chart_panel *panel)
{
    const double *values = chart->values[quantity];

    for (int i = 0; i <= chart->hours; i++)
        if (chart->known[quantity][i]) {
            panel->low = fmin(panel->low, values[i]);
            panel->high = fmax(panel->high, values[i]);
        }
}

/* The ends on whole steps, so that the labels name them. */
static void round_ends(struct chart_panel *panel)
{
    double step = chart_step(panel->high - panel->low, CHART_TICKS);

    panel->low = step * floor(panel->low / step);
    panel->high = step * ceil(panel->high / step);
}

void chart_scale(struct chart *chart)
{
    double zero = chart_freezing(chart);

    chart->air.low = zero - 2;
    chart->air.high = zero + 2;
    widen(chart, CHART_AIR, &chart->air);
    widen(chart, CHART_AIR_P10, &chart->air);
    widen(chart, CHART_AIR_P90, &chart->air);
    round_ends(&chart->air);
    chart->flow.low = 0;
    chart->flow.high = 1;
    widen(chart, CHART_FLOW_P90, &chart->flow);
    round_ends(&chart->flow);
}

bool chart_shows(const struct chart *chart,
                 const struct bulletin_action *action)
{
    return !action->all_day && action->end > chart->from &&
           action->start < chart->to &&
           (action->kind == ACTION_COLLECT || action->kind == ACTION_BOIL);
}

bool chart_knows(const struct chart *chart, enum chart_quantity quantity)
{
    for (int i = 0; i < chart->hours; i++)
        if (chart->known[quantity][i])
            return true;
    return false;
}

void chart_write_hours(struct chart *chart)
{
    for (int hour = 0; hour <= chart->hours; hour++) {
        char words[DECIMAL_SIZE];
        size_t length =
            decimal_write(chart_x(chart, chart_hour(chart, hour)), 1, words);

        length = length < CHART_X_SIZE ? length : CHART_X_SIZE - 1;
        memcpy(chart->x[hour], words, length);
        chart->x[hour][length] = '\0';
    }
}

static void add_point(const struct chart *chart,
                      const struct chart_panel *panel, int hour, double value,
                      bool first)
{
    char point[CHART_X_SIZE + DECIMAL_SIZE + 2], *end = point;

    *end++ = first ? 'M' : 'L';
    for (const char *x = chart->x[hour]; *x != '\0'; x++)
        *end++ = *x;
    *end++ = ' ';
    end += decimal_write(chart_y(panel, value), 1, end);
    text_add_bytes(chart->out, point, (size_t)(end - point));
}

void chart_add_line(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity quantity, const char *css_class)
{
    bool open = false;

    text_addf(chart->out, "<path class=\"%s\" d=\"", css_class);
    for (int i = 0; i <= chart->hours; i++) {
        bool known = chart->known[quantity][i];

        if (known)
            add_point(chart, panel, i, chart->values[quantity][i], !open);
        open = known;
    }
    text_add(chart->out, "\"/>\n");
}

int chart_stretch(const struct chart *chart, enum chart_quantity low,
                  enum chart_quantity high, int first)
{
    int hour = first;

    while (hour <= chart->hours && chart->known[low][hour] &&
           chart->known[high][hour])
        hour++;
    return hour - first;
}

void chart_add_band(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity low, enum chart_quantity high,
                    const char *css_class)
{
    text_addf(chart->out, "<path class=\"%s\" d=\"", css_class);
    for (int i = 0; i <= chart->hours; i++) {
        int count = chart_stretch(chart, low, high, i);

        for (int hour = i; hour < i + count; hour++)
            add_point(chart, panel, hour, chart->values[high][hour], hour == i);
        for (int hour = i + count - 1; hour >= i; hour--)
            add_point(chart, panel, hour, chart->values[low][hour], false);
        text_add(chart->out, count > 0 ? "Z" : "");
        i += count;
    }
    text_add(chart->out, "\"/>\n");
}

void chart_add_area(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity quantity, double base,
                    const char *css_class, const char *clip_id)
{
    text_addf(chart->out, "<path class=\"%s\"", css_class);
    if (clip_id != NULL)
        text_addf(chart->out, " clip-path=\"url(#%s-%s)\"", chart->style->id,
                  clip_id);
    text_add(chart->out, " d=\"");
    for (int i = 0; i <= chart->hours; i++) {
        int count = chart_stretch(chart, quantity, quantity, i);

        if (count == 0)
            continue;
        add_point(chart, panel, i, base, true);
        for (int hour = i; hour < i + count; hour++)
            add_point(chart, panel, hour, chart->values[quantity][hour], false);
        add_point(chart, panel, i + count - 1, base, false);
        text_add(chart->out, "Z");
        i += count;
    }
    text_add(chart->out, "\"/>\n");
}
