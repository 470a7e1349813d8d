/* The figures of a day and their keys in the JSON: one table for the writer
 * and the reader, so that they cannot drift apart. */
#ifndef PUBLISH_BULLETIN_FIGURES_H
#define PUBLISH_BULLETIN_FIGURES_H

#include <stddef.h>

struct bulletin_figure {
    const char *key;
    size_t offset; /* of the double in the struct */
    int decimals;
};

/* End with a NULL key. Of struct bulletin_day and struct outlook_day. */
extern const struct bulletin_figure bulletin_day_figures[];
extern const struct bulletin_figure bulletin_bush_day_figures[];

#endif
