/* The kinds of answer of the NWS that are read, each in its own file. The
 * properties are borrowed; all give their readings to the intake and what
 * they know of issue and elevation to the source. */
#ifndef SOURCE_NWS_H
#define SOURCE_NWS_H

#include <cjson/cJSON.h>

#include "source/intake.h"

/* Raw layers of a grid cell: /gridpoints/WFO/X,Y. */
void nws_read_grid(const cJSON *properties, struct intake *intake,
                   struct series_source *source);
/* /gridpoints/WFO/X,Y/forecast/hourly. */
void nws_read_periods(const cJSON *properties, struct intake *intake,
                      struct series_source *source);
/* One of a station's observations; for several, once each. */
void nws_read_observation(const cJSON *properties, struct intake *intake,
                          struct series_source *source);

/* {unitCode, value} or {uom, value}: the value at the time, with its unit.
 * An unknown unit refuses the value. */
void nws_read_quantity(const cJSON *item, enum quantity quantity, utc_s start,
                       utc_s end, enum origin origin, struct intake *intake);
/* elevation {unitCode, value}, if it can be used. */
void nws_read_elevation(const cJSON *properties, struct series_source *source);
/* 0 if there is none that can be read. */
utc_s nws_read_time(const cJSON *properties, const char *key);

#endif
