/* What drives a day. Inside outlook/ only. */
#ifndef OUTLOOK_DRIVERS_H
#define OUTLOOK_DRIVERS_H

#include "outlook/outlook.h"

/* The rows of a day in the series: hours whose stamp lies in the span. */
struct day_rows {
    int from, to;          /* the civil day */
    int noon_before, noon; /* [noon_before, noon): the night and its morning */
};

struct day_rows day_rows_of(const struct series *series,
                            const struct zone *zone, struct civil_date date);

/* Hours in [from, to) with air temperature. */
int drivers_known_hours(const struct series *series, int from, int to);

/* Fills the drivers of the day, from the weather and from the tree's course
 * under it (rows of the series). */
void drivers_fill(struct outlook_day *day, const struct day_rows *rows,
                  const struct series *series, const struct tree_hour *control);

/* Fills the spread between the sources. */
void drivers_fill_spread(struct outlook_day *day, const struct day_rows *rows,
                         const struct series *series,
                         const struct tree_site *site,
                         const struct series *const *others, int other_count);

#endif
