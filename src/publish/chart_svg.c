#include "publish/chart_svg.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/chart_frame.h"
#include "publish/page_html.h"
#include "publish/phrase.h"

enum {
    NARROW = 600, /* pixels: below, panels are as high but margins slimmer */
    HEAD = 34,    /* two lines of day labels */
    STRIP = 22,   /* a panel's heading, above it */
    GAP = 10,
    LANE = 14,
    FOOT = 20,
    LEVEL = 52,       /* height of that panel */
    DIGIT = 8,        /* widest of common fonts at the size in use */
    NIGHT_FROM_H = 6, /* after noon */
};

/* For the figures at the side. */
static void make_room(struct chart *chart)
{
    char figure[PHRASE_SIZE];
    int digits = snprintf(figure, sizeof figure, "%.0f", chart->flow.high);

    chart->left = fmax(30, DIGIT * digits + 8);
}

static void lay_out(struct chart *chart)
{
    bool narrow = chart->style->width < NARROW;
    const struct bulletin *bulletin = chart->bulletin;

    chart_begin(chart);
    chart->right = chart->style->width - (narrow ? 2 : 6);
    for (int i = 0; i < bulletin->action_count; i++)
        chart->has_actions |= chart_shows(chart, &bulletin->actions[i]);
    chart->air.top = HEAD + STRIP;
    chart->air.bottom = chart->air.top + (narrow ? 150 : 180);
    chart->flow.top = chart->air.bottom + GAP + STRIP;
    chart->flow.bottom = chart->flow.top + (narrow ? 80 : 96);
    chart->bottom = chart->flow.bottom;
    chart->has_level =
        chart_knows(chart, CHART_TANKS) || chart_knows(chart, CHART_BUCKETS);
    if (chart->has_level) {
        chart->level =
            (struct chart_panel){chart->bottom + GAP + STRIP,
                                 chart->bottom + GAP + STRIP + LEVEL, 0, 100};
        chart->bottom = chart->level.bottom;
    }
    if (chart->has_actions) {
        chart->lanes_top = chart->bottom + GAP + STRIP;
        chart->bottom = chart->lanes_top + 2 * LANE + 4;
    }
    chart->height = chart->bottom + FOOT;
}

static void add_attribute(const struct chart *chart, const char *name,
                          double value)
{
    text_add(chart->out, name);
    text_add_fixed(chart->out, value, 1);
}

static void begin_element(const struct chart *chart, const char *tag,
                          const char *css_class)
{
    text_add(chart->out, tag);
    text_add(chart->out, css_class);
}

static void add_text(const struct chart *chart, double x, double y,
                     const char *css_class, const char *words)
{
    begin_element(chart, "<text class=\"", css_class);
    add_attribute(chart, "\" x=\"", x);
    add_attribute(chart, "\" y=\"", y);
    text_add(chart->out, "\">");
    html_add(chart->out, words);
    text_add(chart->out, "</text>\n");
}

static void add_rule(const struct chart *chart, double x1, double y1, double x2,
                     double y2, const char *css_class)
{
    begin_element(chart, "<line class=\"", css_class);
    add_attribute(chart, "\" x1=\"", x1);
    add_attribute(chart, "\" y1=\"", y1);
    add_attribute(chart, "\" x2=\"", x2);
    add_attribute(chart, "\" y2=\"", y2);
    text_add(chart->out, "\"/>\n");
}

static void add_box(const struct chart *chart, double x, double y, double width,
                    double height, const char *css_class)
{
    begin_element(chart, "<rect class=\"", css_class);
    add_attribute(chart, "\" x=\"", x);
    add_attribute(chart, "\" y=\"", y);
    add_attribute(chart, "\" width=\"", fmax(width, 0));
    add_attribute(chart, "\" height=\"", height);
    text_add(chart->out, "\"/>\n");
}

/* From top to bottom of each panel, their headings left free. */
static void add_upright(const struct chart *chart, double x,
                        const char *css_class)
{
    add_rule(chart, x, chart->air.top, x, chart->air.bottom, css_class);
    add_rule(chart, x, chart->flow.top, x, chart->flow.bottom, css_class);
    if (chart->has_level)
        add_rule(chart, x, chart->level.top, x, chart->level.bottom, css_class);
    if (chart->has_actions)
        add_rule(chart, x, chart->lanes_top, x, chart->bottom, css_class);
}

static void add_nights(const struct chart *chart)
{
    for (int day = -1; day < CHART_DAYS; day++) {
        utc_s from =
            bulletin_noon(chart->bulletin, civil_date_add(chart->first, day)) +
            NIGHT_FROM_H * SECONDS_PER_HOUR;
        utc_s to = bulletin_noon(chart->bulletin,
                                 civil_date_add(chart->first, day + 1)) -
                   NIGHT_FROM_H * SECONDS_PER_HOUR;
        double x = chart_x(chart, from);

        add_box(chart, x, HEAD, chart_x(chart, to) - x, chart->bottom - HEAD,
                "night");
    }
}

static void add_days(const struct chart *chart)
{
    for (int day = 0; day < CHART_DAYS; day++) {
        struct civil_date date = civil_date_add(chart->first, day);
        utc_s from = chart_midnight(chart->bulletin, date);
        utc_s to = chart_midnight(chart->bulletin, civil_date_add(date, 1));
        double middle = (chart_x(chart, from) + chart_x(chart, to)) / 2;
        char number[PHRASE_SIZE];

        snprintf(number, sizeof number, "%d", date.day);
        add_text(chart, middle, 13, "day-name", phrase_weekday(date));
        add_text(chart, middle, 28, "day-name", number);
        add_upright(chart, chart_x(chart, from), "midnight");
    }
}

static void add_ticks(const struct chart *chart,
                      const struct chart_panel *panel, double heavy)
{
    double step = chart_step(panel->high - panel->low, CHART_TICKS);
    int ticks = (int)floor((panel->high - panel->low) / step + 0.01);
    char figure[PHRASE_SIZE];

    for (int tick = 0; tick <= ticks; tick++) {
        double at = panel->low + tick * step;
        bool near = fabs(at - heavy) > 1e-9 &&
                    fabs(chart_y(panel, at) - chart_y(panel, heavy)) < 13;
        double y = chart_y(panel, at);

        add_rule(chart, chart->left, y, chart->right, y, "grid");
        if (near || fabs(at - heavy) <= 1e-9)
            continue;
        snprintf(figure, sizeof figure, step < 1 ? "%.1f" : "%.0f", at + 0.0);
        add_text(chart, chart->left - 5, y + 4, "tick", figure);
    }
}

static void add_clip(const struct chart *chart, const char *id, double top,
                     double bottom)
{
    text_addf(chart->out, "<clipPath id=\"%s-%s\">", chart->style->id, id);
    text_addf(chart->out,
              "<rect x=\"0\" y=\"%.1f\" width=\"%d\" height=\"%.1f\"/>"
              "</clipPath>\n",
              top, chart->style->width, bottom - top);
}

static void add_air(const struct chart *chart)
{
    const struct chart_panel *panel = &chart->air;
    double zero = chart_freezing(chart), y = chart_y(panel, zero);
    char figure[PHRASE_SIZE], title[CHART_TITLE_SIZE];

    chart_air_title(chart, title);
    add_text(chart, chart->left, panel->top - 7, "title", title);
    add_ticks(chart, panel, zero);
    add_clip(chart, "above", panel->top, y);
    add_clip(chart, "below", y, panel->bottom);
    chart_add_area(chart, panel, CHART_AIR, zero, "thaw", "above");
    chart_add_area(chart, panel, CHART_AIR, zero, "freeze", "below");
    chart_add_band(chart, panel, CHART_AIR_P10, CHART_AIR_P90, "spread");
    chart_add_line(chart, panel, CHART_AIR, "air");
    add_rule(chart, chart->left, y, chart->right, y, "freezing");
    snprintf(figure, sizeof figure, "%.0f", zero);
    add_text(chart, chart->left - 5, y + 4, "tick heavy", figure);
}

static void add_flow(const struct chart *chart)
{
    const struct chart_panel *panel = &chart->flow;
    bool us = chart->style->units == UNITS_US;

    add_text(chart, chart->left, panel->top - 7, "title",
             !chart_knows(chart, CHART_FLOW) ? _("Sap: not known")
             : us ? _("Sap of all taps, gallons an hour")
                  : _("Sap of all taps, litres an hour"));
    add_ticks(chart, panel, -1e9);
    chart_add_band(chart, panel, CHART_FLOW_P10, CHART_FLOW_P90, "sap-spread");
    chart_add_area(chart, panel, CHART_FLOW, 0, "sap-fill", NULL);
    chart_add_line(chart, panel, CHART_FLOW, "sap");
}

static void add_level(const struct chart *chart)
{
    const struct chart_panel *panel = &chart->level;
    bool tanks = chart_knows(chart, CHART_TANKS);

    if (!chart->has_level)
        return;
    add_text(chart, chart->left, panel->top - 7, "title",
             !tanks ? _("Buckets by the plan, per cent full")
             : chart_knows(chart, CHART_BUCKETS)
                 ? _("Tanks (line), buckets (dashes), per cent full")
                 : _("Tanks by the plan, per cent full"));
    for (int percent = 0; percent <= 100; percent += 50) {
        double y = chart_y(panel, percent);
        char figure[PHRASE_SIZE];

        snprintf(figure, sizeof figure, "%d", percent);
        add_rule(chart, chart->left, y, chart->right, y,
                 percent == 100 ? "freezing" : "grid");
        add_text(chart, chart->left - 5, y + 4,
                 percent == 100 ? "tick heavy" : "tick", figure);
    }
    chart_add_line(chart, panel, CHART_TANKS, "tanks");
    chart_add_line(chart, panel, CHART_BUCKETS, "buckets");
}

static void add_actions(const struct chart *chart)
{
    const struct bulletin *bulletin = chart->bulletin;

    if (!chart->has_actions)
        return;
    add_text(chart, chart->left, chart->lanes_top - 7, "title",
             _("To do: collect (outlined), boil (filled)"));
    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];
        bool boil = action->kind == ACTION_BOIL;
        double x = chart_x(chart, action->start);

        if (chart_shows(chart, action))
            add_box(chart, x, chart->lanes_top + (boil ? LANE + 3 : 1),
                    fmax(2, chart_x(chart, action->end) - x), LANE - 2,
                    boil ? "boil" : "collect");
    }
}

static void add_now(const struct chart *chart)
{
    double x = chart_x(chart, chart->now);
    char clock[PHRASE_SIZE], words[2 * PHRASE_SIZE];

    phrase_clock(chart->bulletin, chart->now, clock);
    snprintf(words, sizeof words, _("drawn at %s"), clock);
    add_upright(chart, x, "now");
    add_text(chart, fmax(x, chart->left), chart->bottom + FOOT - 3, "now-name",
             words);
}

/* What the picture shows, for those who do not see it. */
static void add_description(const struct chart *chart)
{
    const struct bulletin *bulletin = chart->bulletin;
    const char *id = chart->style->id;
    char *title = mem_format(_("Ten days at %s"), bulletin->operation);

    text_addf(chart->out,
              "<svg class=\"%s\" role=\"img\" viewBox=\"0 0 %d %.0f\" "
              "width=\"%d\" height=\"%.0f\" "
              "aria-labelledby=\"%s-title %s-desc\">\n<title "
              "id=\"%s-title\">",
              chart->style->css_class, chart->style->width, chart->height,
              chart->style->width, chart->height, id, id, id);
    html_add(chart->out, title);
    text_addf(chart->out, "</title>\n<desc id=\"%s-desc\">", id);
    html_add(chart->out,
             _("A chart over time: the air temperature against freezing, the "
               "flow of sap below it, and the hours to collect and to boil. "
               "All figures of each day follow as text."));
    text_add(chart->out, "</desc>\n");
    free(title);
}

void chart_svg(const struct bulletin *bulletin, utc_s now,
               const struct chart_style *style, struct text *out)
{
    struct chart chart = {
        .bulletin = bulletin, .style = style, .out = out, .now = now};

    lay_out(&chart);
    chart_scale(&chart);
    make_room(&chart);
    chart_write_hours(&chart);
    add_description(&chart);
    add_nights(&chart);
    add_days(&chart);
    add_air(&chart);
    add_flow(&chart);
    add_level(&chart);
    add_actions(&chart);
    add_now(&chart);
    text_add(out, "</svg>\n");
}
