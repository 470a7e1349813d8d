#include "publish/chart_png.h"

#include <cairo.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "publish/chart_frame.h"
#include "publish/phrase.h"
#include "publish/png_write.h"

enum {
    WIDTH = 480, /* phones show it at some 300: letters stay readable */
    SCALE = 2,
    HEAD = 42, /* two lines of day labels */
    STRIP = 24,
    GAP = 10,
    LANE = 16,
    FOOT = 26,
    LETTERS = 14,
    DIGIT = 9,
    NIGHT_FROM_H = 6 /* after noon */
};

/* Colours of the page's light scheme: dark on pale, contrast above 4.5. */
enum colour {
    PAPER = 0xfffdf6,
    INK = 0x28201a,
    SOFT = 0x5a4e44,
    LINE = 0xcbbfac,
    NIGHT = 0xf0eadb,
    AIR = 0x2b5a82,
    FREEZE = 0xb9d2e6,
    THAW = 0xefdcb4,
    SAP = 0x8a4b00,
    SAP_FILL = 0xe2a24a,
    NOW = 0x8c1c13
};

#ifdef __SANITIZE_ADDRESS__
/* What fontconfig keeps of its configuration for the life of the process, a
 * kilobyte however much is drawn, is no leak of ours. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_options(void);

const char *__lsan_default_options(void)
{
    return "print_suppressions=0";
}

const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig\n";
}
#endif

enum align { FROM_LEFT, CENTRED, TO_RIGHT };

struct drawing {
    struct chart chart;
    cairo_t *cairo;
};

static void set_colour(const struct drawing *drawing, enum colour colour,
                       double opacity)
{
    cairo_set_source_rgba(drawing->cairo, (colour >> 16 & 255) / 255.0,
                          (colour >> 8 & 255) / 255.0, (colour & 255) / 255.0,
                          opacity);
}

static void put_words(const struct drawing *drawing, double x, double y,
                      enum align align, bool bold, enum colour colour,
                      const char *words)
{
    cairo_text_extents_t extents;

    cairo_select_font_face(
        drawing->cairo, "sans-serif", CAIRO_FONT_SLANT_NORMAL,
        bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(drawing->cairo, LETTERS);
    cairo_text_extents(drawing->cairo, words, &extents);
    if (align == CENTRED)
        x -= extents.x_advance / 2;
    else if (align == TO_RIGHT)
        x -= extents.x_advance;
    set_colour(drawing, colour, 1);
    cairo_move_to(drawing->cairo, x, y);
    cairo_show_text(drawing->cairo, words);
}

static void rule(const struct drawing *drawing, double x1, double y1, double x2,
                 double y2, double width, enum colour colour)
{
    set_colour(drawing, colour, 1);
    cairo_set_line_width(drawing->cairo, width);
    cairo_move_to(drawing->cairo, x1, y1);
    cairo_line_to(drawing->cairo, x2, y2);
    cairo_stroke(drawing->cairo);
}

static void box(const struct drawing *drawing, double x, double y, double width,
                double height, enum colour colour)
{
    set_colour(drawing, colour, 1);
    cairo_rectangle(drawing->cairo, x, y, fmax(width, 0), height);
    cairo_fill(drawing->cairo);
}

static void point(const struct drawing *drawing,
                  const struct chart_panel *panel, enum chart_quantity quantity,
                  int row)
{
    const struct chart *chart = &drawing->chart;

    cairo_line_to(drawing->cairo, chart_x(chart, chart_hour(chart, row)),
                  chart_y(panel, chart->values[quantity][row]));
}

static void curve(const struct drawing *drawing,
                  const struct chart_panel *panel, enum chart_quantity quantity,
                  double width, enum colour colour)
{
    const struct chart *chart = &drawing->chart;

    set_colour(drawing, colour, 1);
    cairo_set_line_width(drawing->cairo, width);
    for (int row = 0; row <= chart->hours; row++) {
        int count = chart_stretch(chart, quantity, quantity, row);

        cairo_new_sub_path(drawing->cairo);
        for (int i = 0; i < count; i++)
            point(drawing, panel, quantity, row + i);
        row += count;
    }
    cairo_stroke(drawing->cairo);
}

/* The area between two quantities. */
static void band(const struct drawing *drawing, const struct chart_panel *panel,
                 enum chart_quantity low, enum chart_quantity high,
                 enum colour colour, double opacity)
{
    const struct chart *chart = &drawing->chart;

    for (int row = 0; row <= chart->hours; row++) {
        int count = chart_stretch(chart, low, high, row);

        cairo_new_sub_path(drawing->cairo);
        for (int i = 0; i < count; i++)
            point(drawing, panel, high, row + i);
        for (int i = count; i > 0; i--)
            point(drawing, panel, low, row + i - 1);
        cairo_close_path(drawing->cairo);
        row += count;
    }
    set_colour(drawing, colour, opacity);
    cairo_fill(drawing->cairo);
}

/* The area between a quantity and a fixed value, as far as it lies between
 * two heights. */
static void area(const struct drawing *drawing, const struct chart_panel *panel,
                 enum chart_quantity quantity, double base, double top,
                 double bottom, enum colour colour)
{
    const struct chart *chart = &drawing->chart;
    double y = chart_y(panel, base);

    cairo_save(drawing->cairo);
    cairo_rectangle(drawing->cairo, 0, top, WIDTH, bottom - top);
    cairo_clip(drawing->cairo);
    for (int row = 0; row <= chart->hours; row++) {
        int count = chart_stretch(chart, quantity, quantity, row);

        if (count == 0)
            continue;
        cairo_move_to(drawing->cairo, chart_x(chart, chart_hour(chart, row)),
                      y);
        for (int i = 0; i < count; i++)
            point(drawing, panel, quantity, row + i);
        cairo_line_to(drawing->cairo,
                      chart_x(chart, chart_hour(chart, row + count - 1)), y);
        cairo_close_path(drawing->cairo);
        row += count;
    }
    set_colour(drawing, colour, 1);
    cairo_fill(drawing->cairo);
    cairo_restore(drawing->cairo);
}

static void draw_nights(const struct drawing *drawing)
{
    const struct chart *chart = &drawing->chart;

    for (int day = -1; day < CHART_DAYS; day++) {
        struct civil_date date = civil_date_add(chart->first, day);
        utc_s from = bulletin_noon(chart->bulletin, date) +
                     NIGHT_FROM_H * SECONDS_PER_HOUR;
        utc_s to = bulletin_noon(chart->bulletin, civil_date_add(date, 1)) -
                   NIGHT_FROM_H * SECONDS_PER_HOUR;
        double x = chart_x(chart, from);

        box(drawing, x, HEAD, chart_x(chart, to) - x, chart->bottom - HEAD,
            NIGHT);
    }
}

/* From top to bottom of each panel, their headings left free. */
static void upright(const struct drawing *drawing, double x, double width,
                    enum colour colour)
{
    const struct chart *chart = &drawing->chart;

    rule(drawing, x, chart->air.top, x, chart->air.bottom, width, colour);
    rule(drawing, x, chart->flow.top, x, chart->flow.bottom, width, colour);
    if (chart->has_actions)
        rule(drawing, x, chart->lanes_top, x, chart->bottom, width, colour);
}

static void draw_days(const struct drawing *drawing)
{
    const struct chart *chart = &drawing->chart;

    for (int day = 0; day < CHART_DAYS; day++) {
        struct civil_date date = civil_date_add(chart->first, day);
        double x = chart_x(chart, chart_midnight(chart->bulletin, date));
        double next = chart_x(
            chart, chart_midnight(chart->bulletin, civil_date_add(date, 1)));
        char number[PHRASE_SIZE];

        snprintf(number, sizeof number, "%d", date.day);
        put_words(drawing, (x + next) / 2, 16, CENTRED, day == 0, INK,
                  phrase_weekday(date));
        put_words(drawing, (x + next) / 2, 34, CENTRED, day == 0, INK, number);
        upright(drawing, x, 0.5, LINE);
    }
}

static void draw_ticks(const struct drawing *drawing,
                       const struct chart_panel *panel, double heavy)
{
    bool has_heavy = heavy >= panel->low;
    const struct chart *chart = &drawing->chart;
    double step = chart_step(panel->high - panel->low, CHART_TICKS);
    int ticks = (int)floor((panel->high - panel->low) / step + 0.01);
    char figure[PHRASE_SIZE];

    for (int tick = 0; tick <= ticks; tick++) {
        double at = panel->low + tick * step;
        double y = chart_y(panel, at);

        rule(drawing, chart->left, y, chart->right, y, 0.5, LINE);
        if (has_heavy && fabs(y - chart_y(panel, heavy)) < LETTERS)
            continue;
        snprintf(figure, sizeof figure, step < 1 ? "%.1f" : "%.0f", at + 0.0);
        put_words(drawing, chart->left - 5, y + 5, TO_RIGHT, false, SOFT,
                  figure);
    }
}

static void draw_air(const struct drawing *drawing)
{
    const struct chart *chart = &drawing->chart;
    const struct chart_panel *panel = &chart->air;
    double zero = chart_freezing(chart), y = chart_y(panel, zero);
    char figure[PHRASE_SIZE], title[CHART_TITLE_SIZE];

    chart_air_title(chart, title);
    put_words(drawing, chart->left, panel->top - 7, FROM_LEFT, true, INK,
              title);
    draw_ticks(drawing, panel, zero);
    area(drawing, panel, CHART_AIR, zero, panel->top, y, THAW);
    area(drawing, panel, CHART_AIR, zero, y, panel->bottom, FREEZE);
    band(drawing, panel, CHART_AIR_P10, CHART_AIR_P90, SOFT, 0.2);
    curve(drawing, panel, CHART_AIR, 2, AIR);
    rule(drawing, chart->left, y, chart->right, y, 2, INK);
    snprintf(figure, sizeof figure, "%.0f", zero);
    put_words(drawing, chart->left - 5, y + 5, TO_RIGHT, true, INK, figure);
}

static void draw_flow(const struct drawing *drawing)
{
    const struct chart *chart = &drawing->chart;
    const struct chart_panel *panel = &chart->flow;
    bool us = chart->style->units == UNITS_US;

    put_words(drawing, chart->left, panel->top - 7, FROM_LEFT, true, INK,
              !chart_knows(chart, CHART_FLOW) ? _("Sap: not known")
              : us ? _("Sap of all taps, gallons an hour")
                   : _("Sap of all taps, litres an hour"));
    draw_ticks(drawing, panel, -1e9);
    band(drawing, panel, CHART_FLOW_P10, CHART_FLOW_P90, SAP_FILL, 0.45);
    area(drawing, panel, CHART_FLOW, 0, panel->top, panel->bottom, SAP_FILL);
    curve(drawing, panel, CHART_FLOW, 1.5, SAP);
}

static void draw_actions(const struct drawing *drawing)
{
    const struct chart *chart = &drawing->chart;
    const struct bulletin *bulletin = chart->bulletin;

    if (!chart->has_actions)
        return;
    put_words(drawing, chart->left, chart->lanes_top - 7, FROM_LEFT, true, INK,
              _("To do: collect (outlined), boil (filled)"));
    for (int i = 0; i < bulletin->action_count; i++) {
        const struct bulletin_action *action = &bulletin->actions[i];
        bool boil = action->kind == ACTION_BOIL;
        double x = chart_x(chart, action->start);
        double width = fmax(3, chart_x(chart, action->end) - x);

        if (!chart_shows(chart, action))
            continue;
        set_colour(drawing, INK, 1);
        cairo_set_line_width(drawing->cairo, 1.5);
        cairo_rectangle(drawing->cairo, x,
                        chart->lanes_top + (boil ? LANE + 3 : 1), width,
                        LANE - 2);
        if (boil)
            cairo_fill(drawing->cairo);
        else
            cairo_stroke(drawing->cairo);
    }
}

static void draw_now(const struct drawing *drawing)
{
    static const double dashes[] = {4, 3};
    const struct chart *chart = &drawing->chart;
    double x = chart_x(chart, chart->now);
    char clock[PHRASE_SIZE], words[2 * PHRASE_SIZE];

    phrase_clock(chart->bulletin, chart->now, clock);
    snprintf(words, sizeof words, _("drawn at %s"), clock);
    cairo_set_dash(drawing->cairo, dashes, 2, 0);
    upright(drawing, x, 1.5, NOW);
    cairo_set_dash(drawing->cairo, NULL, 0, 0);
    put_words(drawing, fmax(x, chart->left), chart->height - 9, FROM_LEFT,
              false, NOW, words);
}

static void lay_out(struct chart *chart)
{
    const struct bulletin *bulletin = chart->bulletin;

    chart_begin(chart);
    chart->right = WIDTH - 8;
    for (int i = 0; i < bulletin->action_count; i++)
        chart->has_actions |= chart_shows(chart, &bulletin->actions[i]);
    chart->air.top = HEAD + STRIP;
    chart->air.bottom = chart->air.top + 150;
    chart->flow.top = chart->air.bottom + GAP + STRIP;
    chart->flow.bottom = chart->flow.top + 84;
    chart->bottom = chart->flow.bottom;
    if (chart->has_actions) {
        chart->lanes_top = chart->bottom + GAP + STRIP;
        chart->bottom = chart->lanes_top + 2 * LANE + 4;
    }
    chart->height = chart->bottom + FOOT;
    chart_scale(chart);
}

/* Room at the side for the widest figure. */
static void make_room(struct chart *chart)
{
    char figure[PHRASE_SIZE];
    int digits = snprintf(figure, sizeof figure, "%.0f", chart->flow.high);

    chart->left = fmax(4 * DIGIT, DIGIT * digits + 12);
}

static void draw(const struct drawing *drawing)
{
    cairo_scale(drawing->cairo, SCALE, SCALE);
    cairo_set_line_join(drawing->cairo, CAIRO_LINE_JOIN_ROUND);
    box(drawing, 0, 0, WIDTH, drawing->chart.height, PAPER);
    draw_nights(drawing);
    draw_days(drawing);
    draw_air(drawing);
    draw_flow(drawing);
    draw_actions(drawing);
    draw_now(drawing);
}

/* The rows from `top` on, as many as the surface has, or are left. */
static cairo_status_t draw_band(struct drawing *drawing,
                                cairo_surface_t *surface, int top, int rows,
                                struct png *png)
{
    cairo_status_t status;

    drawing->cairo = cairo_create(surface);
    cairo_translate(drawing->cairo, 0, -top);
    draw(drawing);
    status = cairo_status(drawing->cairo);
    cairo_destroy(drawing->cairo);
    cairo_surface_flush(surface);
    if (status == CAIRO_STATUS_SUCCESS)
        png_add(png, cairo_image_surface_get_data(surface), rows,
                cairo_image_surface_get_stride(surface));
    return status;
}

/* In bands, each drawn as the whole is: as large as a band is the largest
 * block that the program ever takes. */
static cairo_status_t draw_bands(struct drawing *drawing, int height,
                                 struct png *png)
{
    enum { BAND = 256 };
    cairo_surface_t *surface = cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, SCALE * WIDTH, height < BAND ? height : BAND);
    cairo_status_t status = cairo_surface_status(surface);

    for (int top = 0; status == CAIRO_STATUS_SUCCESS && top < height;
         top += BAND) {
        int rows = height - top < BAND ? height - top : BAND;

        status = draw_band(drawing, surface, top, rows, png);
    }
    cairo_surface_destroy(surface);
    return status;
}

/* More than the picture and the list of the machine's fonts take; cairo and
 * fontconfig do not always look whether they got it. */
enum { LIBRARY_BYTES = 16 * 1024 * 1024 };

int chart_png(const struct bulletin *bulletin, utc_s now,
              enum unit_system units, struct chart_png *out, struct error *err)
{
    static const uint32_t colours[] = {PAPER,  INK,  SOFT, LINE,     NIGHT, AIR,
                                       FREEZE, THAW, SAP,  SAP_FILL, NOW};
    struct chart_style style = {.units = units, .width = WIDTH};
    struct drawing drawing = {
        .chart = {.bulletin = bulletin, .style = &style, .now = now}};
    cairo_status_t status;
    struct png *png;

    memset(out, 0, sizeof *out);
    mem_spare(LIBRARY_BYTES);
    lay_out(&drawing.chart);
    make_room(&drawing.chart);
    out->width = WIDTH;
    out->height = (int)ceil(drawing.chart.height);
    png = png_begin(SCALE * WIDTH, colours, sizeof colours / sizeof colours[0]);
    status = draw_bands(&drawing, SCALE * out->height, png);
    out->bytes = png_end(png, &out->length);
    if (status == CAIRO_STATUS_SUCCESS && out->bytes != NULL)
        return 0;
    chart_png_free(out);
    if (status == CAIRO_STATUS_SUCCESS)
        status = CAIRO_STATUS_NO_MEMORY; /* to write the file with */
    return error_set(err, _("the chart cannot be drawn: %s"),
                     cairo_status_to_string(status));
}

void chart_png_free(struct chart_png *png)
{
    free(png->bytes);
    memset(png, 0, sizeof *png);
}
