/* The figures of a day and their keys in the JSON: one table for the writer
 * and the reader, so that they cannot drift apart. */
#ifndef PUBLISH_BULLETIN_FIGURES_H
#define PUBLISH_BULLETIN_FIGURES_H

#include <stddef.h>

/* Decimals of the figures that stand in no table. */
enum {
    DIGITS_HOUR_L = 3,
    DIGITS_L = 1,
    DIGITS_C = 1,
    DIGITS_M = 0,
    DIGITS_BRIX = 1,
    DIGITS_HPA = 1,
    DIGITS_SEASON_SHARE = 2
};

struct bulletin_figure {
    const char *key;
    size_t offset; /* of the double in the struct */
    int decimals;
};

/* End with a NULL key. Of struct bulletin_day and struct outlook_day. */
extern const struct bulletin_figure bulletin_day_figures[];
extern const struct bulletin_figure bulletin_bush_day_figures[];

/* Each as it is read back. */
void bulletin_figures_round(const struct bulletin_figure *figures, void *row);

#endif
