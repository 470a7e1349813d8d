#include "store/weather_day.h"

#include <math.h>
#include <string.h>

enum { VERSION = 1, TIMES_BYTES = 16, VALUE_BYTES = 10, MASK_BYTES = 3 };

_Static_assert((int)DAY_MAX_SOURCES <= UINT8_MAX, "a number is one byte");
_Static_assert(2 + DAY_MAX_SOURCES * (int)(1 + 32 + TIMES_BYTES) +
                       QUANTITY_COUNT *
                           (1 + MASK_BYTES + DAY_HOURS * VALUE_BYTES) <=
                   (int)DAY_MAX_BYTES,
               "a full day fits");

/* Never another letter for one that has been written. */
static const char letters[QUANTITY_COUNT] = {
    [AIR_TEMP_C] = 't',
    [SHORTWAVE_W_M2] = 's',
    [WIND_M_S] = 'w',
    [REL_HUMIDITY_PCT] = 'h',
    [PRESSURE_HPA] = 'p',
    [PRECIP_MM] = 'r',
    [SEA_LEVEL_PRESSURE_HPA] = 'l',
    [CLOUD_PCT] = 'c',
    [DEW_POINT_C] = 'd',
};

void weather_day_clear(struct weather_day *day)
{
    day->source_count = 0;
    memset(day->values, 0, sizeof day->values);
}

int weather_day_source(struct weather_day *day, const struct day_source *source)
{
    for (int i = 0; i < day->source_count; i++)
        if (day->sources[i].issued == source->issued &&
            day->sources[i].fetched == source->fetched &&
            strcmp(day->sources[i].name, source->name) == 0)
            return i;
    if (day->source_count == DAY_MAX_SOURCES)
        return -1;
    day->sources[day->source_count] = *source;
    return day->source_count++;
}

/* What is left to be read; a read past the end gives 0 and says `cut`. */
struct reader {
    const unsigned char *at, *end;
    bool cut;
};

static const unsigned char *take(struct reader *reader, size_t size)
{
    const unsigned char *at = reader->at;

    if ((size_t)(reader->end - at) < size) {
        reader->cut = true;
        return NULL;
    }
    reader->at += size;
    return at;
}

static uint64_t take_number(struct reader *reader, size_t size)
{
    const unsigned char *at = take(reader, size);
    uint64_t number = 0;

    for (size_t i = size; at != NULL && i > 0; i--)
        number = number << 8 | at[i - 1];
    return number;
}

static void read_source(struct reader *reader, struct day_source *source)
{
    size_t length = (size_t)take_number(reader, 1);
    const unsigned char *name = take(reader, length);

    if (length >= sizeof source->name)
        reader->cut = true;
    memset(source, 0, sizeof *source);
    if (name != NULL && !reader->cut)
        memcpy(source->name, name, length);
    source->issued = (utc_s)take_number(reader, sizeof source->issued);
    source->fetched = (utc_s)take_number(reader, sizeof source->fetched);
}

static int quantity_of(unsigned letter)
{
    for (int q = 0; q < QUANTITY_COUNT; q++)
        if ((unsigned char)letters[q] == letter)
            return q;
    return -1;
}

static uint64_t number_at(const unsigned char *at)
{
    return (uint64_t)at[0] | (uint64_t)at[1] << 8 | (uint64_t)at[2] << 16 |
           (uint64_t)at[3] << 24 | (uint64_t)at[4] << 32 |
           (uint64_t)at[5] << 40 | (uint64_t)at[6] << 48 |
           (uint64_t)at[7] << 56;
}

static void read_value(struct reader *reader, const struct weather_day *day,
                       enum quantity quantity, struct day_value *out)
{
    const unsigned char *at = take(reader, VALUE_BYTES);
    uint64_t bits;

    if (at == NULL)
        return;
    bits = number_at(at + 2);
    memcpy(&out->value, &bits, sizeof bits);
    out->source = at[1];
    if (at[0] < ORIGIN_COUNT && at[1] < day->source_count &&
        isfinite(out->value) && quantity_check(quantity, out->value, NULL) == 0)
        out->origin = at[0];
}

static void read_quantity(struct reader *reader, struct weather_day *day,
                          int only)
{
    int quantity = quantity_of((unsigned)take_number(reader, 1));
    unsigned hours = (unsigned)take_number(reader, MASK_BYTES);

    if (quantity < 0 || (only >= 0 && quantity != only)) {
        take(reader, (size_t)__builtin_popcount(hours) * VALUE_BYTES);
        return;
    }
    for (int hour = 0; hour < DAY_HOURS; hour++)
        if ((hours >> hour & 1) != 0)
            read_value(reader, day, (enum quantity)quantity,
                       &day->values[quantity][hour]);
}

void weather_day_read(struct weather_day *day, const void *bytes, size_t length,
                      int quantity)
{
    struct reader reader = {bytes, NULL, false};
    int count;

    weather_day_clear(day);
    if (bytes == NULL)
        return;
    reader.end = reader.at + length;
    if (take_number(&reader, 1) != VERSION)
        return;
    count = (int)take_number(&reader, 1);
    for (int i = 0; i < count && i < DAY_MAX_SOURCES && !reader.cut; i++)
        read_source(&reader, &day->sources[day->source_count++]);
    while (!reader.cut && reader.at < reader.end)
        read_quantity(&reader, day, quantity);
}

static unsigned char *put_number(unsigned char *at, uint64_t number,
                                 size_t size)
{
    for (size_t i = 0; i < size; i++)
        at[i] = (unsigned char)(number >> (8 * i));
    return at + size;
}

/* The sources that have values, numbered anew; their count. */
static int number_sources(const struct weather_day *day,
                          uint8_t number[DAY_MAX_SOURCES])
{
    bool used[DAY_MAX_SOURCES] = {false};
    uint8_t count = 0;

    for (int q = 0; q < QUANTITY_COUNT; q++)
        for (int hour = 0; hour < DAY_HOURS; hour++)
            if (day->values[q][hour].origin != ORIGIN_NONE)
                used[day->values[q][hour].source] = true;
    for (int i = 0; i < DAY_MAX_SOURCES; i++)
        number[i] = used[i] ? count++ : UINT8_MAX;
    return count;
}

static unsigned char *put_source(unsigned char *at,
                                 const struct day_source *source)
{
    size_t length = strlen(source->name);

    at = put_number(at, length, 1);
    memcpy(at, source->name, length);
    at = put_number(at + length, (uint64_t)source->issued,
                    sizeof source->issued);
    return put_number(at, (uint64_t)source->fetched, sizeof source->fetched);
}

static unsigned char *put_value(unsigned char *at,
                                const struct day_value *value,
                                const uint8_t number[DAY_MAX_SOURCES])
{
    uint64_t bits;

    memcpy(&bits, &value->value, sizeof bits);
    at[0] = value->origin;
    at[1] = number[value->source];
    return put_number(at + 2, bits, sizeof bits);
}

static unsigned char *put_quantity(unsigned char *at,
                                   const struct weather_day *day, int quantity,
                                   const uint8_t number[DAY_MAX_SOURCES])
{
    const struct day_value *values = day->values[quantity];
    unsigned hours = 0;

    for (int hour = 0; hour < DAY_HOURS; hour++)
        if (values[hour].origin != ORIGIN_NONE)
            hours |= 1u << hour;
    if (hours == 0)
        return at;
    at = put_number(at, (unsigned char)letters[quantity], 1);
    at = put_number(at, hours, MASK_BYTES);
    for (int hour = 0; hour < DAY_HOURS; hour++)
        if (values[hour].origin != ORIGIN_NONE)
            at = put_value(at, &values[hour], number);
    return at;
}

size_t weather_day_write(const struct weather_day *day,
                         unsigned char out[DAY_MAX_BYTES])
{
    uint8_t number[DAY_MAX_SOURCES];
    int count = number_sources(day, number);
    unsigned char *at = put_number(out, VERSION, 1);

    at = put_number(at, (uint64_t)count, 1);
    for (int i = 0; i < day->source_count; i++)
        if (number[i] != UINT8_MAX)
            at = put_source(at, &day->sources[i]);
    for (int q = 0; q < QUANTITY_COUNT; q++)
        at = put_quantity(at, day, q, number);
    return (size_t)(at - out);
}
