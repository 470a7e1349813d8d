/* What the parts of the metno decoder share. */
#ifndef SOURCE_METNO_H
#define SOURCE_METNO_H

#include <cjson/cJSON.h>
#include <stdbool.h>

#include "source/intake.h"

/* The details of each block of a row, borrowed; NULL where there are none. */
struct metno_row {
    utc_s time;
    const cJSON *instant, *next_1_hours, *next_6_hours;
    bool is_hour; /* it has next_1_hours, with details or without */
    int order;    /* as it came */
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
