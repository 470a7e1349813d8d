/* Figures with a fixed number of decimals, by whole-number arithmetic: exactly
 * what printf's "%.*f" writes in the C locale, in a twentieth of the time. */
#ifndef BASE_DECIMAL_H
#define BASE_DECIMAL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* DECIMAL_SIZE: enough for every double and the NUL. */
enum { DECIMAL_MOST = 3, DECIMAL_SIZE = 336 };

/* The value's size times 10^decimals, rounded to the nearest whole number, a
 * tie to the even one; the value is taken as the exact binary number it is.
 * False for more than DECIMAL_MOST decimals, for what is not finite and for
 * results of 2^53 and more. */
bool decimal_round(double value, int decimals, uint64_t *units);

double decimal_scale(int decimals); /* 10^decimals, up to DECIMAL_MOST */

/* Writes digits of at least one place before the point and exactly `decimals`
 * behind it, without sign and NUL; returns how many characters. */
size_t decimal_digits(uint64_t units, int decimals, char *out);

/* The same as printf's "%.*f", for every value and decimals from 0 to 15;
 * returns its length. */
size_t decimal_write(double value, int decimals, char out[DECIMAL_SIZE]);

#endif
