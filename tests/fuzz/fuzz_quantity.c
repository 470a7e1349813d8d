/* Any text as a number and as a quantity of each dimension: what is taken is
 * finite, and shown in words that are some. */
#include "promise.h"

#include <math.h>

#include "base/units.h"

static void check_number(const char *words)
{
    double value = NAN, again = NAN;
    long integer = 0;
    char written[64];

    if (number_parse(words, strlen(words), &value)) {
        PROMISE(isfinite(value));
        snprintf(written, sizeof written, "%.17g", value);
        PROMISE(number_parse(written, strlen(written), &again));
        PROMISE(again >= value && again <= value);
    }
    if (integer_parse(words, -1000, 1000, &integer)) {
        PROMISE(integer >= -1000 && integer <= 1000);
        PROMISE(number_parse(words, strlen(words), &value));
        PROMISE(fabs(value - (double)integer) < 0.5);
    }
}

static void check_shown(double value)
{
    char shown[QUANTITY_SIZE];

    for (int units = UNITS_METRIC; units <= UNITS_US; units++) {
        static void (*const formats[])(double, enum unit_system,
                                       char[QUANTITY_SIZE]) = {
            volume_format, temperature_format, height_format, pressure_format,
            per_tap_format};

        for (size_t i = 0; i < sizeof formats / sizeof *formats; i++) {
            formats[i](value, (enum unit_system)units, shown);
            PROMISE(strlen(shown) >= 3 && strlen(shown) < QUANTITY_SIZE);
            PROMISE(utf8_valid(shown, strlen(shown)));
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *words = input_text(data, size);

    check_number(words);
    for (int i = 0; i < DIMENSION_COUNT; i++) {
        struct error err = {""};
        double value = NAN;
        int result = quantity_parse(words, (enum dimension)i, &value, &err);

        PROMISE(result == 0 || result == -1);
        if (result != 0) {
            PROMISE(strlen(err.text) > 5);
            continue;
        }
        PROMISE(isfinite(value));
        check_shown(value);
    }
    free(words);
    return 0;
}
