/* Charts of a replay: SVG 1.1, no script, no font but the reader's own. */
#include <math.h>
#include <stdio.h>

#include "base/text.h"
#include "base/words.h"
#include "command/replay.h"

enum {
    SVG_MAX = 1024 * 1024,
    WIDTH = 960,
    HEIGHT = 360,
    LEFT = 60,
    RIGHT = 40,
    TOP = 40,
    BOTTOM = 40
};

static const double PLOT_W = WIDTH - LEFT - RIGHT;
static const double PLOT_H = HEIGHT - TOP - BOTTOM;

static void open_chart(struct text *svg, const char *title)
{
    text_addf(svg,
              "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" "
              "viewBox=\"0 0 %d %d\" font-family=\"sans-serif\" "
              "font-size=\"12\">\n<title>%s</title>\n"
              "<rect width=\"%d\" height=\"%d\" fill=\"#fffdf8\"/>\n"
              "<text x=\"%d\" y=\"24\" font-size=\"15\">%s</text>\n",
              WIDTH, HEIGHT, title, WIDTH, HEIGHT, LEFT, title);
}

static void add_bar(struct text *svg, double x, double width, double share,
                    const char *fill)
{
    double height = PLOT_H * fmax(0.0, fmin(1.0, share));

    text_addf(svg,
              "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\" "
              "fill=\"%s\"/>\n",
              x, TOP + PLOT_H - height, width, height, fill);
}

static void add_label(struct text *svg, double x, double y, const char *anchor,
                      const char *words)
{
    text_addf(
        svg,
        "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"%s\" stroke=\"#fffdf8\" "
        "stroke-width=\"3\" paint-order=\"stroke\">%s</text>\n",
        x, y, anchor, words);
}

static void close_chart(struct text *svg)
{
    text_addf(svg,
              "<line x1=\"%d\" y1=\"%.1f\" x2=\"%d\" y2=\"%.1f\" "
              "stroke=\"#333\"/>\n</svg>\n",
              LEFT, TOP + PLOT_H, WIDTH - RIGHT, TOP + PLOT_H);
}

static double largest(const struct replay *replay)
{
    double most = 1.0;

    for (int i = 0; i < replay->count; i++) {
        most = fmax(most, fmax(replay->rows[i].sap_l,
                               replay->rows[i].forecast_l[REPLAY_MODEL]));
    }
    return most;
}

char *replay_sap_svg(const struct replay *replay)
{
    double most = largest(replay), step = PLOT_W / replay->count;
    char words[64];
    struct text svg;

    text_init(&svg, SVG_MAX);
    open_chart(&svg, _("Sap by collection: collected (brown), model (blue)"));
    for (int i = 0; i < replay->count; i++) {
        const struct replay_row *row = &replay->rows[i];
        double x = LEFT + step * i;

        add_bar(&svg, x + 0.1 * step, 0.4 * step, row->sap_l / most, "#8a5a2b");
        add_bar(&svg, x + 0.5 * step, 0.4 * step,
                row->forecast_l[REPLAY_MODEL] / most, "#3b6ea5");
        if (i % (replay->count / 8 + 1) == 0) {
            char date[ISO_DATE_SIZE];

            iso_date(row->date, date);
            add_label(&svg, x + 0.5 * step, HEIGHT - 18, "middle", date);
        }
    }
    (void)snprintf(words, sizeof words, "%.0f L", most);
    add_label(&svg, LEFT - 6, TOP + 10, "end", words);
    add_label(&svg, LEFT - 6, TOP + PLOT_H, "end", "0 L");
    close_chart(&svg);
    return text_steal(&svg);
}

static double day_x(const struct season *season, double day)
{
    return LEFT + PLOT_W * day / season->day_count;
}

static void add_risk_line(struct text *svg, const struct season *season)
{
    text_add(svg, "<polyline fill=\"none\" stroke=\"#b03a2e\" "
                  "stroke-width=\"2\" points=\"");
    for (int day = 0; day < season->day_count; day++) {
        text_addf(svg, "%.1f,%.1f ", day_x(season, day + 0.5),
                  TOP + PLOT_H * (1.0 - season->days[day].off_flavour));
    }
    text_add(svg, "\"/>\n");
}

/* The span from p10 to p90 at the top of the plot, with its name. */
static void add_span(struct text *svg, const struct season *season,
                     const struct season_date *date, double y, const char *name)
{
    double from, to;

    if (!date->known) {
        return;
    }
    from = day_x(season,
                 (double)(civil_day_number(date->p10) - season->first_day));
    to = day_x(season,
               (double)(civil_day_number(date->p90) - season->first_day + 1));
    text_addf(svg,
              "<rect x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"12\" "
              "fill=\"#5d8a3a\"/>\n",
              from, y, to - from);
    add_label(svg, from - 4, y + 11, "end", name);
}

static void add_months(struct text *svg, const struct season *season)
{
    for (int day = 0; day < season->day_count; day++) {
        struct civil_date date =
            civil_date_from_day_number(season->first_day + day);
        char words[ISO_DATE_SIZE];

        if (date.day == 1) {
            iso_date(date, words);
            add_label(svg, day_x(season, day), HEIGHT - 18, "middle", words);
        }
    }
}

char *replay_season_svg(const struct season *season)
{
    struct text svg;

    text_init(&svg, SVG_MAX);
    open_chart(&svg, _("Run weather (blue), risk of off-flavour (red), buds "
                       "(green)"));
    for (int day = 0; day < season->day_count; day++) {
        if (season->days[day].known && !season->days[day].filled) {
            add_bar(&svg, day_x(season, day), PLOT_W / season->day_count,
                    season->days[day].run_weather, "#9dbbd8");
        }
    }
    add_risk_line(&svg, season);
    add_span(&svg, season, &season->swell, TOP + 4, _("buds swell"));
    add_span(&svg, season, &season->bud_break, TOP + 22, _("buds break"));
    add_months(&svg, season);
    add_label(&svg, LEFT - 6, TOP + 10, "end", "1");
    add_label(&svg, LEFT - 6, TOP + PLOT_H, "end", "0");
    close_chart(&svg);
    return text_steal(&svg);
}
