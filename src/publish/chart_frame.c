#include "publish/chart_frame.h"

#include <math.h>

#include "base/units.h"

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

int chart_hours(const struct chart *chart)
{
    return (int)((chart->to - chart->from) / SECONDS_PER_HOUR);
}

static bool air_at(const struct chart *chart, enum chart_quantity quantity,
                   utc_s hour, double *out)
{
    const struct bulletin *bulletin = chart->bulletin;

    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        const struct outlook *outlook = bush->outlook;
        const double *values = quantity == CHART_AIR ? bush->air_temp_c
                               : quantity == CHART_AIR_P10
                                   ? outlook->air_temp_c_p10
                                   : outlook->air_temp_c_p90;
        utc_s row = (hour - outlook->start) / SECONDS_PER_HOUR;

        if (bush->air_temp_c == NULL)
            continue;
        if (values == NULL || hour < outlook->start || row >= outlook->hours ||
            !bush->air_known[row])
            return false;
        *out = chart->style->units == UNITS_US ? f_from_c(values[row])
                                               : values[row];
        return true;
    }
    return false;
}

static const double *flow_of(const struct outlook *outlook,
                             enum chart_quantity quantity)
{
    return quantity == CHART_FLOW       ? outlook->sap_l_per_tap
           : quantity == CHART_FLOW_P10 ? outlook->sap_l_per_tap_p10
                                        : outlook->sap_l_per_tap_p90;
}

/* A bush gives no figure for an hour past its days with weather. */
static bool flow_known(const struct chart *chart,
                       const struct bulletin_bush *bush, utc_s hour)
{
    const struct outlook_day *day =
        bulletin_bush_day(bush, bulletin_date(chart->bulletin, hour));

    return day != NULL && day->known;
}

static bool flow_at(const struct chart *chart, enum chart_quantity quantity,
                    utc_s hour, double *out)
{
    const struct bulletin *bulletin = chart->bulletin;
    bool known = false;

    *out = 0;
    for (int i = 0; i < bulletin->bush_count; i++) {
        const struct bulletin_bush *bush = &bulletin->bushes[i];
        const struct outlook *outlook = bush->outlook;
        const double *values = flow_of(outlook, quantity);
        utc_s row = (hour - outlook->start) / SECONDS_PER_HOUR;

        if (values == NULL || hour < outlook->start || row >= outlook->hours ||
            !flow_known(chart, bush, hour))
            continue;
        *out += bush->taps * values[row];
        known = true;
    }
    if (chart->style->units == UNITS_US)
        *out /= L_PER_US_GALLON;
    return known;
}

/* The plan's levels are those at the end of each hour. */
static bool level_at(const struct chart *chart, bool tanks, utc_s hour,
                     double *out)
{
    const struct bulletin_plan *plan = &chart->bulletin->plan;
    const double *levels_l = tanks ? plan->tanks_l : plan->buckets_l;
    double hold_l = tanks ? plan->tanks_hold_l : plan->buckets_hold_l;
    utc_s row = (hour - plan->start) / SECONDS_PER_HOUR - 1;

    if (levels_l == NULL || hold_l <= 0 || hour <= plan->start ||
        row >= plan->hours)
        return false;
    *out = 100 * levels_l[row] / hold_l;
    return true;
}

bool chart_value(const struct chart *chart, enum chart_quantity quantity,
                 utc_s hour, double *out)
{
    if (quantity <= CHART_AIR_P90)
        return air_at(chart, quantity, hour, out);
    if (quantity <= CHART_FLOW_P90)
        return flow_at(chart, quantity, hour, out);
    return level_at(chart, quantity == CHART_TANKS, hour, out);
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

static void widen(const struct chart *chart, enum chart_quantity quantity,
                  struct chart_panel *panel)
{
    double value;

    for (int i = 0; i <= chart_hours(chart); i++)
        if (chart_value(chart, quantity,
                        chart->from + (utc_s)i * SECONDS_PER_HOUR, &value)) {
            panel->low = fmin(panel->low, value);
            panel->high = fmax(panel->high, value);
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
    double value;

    for (int i = 0; i < chart_hours(chart); i++)
        if (chart_value(chart, quantity,
                        chart->from + (utc_s)i * SECONDS_PER_HOUR, &value))
            return true;
    return false;
}

static void add_point(const struct chart *chart,
                      const struct chart_panel *panel, utc_s hour, double value,
                      bool first)
{
    text_addf(chart->out, "%c%.1f %.1f", first ? 'M' : 'L',
              chart_x(chart, hour), chart_y(panel, value));
}

void chart_add_line(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity quantity, const char *css_class)
{
    bool open = false;
    double value;

    text_addf(chart->out, "<path class=\"%s\" d=\"", css_class);
    for (int i = 0; i <= chart_hours(chart); i++) {
        utc_s hour = chart->from + (utc_s)i * SECONDS_PER_HOUR;
        bool known = chart_value(chart, quantity, hour, &value);

        if (known)
            add_point(chart, panel, hour, value, !open);
        open = known;
    }
    text_add(chart->out, "\"/>\n");
}

/* Hours from `first` on that know both; 0 if none. */
static int stretch(const struct chart *chart, enum chart_quantity low,
                   enum chart_quantity high, int first)
{
    int count = 0;
    double value;

    while (first + count <= chart_hours(chart)) {
        utc_s hour = chart->from + (utc_s)(first + count) * SECONDS_PER_HOUR;

        if (!chart_value(chart, low, hour, &value) ||
            !chart_value(chart, high, hour, &value))
            break;
        count++;
    }
    return count;
}

void chart_add_band(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity low, enum chart_quantity high,
                    const char *css_class)
{
    double value = 0;

    text_addf(chart->out, "<path class=\"%s\" d=\"", css_class);
    for (int i = 0; i <= chart_hours(chart); i++) {
        int count = stretch(chart, low, high, i);

        for (int side = 0; side < 2 * count; side++) {
            int row = side < count ? side : 2 * count - 1 - side;
            utc_s hour = chart->from + (utc_s)(i + row) * SECONDS_PER_HOUR;

            chart_value(chart, side < count ? high : low, hour, &value);
            add_point(chart, panel, hour, value, side == 0);
        }
        text_add(chart->out, count > 0 ? "Z" : "");
        i += count;
    }
    text_add(chart->out, "\"/>\n");
}

void chart_add_area(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity quantity, double base,
                    const char *css_class, const char *clip_id)
{
    double value = 0;

    text_addf(chart->out, "<path class=\"%s\"", css_class);
    if (clip_id != NULL)
        text_addf(chart->out, " clip-path=\"url(#%s-%s)\"", chart->style->id,
                  clip_id);
    text_add(chart->out, " d=\"");
    for (int i = 0; i <= chart_hours(chart); i++) {
        int count = stretch(chart, quantity, quantity, i);

        if (count == 0)
            continue;
        add_point(chart, panel, chart->from + (utc_s)i * SECONDS_PER_HOUR, base,
                  true);
        for (int row = 0; row < count; row++) {
            utc_s hour = chart->from + (utc_s)(i + row) * SECONDS_PER_HOUR;

            chart_value(chart, quantity, hour, &value);
            add_point(chart, panel, hour, value, false);
        }
        add_point(chart, panel,
                  chart->from + (utc_s)(i + count - 1) * SECONDS_PER_HOUR, base,
                  false);
        text_add(chart->out, "Z");
        i += count;
    }
    text_add(chart->out, "\"/>\n");
}
