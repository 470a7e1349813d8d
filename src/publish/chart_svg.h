/* The ten days as a picture: air against freezing with its spread, sap flow
 * with its spread, what is to be collected and boiled, the nights (18:00 to
 * 06:00) and the hour at which it was drawn.
 *
 * Scalable Vector Graphics 1.1, without style of its own: each part has a
 * class and the page gives the colours. Coordinates in pixels. */
#ifndef PUBLISH_CHART_SVG_H
#define PUBLISH_CHART_SVG_H

#include "base/text.h"
#include "publish/bulletin.h"

enum { CHART_DAYS = 10 };

struct chart_style {
    enum unit_system units;
    int width;      /* pixels; from 320 on */
    const char *id; /* begins the ids inside, unique in the page */
    const char *css_class;
};

/* Adds one <svg> element that begins at the civil day of `now`. Where no
 * bush knows the air or the flow, that panel says so. */
void chart_svg(const struct bulletin *bulletin, utc_s now,
               const struct chart_style *style, struct text *out);

#endif
