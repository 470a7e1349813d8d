#include "base/units.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/words.h"

/* inside = value * factor + offset; the word in capitals or small letters. */
struct unit {
    const char *word;
    enum dimension dimension;
    double factor;
    double offset;
};

#define KPA_PER_MMHG 0.1333224 /* NIST SP 811 (2008), B.8 */
#define DEGREE "\xC2\xB0"
#define SQUARE "\xC2\xB2"

static const struct unit units[] = {
    {"m", DIMENSION_HEIGHT_M, 1, 0},
    {"ft", DIMENSION_HEIGHT_M, M_PER_FOOT, 0},
    {"L", DIMENSION_VOLUME_L, 1, 0},
    {"ml", DIMENSION_VOLUME_L, 1e-3, 0},
    {"hl", DIMENSION_VOLUME_L, 100, 0},
    {"m3", DIMENSION_VOLUME_L, 1000, 0},
    {"gal", DIMENSION_VOLUME_L, L_PER_US_GALLON, 0},
    {"qt", DIMENSION_VOLUME_L, L_PER_US_GALLON / 4, 0},
    {"pt", DIMENSION_VOLUME_L, L_PER_US_GALLON / 8, 0},
    {"L/h", DIMENSION_RATE_L_H, 1, 0},
    {"gal/h", DIMENSION_RATE_L_H, L_PER_US_GALLON, 0},
    {"inHg", DIMENSION_VACUUM_KPA, KPA_PER_INHG, 0},
    {"kPa", DIMENSION_VACUUM_KPA, 1, 0},
    {"hPa", DIMENSION_VACUUM_KPA, 0.1, 0},
    {"mmHg", DIMENSION_VACUUM_KPA, KPA_PER_MMHG, 0},
    {"hPa", DIMENSION_PRESSURE_HPA, 1, 0},
    {"mbar", DIMENSION_PRESSURE_HPA, 1, 0},
    {"kPa", DIMENSION_PRESSURE_HPA, 10, 0},
    {"inHg", DIMENSION_PRESSURE_HPA, KPA_PER_INHG * 10, 0},
    {"mmHg", DIMENSION_PRESSURE_HPA, KPA_PER_MMHG * 10, 0},
    {"C", DIMENSION_TEMPERATURE_C, 1, 0},
    {DEGREE "C", DIMENSION_TEMPERATURE_C, 1, 0},
    {"F", DIMENSION_TEMPERATURE_C, 5.0 / 9.0, -160.0 / 9.0},
    {DEGREE "F", DIMENSION_TEMPERATURE_C, 5.0 / 9.0, -160.0 / 9.0},
    {"m2", DIMENSION_AREA_M2, 1, 0},
    {"m" SQUARE, DIMENSION_AREA_M2, 1, 0},
    {"ft2", DIMENSION_AREA_M2, M_PER_FOOT *M_PER_FOOT, 0},
    {"ft" SQUARE, DIMENSION_AREA_M2, M_PER_FOOT *M_PER_FOOT, 0},
    {"Brix", DIMENSION_SUGAR_BRIX, 1, 0},
    {DEGREE "Brix", DIMENSION_SUGAR_BRIX, 1, 0},
    {"%", DIMENSION_SUGAR_BRIX, 1, 0},
    {"L/m3", DIMENSION_SYRUP_PER_WOOD, 1, 0},
    {"L syrup per m3", DIMENSION_SYRUP_PER_WOOD, 1, 0},
    {"gal/cord", DIMENSION_SYRUP_PER_WOOD, L_PER_US_GALLON / M3_PER_CORD, 0},
    {"gal syrup per cord", DIMENSION_SYRUP_PER_WOOD,
     L_PER_US_GALLON / M3_PER_CORD, 0},
    {"%", DIMENSION_SHARE_PCT, 1, 0},
};

/* Lengths that may stand in "2 x 6 ft", in metres. */
static const struct unit sides[] = {
    {"m", DIMENSION_AREA_M2, 1, 0},
    {"cm", DIMENSION_AREA_M2, 0.01, 0},
    {"mm", DIMENSION_AREA_M2, 0.001, 0},
    {"ft", DIMENSION_AREA_M2, M_PER_FOOT, 0},
    {"in", DIMENSION_AREA_M2, M_PER_INCH, 0},
};

const char *dimension_units(enum dimension dimension)
{
    static const char *const words[DIMENSION_COUNT] = {
        [DIMENSION_HEIGHT_M] = N_("m or ft"),
        [DIMENSION_VOLUME_L] = N_("L, ml, hl, m3, gal, qt or pt"),
        [DIMENSION_RATE_L_H] = N_("L/h or gal/h"),
        [DIMENSION_VACUUM_KPA] = N_("inHg, kPa, hPa or mmHg"),
        [DIMENSION_PRESSURE_HPA] = N_("hPa, mbar, kPa, inHg or mmHg"),
        [DIMENSION_TEMPERATURE_C] = N_("C or F"),
        [DIMENSION_AREA_M2] = N_("m2, ft2, or two sides such as 2 x 6 ft"),
        [DIMENSION_SUGAR_BRIX] = N_("Brix or %"),
        [DIMENSION_SYRUP_PER_WOOD] = N_("gal syrup per cord or L/m3"),
        [DIMENSION_SHARE_PCT] = N_("%"),
    };
    return _(words[dimension]);
}

static const struct unit *find_unit(const struct unit *table, size_t count,
                                    enum dimension dimension, const char *word)
{
    for (size_t i = 0; i < count; i++)
        if (table[i].dimension == dimension &&
            strcasecmp(table[i].word, word) == 0)
            return &table[i];
    return NULL;
}

static const char *skip_blanks(const char *words)
{
    return words + strspn(words, " \t");
}

/* A comma that is the decimal point of some languages. Before three digits it
 * may be meant to part the thousands, and is not. */
static bool is_point(const char *at)
{
    size_t digits = *at == ',' ? strspn(at + 1, "0123456789") : 0;
    return digits > 0 && digits != 3;
}

/* Bytes of the number at the start, so that what follows is the unit. An 'e'
 * counts only with digits behind it. */
static size_t number_length(const char *words)
{
    size_t at = words[0] == '+' || words[0] == '-' ? 1 : 0;
    at += strspn(words + at, "0123456789.");
    if (is_point(words + at) && !memchr(words, '.', at))
        at += 1 + strspn(words + at + 1, "0123456789");
    if (words[at] == 'e' || words[at] == 'E') {
        size_t sign = words[at + 1] == '+' || words[at + 1] == '-' ? 1 : 0;
        size_t exponent = strspn(words + at + 1 + sign, "0123456789");
        if (exponent)
            at += 1 + sign + exponent;
    }
    return at;
}

size_t quantity_number(const char *words, double *out)
{
    char number[64];
    size_t length = number_length(words);
    if (length == 0 || length >= sizeof number)
        return 0;
    memcpy(number, words, length);
    char *comma = memchr(number, ',', length);
    if (comma)
        *comma = '.';
    return number_parse(number, length, out) ? length : 0;
}

/* The unit's words: blanks folded, none at the end. False if too long. */
static bool fold_blanks(const char *words, char *out, size_t size)
{
    size_t at = 0;
    for (const char *p = skip_blanks(words); *p;) {
        bool blank = *p == ' ' || *p == '\t';
        if (blank && *(p = skip_blanks(p)) == '\0')
            break;
        if (at + 2 >= size)
            return false;
        if (blank)
            out[at++] = ' ';
        out[at++] = *p++;
    }
    out[at] = '\0';
    return true;
}

static int bad_number(const char *words, enum dimension dimension,
                      struct error *err)
{
    return error_set(err,
                     _("\"%.60s\" does not start with a number; write a "
                       "number and a unit (%s)"),
                     words, dimension_units(dimension));
}

static int bad_unit(const char *words, const char *unit,
                    enum dimension dimension, struct error *err)
{
    if (!*unit)
        return error_set(err, _("\"%.60s\" has no unit; write one of: %s"),
                         words, dimension_units(dimension));
    if (*unit == ',')
        return error_set(err,
                         _("\"%.60s\" may be one number or another; write "
                           "such as 1900 or 1.9, without a comma"),
                         words);
    return error_set(err,
                     _("\"%.60s\" is not a unit known here; write one "
                       "of: %s"),
                     unit, dimension_units(dimension));
}

static int give_finite(double value, const char *words, double *out,
                       struct error *err)
{
    if (!isfinite(value))
        return error_set(err, _("\"%.60s\" is too large a number"), words);
    *out = value;
    return 0;
}

/* "x 6 ft" after the first side. */
static int parse_sides(const char *words, const char *rest, double first,
                       double *out, struct error *err)
{
    char word[40];
    double second;
    rest = skip_blanks(rest + 1);
    size_t length = quantity_number(rest, &second);
    if (length == 0)
        return bad_number(rest, DIMENSION_AREA_M2, err);
    bool fits = fold_blanks(rest + length, word, sizeof word);
    const struct unit *unit =
        fits ? find_unit(sides, sizeof sides / sizeof *sides, DIMENSION_AREA_M2,
                         word)
             : NULL;
    if (!unit)
        return bad_unit(words, skip_blanks(rest + length), DIMENSION_AREA_M2,
                        err);
    return give_finite(first * unit->factor * (second * unit->factor), words,
                       out, err);
}

int quantity_parse(const char *words, enum dimension dimension, double *out,
                   struct error *err)
{
    char word[40];
    double value;
    const char *start = skip_blanks(words);
    size_t length = quantity_number(start, &value);
    if (length == 0)
        return bad_number(words, dimension, err);
    const char *rest = skip_blanks(start + length);
    if (dimension == DIMENSION_AREA_M2 && *rest == 'x')
        return parse_sides(words, rest, value, out, err);
    bool fits = fold_blanks(rest, word, sizeof word);
    const struct unit *unit =
        fits ? find_unit(units, sizeof units / sizeof *units, dimension, word)
             : NULL;
    if (!unit)
        return bad_unit(words, rest, dimension, err);
    return give_finite(value * unit->factor + unit->offset, words, out, err);
}

double c_from_f(double temp_f)
{
    return (temp_f - 32) * 5 / 9;
}

double f_from_c(double temp_c)
{
    return temp_c * 9 / 5 + 32;
}
