/* What the parts of the metno decoder share. */
#ifndef SOURCE_METNO_H
#define SOURCE_METNO_H

#include <cjson/cJSON.h>

#include "source/intake.h"

struct metno_row {
    utc_s time;
    const cJSON *data; /* borrowed */
    int order;         /* as it came */
};

struct metno {
    const cJSON *units;     /* borrowed: meta.units, may be NULL */
    struct metno_row *rows; /* owned; sorted, no time twice */
    int count;
    double longitude_deg;
    struct error_list *refused; /* borrowed */
};

/* Everything of the rows that we use. Rows between 6-hour steps become
 * ORIGIN_SHAPED: air temperature where the step has its extremes, the other
 * instants on a straight line. */
void metno_read_layers(const struct metno *metno, struct intake *intake);

#endif
