#include <float.h>
#include <locale.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"

enum { LONGEST_NUMBER = 63, SHORT_NUMBER = 15 };

static size_t digits(const char *words, size_t at, size_t length)
{
    size_t start = at;
    while (at < length && words[at] >= '0' && words[at] <= '9')
        at++;
    return at - start;
}

/* [+-] digits [. digits] [e [+-] digits]; a digit must stand somewhere
 * before the exponent. */
static bool is_number(const char *words, size_t length)
{
    size_t at = 0;
    if (length > 0 && (words[0] == '+' || words[0] == '-'))
        at++;
    size_t whole = digits(words, at, length), part = 0;
    at += whole;
    if (at < length && words[at] == '.') {
        part = digits(words, at + 1, length);
        at += 1 + part;
    }
    if (whole + part == 0)
        return false;
    if (at < length && (words[at] == 'e' || words[at] == 'E')) {
        at++;
        if (at < length && (words[at] == '+' || words[at] == '-'))
            at++;
        size_t exponent = digits(words, at, length);
        if (exponent == 0)
            return false;
        at += exponent;
    }
    return at == length;
}

/* strtod minds the locale's decimal point, so it runs in the C locale. */
static double read_in_c_locale(const char *words)
{
    locale_t c_locale = newlocale(LC_ALL_MASK, "C", (locale_t)0);
    locale_t old = uselocale(c_locale);
    double value = strtod(words, NULL);
    uselocale(old);
    freelocale(c_locale);
    return value;
}

/* What most numbers are: [+-] digits [. digits], at most 15 of them. Both the
 * whole number and the power of ten are then exact, and so is their quotient
 * but for one rounding, which is strtod's (IEEE 754). */
static bool read_short(const char *words, size_t length, double *out)
{
    static const double scales[SHORT_NUMBER + 1] = {
        1,   1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
        1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    size_t start = length > 0 && (words[0] == '+' || words[0] == '-') ? 1 : 0;
    size_t point = length, digits_seen = 0;
    int64_t whole = 0;
    double value;

    for (size_t at = start; at < length; at++) {
        char c = words[at];

        if (c == '.' && point == length) {
            point = at;
            continue;
        }
        if (c < '0' || c > '9' || digits_seen == SHORT_NUMBER)
            return false;
        whole = whole * 10 + (c - '0');
        digits_seen++;
    }
    if (digits_seen == 0 || FLT_EVAL_METHOD != 0)
        return false;
    value = (double)whole;
    if (point < length)
        value /= scales[length - 1 - point];
    *out = words[0] == '-' ? -value : value;
    return true;
}

bool number_parse(const char *words, size_t length, double *out)
{
    char copy[LONGEST_NUMBER + 1];
    if (read_short(words, length, out))
        return true;
    if (length > LONGEST_NUMBER || !is_number(words, length))
        return false;
    memcpy(copy, words, length);
    copy[length] = '\0';
    double value = read_in_c_locale(copy);
    if (!isfinite(value))
        return false;
    *out = value;
    return true;
}

bool integer_parse(const char *words, long min, long max, long *out)
{
    const char *at = words;
    bool negative = *at == '-';
    if (*at == '-' || *at == '+')
        at++;
    size_t length = strlen(at);
    /* 18 digits fit 64 bits; a long may have fewer. */
    if (length == 0 || length > 18 || digits(at, 0, length) != length)
        return false;
    int64_t value = 0;
    for (; *at; at++)
        value = value * 10 + (*at - '0');
    if (negative)
        value = -value;
    if (value < min || value > max)
        return false;
    *out = (long)value;
    return true;
}
