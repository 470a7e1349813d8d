/* JSON out of a tree, as cJSON_PrintUnformatted writes it byte by byte: cJSON
 * prints each number once or twice with sprintf and reads it again between. */
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/decimal.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"

enum {
    SHORT_DECIMALS = 4,
    NUMBER_SIZE = 40,
    NUMBER_BYTES = 8, /* as they come */
    LINE_BYTES = 48 * 1024
};

/* Past this "%.15g" writes an exponent. */
static const double largest_plain = 1e15;

/* A number of at most 15 digits and four decimals is the double nearest to
 * units / 10^decimals, and that is what the division gives: both are exact, and
 * it rounds correctly (IEEE 754). Fifteen digits come back from a double as
 * they were, so they are what "%.15g" writes. 0: it is none of these. */
static size_t short_digits(double number, char *out)
{
    static const double scales[SHORT_DECIMALS + 1] = {1, 10, 100, 1000, 10000};
    double size = fabs(number);
    size_t sign = signbit(number) != 0;

    for (int decimals = 0; decimals <= SHORT_DECIMALS; decimals++) {
        double scaled = size * scales[decimals];
        uint64_t units;

        if (!(scaled < largest_plain - 1))
            return 0;
        units = (uint64_t)(scaled + 0.5);
        if ((double)units / scales[decimals] != size)
            continue;
        out[0] = '-';
        return sign + decimal_digits(units, decimals, out + sign);
    }
    return 0;
}

/* 15 digits where they tell the number to the last bit but one, else 17. */
static size_t long_digits(double number, char out[NUMBER_SIZE])
{
    double again = 0;
    int length = snprintf(out, NUMBER_SIZE, "%1.15g", number);

    if (!number_parse(out, (size_t)length, &again) ||
        fabs(again - number) > fmax(fabs(again), fabs(number)) * DBL_EPSILON)
        length = snprintf(out, NUMBER_SIZE, "%1.17g", number);
    return (size_t)length;
}

/* What is not finite is null. */
static size_t number_digits(double number, char out[NUMBER_SIZE])
{
    static const char null[] = "null";
    size_t length;

    if (!isfinite(number)) {
        memcpy(out, null, sizeof null);
        return sizeof null - 1;
    }
    length = short_digits(number, out);
    return length > 0 ? length : long_digits(number, out);
}

static void add_number(struct text *out, double number)
{
    char digits[NUMBER_SIZE];

    text_add_bytes(out, digits, number_digits(number, digits));
}

static void add_escaped(struct text *out, char c)
{
    static const char plain[] = "\"\\\b\f\n\r\t", letters[] = "\"\\bfnrt";
    const char *found = strchr(plain, c);

    if (found != NULL)
        text_addf(out, "\\%c", letters[found - plain]);
    else
        text_addf(out, "\\u%04x", (unsigned)c);
}

static void add_string(struct text *out, const char *words)
{
    const char *at = words != NULL ? words : "";

    text_add(out, "\"");
    while (*at != '\0') {
        size_t plain = 0;

        while ((unsigned char)at[plain] >= 0x20 && at[plain] != '"' &&
               at[plain] != '\\')
            plain++;
        text_add_bytes(out, at, plain);
        at += plain;
        if (*at != '\0')
            add_escaped(out, *at++);
    }
    text_add(out, "\"");
}

static void add_scalar(struct text *out, const cJSON *item)
{
    if (cJSON_IsNumber(item))
        add_number(out, item->valuedouble);
    else if (cJSON_IsString(item))
        add_string(out, item->valuestring);
    else if (cJSON_IsRaw(item))
        text_add(out, item->valuestring);
    else
        text_add(out, cJSON_IsTrue(item)    ? "true"
                      : cJSON_IsFalse(item) ? "false"
                                            : "null");
}

struct level {
    const cJSON *parent, *next; /* the next of its children to be written */
};

/* A scalar whole, an array or object up to its first child. */
static void begin_item(struct text *out, const cJSON *item,
                       struct level levels[JSON_MAX_DEPTH], int *depth)
{
    bool named = cJSON_IsObject(item);

    if ((!named && !cJSON_IsArray(item)) || *depth == JSON_MAX_DEPTH) {
        add_scalar(out, item);
        return;
    }
    text_add(out, named ? "{" : "[");
    levels[(*depth)++] = (struct level){item, item->child};
}

void json_write(const cJSON *root, struct text *out)
{
    struct level levels[JSON_MAX_DEPTH];
    int depth = 0;

    begin_item(out, root, levels, &depth);
    while (depth > 0) {
        struct level *level = &levels[depth - 1];
        const cJSON *item = level->next;
        bool named = cJSON_IsObject(level->parent);

        if (item == NULL) {
            text_add(out, named ? "}" : "]");
            depth--;
            continue;
        }
        if (item != level->parent->child)
            text_add(out, ",");
        if (named) {
            add_string(out, item->string);
            text_add(out, ":");
        }
        level->next = item->next;
        begin_item(out, item, levels, &depth);
    }
}

char *json_to_text(cJSON *root)
{
    struct text out;

    text_init(&out, SIZE_MAX / 4);
    json_write(root, &out);
    cJSON_Delete(root);
    return text_steal(&out);
}

char *json_to_line(cJSON *root)
{
    struct text out;

    text_init(&out, SIZE_MAX / 4);
    text_reserve(&out, LINE_BYTES);
    json_write(root, &out);
    text_add(&out, "\n");
    cJSON_Delete(root);
    return text_steal(&out);
}

void json_add_text(cJSON *object, const char *key, const char *words)
{
    cJSON_AddItemToObjectCS(object, key, cJSON_CreateString(words));
}

void json_add_number(cJSON *object, const char *key, double number)
{
    cJSON_AddItemToObjectCS(object, key, cJSON_CreateNumber(number));
}

void json_add_bool(cJSON *object, const char *key, bool is)
{
    cJSON_AddItemToObjectCS(object, key, cJSON_CreateBool(is));
}

void json_add_null(cJSON *object, const char *key)
{
    cJSON_AddItemToObjectCS(object, key, cJSON_CreateNull());
}

cJSON *json_add_object(cJSON *object, const char *key)
{
    cJSON *child = cJSON_CreateObject();

    cJSON_AddItemToObjectCS(object, key, child);
    return child;
}

cJSON *json_add_array(cJSON *object, const char *key)
{
    cJSON *child = cJSON_CreateArray();

    cJSON_AddItemToObjectCS(object, key, child);
    return child;
}

double json_rounded(double value, int decimals)
{
    uint64_t units = 0;
    double rounded = value;

    if (!isfinite(value))
        return value;
    if (decimal_round(value, decimals, &units)) {
        rounded = (double)units / decimal_scale(decimals);
        rounded = value < 0 ? -rounded : rounded;
    } else {
        char digits[DECIMAL_SIZE];
        size_t length = decimal_write(value, decimals, digits);

        /* A number too long for the reader has no decimals to round. */
        if (!number_parse(digits, length, &rounded))
            rounded = value;
    }
    return rounded == 0 ? 0.0 : rounded;
}

void json_add_rounded(cJSON *object, const char *key, double value,
                      int decimals)
{
    if (isfinite(value))
        json_add_number(object, key, json_rounded(value, decimals));
    else
        json_add_null(object, key);
}

/* Plus 0: no minus before a zero. */
static double array_rounded(double value, double scale)
{
    return round(value * scale) / scale + 0;
}

void json_round_numbers(double *values, int count, int decimals)
{
    double scale = pow(10, decimals);

    for (int i = 0; i < count; i++)
        values[i] = array_rounded(values[i], scale);
}

void json_add_numbers(cJSON *object, const char *key, const double *values,
                      const bool *known, int count, int decimals)
{
    double scale = pow(10, decimals);
    char item[1 + NUMBER_SIZE];
    struct text out;

    text_init(&out, SIZE_MAX / 4);
    text_reserve(&out, (size_t)count * NUMBER_BYTES);
    for (int i = 0; i < count; i++) {
        bool has = known == NULL || known[i];
        size_t length = number_digits(
            has ? array_rounded(values[i], scale) : NAN, item + 1);

        item[0] = i == 0 ? '[' : ',';
        text_add_bytes(&out, item, 1 + length);
    }
    text_add(&out, count > 0 ? "]" : "[]");
    cJSON_AddItemToObjectCS(object, key, cJSON_CreateRaw(out.bytes));
    text_free(&out);
}
