/* The ten days as a PNG picture for mail: what chart_svg.h draws, on its own
 * solid ground, so that it reads the same whatever colours the reader's mail
 * program puts around it. Drawn by cairo at twice its size. */
#ifndef PUBLISH_CHART_PNG_H
#define PUBLISH_CHART_PNG_H

#include "publish/bulletin.h"

struct chart_png {
    char *bytes; /* owned */
    size_t length;
    int width, height; /* to show it at; it holds twice as many pixels */
};

/* -1 with a sentence if cairo cannot draw (no memory, no fonts). */
int chart_png(const struct bulletin *bulletin, utc_s now,
              enum unit_system units, struct chart_png *out, struct error *err);
void chart_png_free(struct chart_png *png);

#endif
