/* Where things lie in a chart. Inside publish/ only. */
#ifndef PUBLISH_CHART_FRAME_H
#define PUBLISH_CHART_FRAME_H

#include "base/text.h"
#include "publish/bulletin.h"
#include "publish/chart_svg.h"
#include "publish/phrase.h"

/* One panel: values from low to high over top to bottom, in pixels. */
struct chart_panel {
    double top, bottom;
    double low, high;
};

/* What is drawn, hour by hour from chart->from on. */
enum chart_quantity {
    CHART_AIR,
    CHART_AIR_P10,
    CHART_AIR_P90,
    CHART_FLOW,
    CHART_FLOW_P10,
    CHART_FLOW_P90,
    CHART_TANKS,
    CHART_BUCKETS,
    CHART_QUANTITIES
};

/* Both ends of ten days, and of one more where a zone leaves a day out. */
enum {
    CHART_ROWS = (CHART_DAYS + 1) * 24 + 1,
    CHART_X_SIZE = 8,
    CHART_TITLE_SIZE = 2 * PHRASE_SIZE
};

struct chart {
    const struct bulletin *bulletin;
    const struct chart_style *style;
    struct text *out;
    utc_s now;
    struct civil_date first;
    utc_s from, to; /* midnight to midnight */
    double left, right;
    double bottom; /* of all panels */
    struct chart_panel air, flow, level;
    double lanes_top, height;
    bool has_actions, has_level;
    /* At the hour so many after `from`, up to `hours`, in the units shown: air
     * in degrees of the first bush that knows it, flow in litres or gallons an
     * hour of all taps, tanks and buckets in per cent of what they hold, under
     * the plan. */
    int hours;
    double values[CHART_QUANTITIES][CHART_ROWS]; /* 0 where not known */
    bool known[CHART_QUANTITIES][CHART_ROWS];
    /* chart_x of each hour as it is written; by chart_write_hours. */
    char x[CHART_ROWS][CHART_X_SIZE];
};

/* The days from the civil day of chart->now on, and the values in them: wants
 * bulletin, style and now. */
void chart_begin(struct chart *chart);
/* Once left and right are known, before any line, band or area. */
void chart_write_hours(struct chart *chart);

/* The instant at which the civil day begins. */
utc_s chart_midnight(const struct bulletin *bulletin, struct civil_date date);
double chart_x(const struct chart *chart, utc_s instant); /* clamped */
double chart_y(const struct chart_panel *panel, double value);

utc_s chart_hour(const struct chart *chart, int hour);
bool chart_knows(const struct chart *chart, enum chart_quantity quantity);
/* Hours from `first` on that know both; 0 if none. */
int chart_stretch(const struct chart *chart, enum chart_quantity low,
                  enum chart_quantity high, int first);
double chart_freezing(const struct chart *chart); /* in the unit shown */
/* What stands over the air's panel. */
void chart_air_title(const struct chart *chart, char out[CHART_TITLE_SIZE]);

enum { CHART_TICKS = 5 }; /* a panel's figures at the side, at most */
/* The panels' values, from what is drawn; ends on whole steps, so that the
 * figures name them. */
void chart_scale(struct chart *chart);
/* Is it an action of the lanes: to collect or to boil, in the chart's time? */
bool chart_shows(const struct chart *chart,
                 const struct bulletin_action *action);

/* A step of 1, 2, 2.5 or 5 times a power of ten that parts the span into at
 * most `most` parts. */
double chart_step(double span, int most);

/* A line through the known hours; gaps stay open. */
void chart_add_line(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity quantity, const char *css_class);
/* The area between two quantities. */
void chart_add_band(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity low, enum chart_quantity high,
                    const char *css_class);
/* The area between a quantity and a fixed value; clip_id may be NULL. */
void chart_add_area(const struct chart *chart, const struct chart_panel *panel,
                    enum chart_quantity quantity, double base,
                    const char *css_class, const char *clip_id);

#endif
