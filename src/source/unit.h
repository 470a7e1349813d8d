/* Units as the services declare them, turned into those of
 * weather/quantity.h. A unit that is not known is never guessed.
 *
 * Factors: NIST Special Publication 811 (2008), appendix B: mile 1609.344 m,
 * nautical mile 1852 m, inch 25.4 mm, foot 0.3048 m, inch of mercury
 * 33.863 89 hPa, conventional millimetre of mercury 1.333 224 hPa. */
#ifndef SOURCE_UNIT_H
#define SOURCE_UNIT_H

#include "weather/quantity.h"

/* inside = value * factor + offset */
struct unit_scale {
    double factor, offset;
};

/* The scale of a declared unit ("wmoUnit:degC", "km/h", "inch") for the
 * quantity; the prefixes of older and newer NWS answers do not count. 0, or
 * -1 if the unit is NULL or not one of that quantity. */
int unit_find(enum quantity quantity, const char *declared,
              struct unit_scale *out);
/* The same for a height in metres. */
int unit_find_height(const char *declared, struct unit_scale *out);
double unit_apply(const struct unit_scale *scale, double value);

#endif
