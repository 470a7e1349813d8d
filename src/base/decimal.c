#include "base/decimal.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

_Static_assert(DBL_MANT_DIG == 53 && DBL_MAX_EXP == 1024 &&
                   sizeof(double) == sizeof(uint64_t),
               "doubles of IEEE 754, binary64");

enum { FRACTION_BITS = 52, EXPONENTS = 0x7ff, POINT = 1075 };

static const uint64_t scales[DECIMAL_MOST + 1] = {1, 10, 100, 1000};

bool decimal_round(double value, int decimals, uint64_t *units)
{
    const uint64_t one = 1;
    uint64_t bits, whole, rest, half;
    int exponent, shift;

    if (decimals < 0 || decimals > DECIMAL_MOST)
        return false;
    memcpy(&bits, &value, sizeof bits);
    exponent = (int)(bits >> FRACTION_BITS) & EXPONENTS;
    whole = bits & ((one << FRACTION_BITS) - 1);
    if (exponent > 0)
        whole |= one << FRACTION_BITS;
    shift = POINT - (exponent > 0 ? exponent : 1);
    if (shift < 0)
        return false;
    /* At most 53 bits and ten more: no overflow. */
    whole *= scales[decimals];
    *units = 0;
    if (shift >= 64)
        return true; /* less than a half */
    if (shift > 0) {
        half = one << (shift - 1);
        rest = whole & ((one << shift) - 1);
        whole >>= shift;
        whole += rest > half || (rest == half && (whole & 1) != 0);
    }
    *units = whole;
    return whole < one << 53;
}

double decimal_scale(int decimals)
{
    return (double)scales[decimals];
}

size_t decimal_digits(uint64_t units, int decimals, char *out)
{
    char digits[40];
    char *end = digits + sizeof digits, *at = end;

    for (int i = 0; i < decimals; i++) {
        *--at = (char)('0' + units % 10);
        units /= 10;
    }
    if (decimals > 0)
        *--at = '.';
    do {
        *--at = (char)('0' + units % 10);
        units /= 10;
    } while (units > 0);
    memcpy(out, at, (size_t)(end - at));
    return (size_t)(end - at);
}

size_t decimal_write(double value, int decimals, char out[DECIMAL_SIZE])
{
    size_t length = 0;
    uint64_t units;

    if (!decimal_round(value, decimals, &units)) {
        int wanted = snprintf(out, DECIMAL_SIZE, "%.*f", decimals, value);

        return wanted < 0 ? 0 : (size_t)wanted;
    }
    if (signbit(value))
        out[length++] = '-';
    length += decimal_digits(units, decimals, out + length);
    out[length] = '\0';
    return length;
}
