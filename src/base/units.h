/* Quantities with units: read from what people write, shown as they like.
 *
 * Exact factors from NIST Special Publication 811 (2008), appendix B:
 * foot 0.3048 m, US gallon 3.785 411 784 L (231 cubic inches); inch of mercury
 * (0 C) 3.386 389 kPa, cord 3.624 556 m3, both as printed there. */
#ifndef BASE_UNITS_H
#define BASE_UNITS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

#define L_PER_US_GALLON 3.785411784
#define M_PER_FOOT 0.3048
#define M_PER_INCH 0.0254
#define KPA_PER_INHG 3.386389
#define M3_PER_CORD 3.624556

/* Each dimension with the unit inside, and the units people may write. */
enum dimension {
    DIMENSION_HEIGHT_M,       /* m, ft */
    DIMENSION_VOLUME_L,       /* L, ml, hl, m3, gal, qt, pt */
    DIMENSION_RATE_L_H,       /* L/h, gal/h */
    DIMENSION_VACUUM_KPA,     /* inHg, kPa, hPa, mmHg */
    DIMENSION_PRESSURE_HPA,   /* hPa, mbar, kPa, inHg, mmHg */
    DIMENSION_TEMPERATURE_C,  /* C, F (with or without a degree sign) */
    DIMENSION_AREA_M2,        /* "2 x 6 ft", m2, ft2, "60 x 180 cm" */
    DIMENSION_SUGAR_BRIX,     /* Brix, % */
    DIMENSION_SYRUP_PER_WOOD, /* L syrup per m3 of stacked wood:
                                 "22 gal syrup per cord", "L/m3" */
    DIMENSION_SHARE_PCT,      /* % */
    DIMENSION_COUNT
};

/* The whole text must be one number and one unit of the dimension, in capitals
 * or small letters; a bare number, an unknown unit or trailing words give a
 * sentence that names the units allowed and the offending word. */
int quantity_parse(const char *words, enum dimension dimension, double *out,
                   struct error *err);
/* Reads the number at the start, with a decimal point or the comma of some
 * languages ("2,1"), and returns its bytes, 0 if there is none. A comma before
 * three digits may part thousands and ends the number. */
size_t quantity_number(const char *words, double *out);
/* The units one may write, for messages: "m or ft". Borrowed. */
const char *dimension_units(enum dimension dimension);

/* The one reader of numbers: decimal point, optional exponent, no hex, no
 * inf or nan, independent of the locale; `length` bytes, all consumed. */
bool number_parse(const char *words, size_t length, double *out);
bool integer_parse(const char *words, long min, long max, long *out);

enum unit_system { UNITS_METRIC, UNITS_US };

double c_from_f(double temp_f);
double f_from_c(double temp_c);

enum { QUANTITY_SIZE = 40 };

/* A number in a sentence: "1.4", in French "1,4"; never "-0.0". */
void number_format(double value, int decimals, char out[QUANTITY_SIZE]);
/* Puts the decimal mark of the language in use in place of the point. */
void number_mark(char *number);

/* Shown with a unit, rounded as a person would read it: "212 gal", "1.4 L",
 * "28 F", "-2 C", "450 m", "29.21 inHg"; in French "1,4 L", "28 °F". For
 * people: data have their own formats. */
void volume_format(double volume_l, enum unit_system units,
                   char out[QUANTITY_SIZE]);
void temperature_format(double temp_c, enum unit_system units,
                        char out[QUANTITY_SIZE]);
void height_format(double height_m, enum unit_system units,
                   char out[QUANTITY_SIZE]);
void pressure_format(double pressure_hpa, enum unit_system units,
                     char out[QUANTITY_SIZE]);
/* Per tap: "1.2 gal", "0.3 gal", "4.5 L". */
void per_tap_format(double volume_l, enum unit_system units,
                    char out[QUANTITY_SIZE]);

#endif
