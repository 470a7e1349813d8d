#include "base/catalogue.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"

enum { HEADER_BYTES = 28, ROW_BYTES = 8 };
#define MAGIC 0x950412deU

struct catalogue {
    char *bytes;
    size_t length;
    uint32_t count;
    uint32_t english, words; /* where the two tables begin */
};

static uint32_t number_at(const struct catalogue *catalogue, size_t offset)
{
    const unsigned char *at = (const unsigned char *)catalogue->bytes + offset;

    return at[0] | (uint32_t)at[1] << 8 | (uint32_t)at[2] << 16 |
           (uint32_t)at[3] << 24;
}

static const char *text_at(const struct catalogue *catalogue, uint32_t table,
                           uint32_t row)
{
    return catalogue->bytes +
           number_at(catalogue, table + (size_t)row * ROW_BYTES + 4);
}

static bool table_fits(const struct catalogue *catalogue, uint32_t table)
{
    return table <= catalogue->length &&
           catalogue->count <= (catalogue->length - table) / ROW_BYTES;
}

/* A row's text lies within the bytes and ends with a NUL. */
static bool row_fits(const struct catalogue *catalogue, uint32_t table,
                     uint32_t row)
{
    size_t place = table + (size_t)row * ROW_BYTES;
    size_t length = number_at(catalogue, place);
    size_t offset = number_at(catalogue, place + 4);

    return offset < catalogue->length && length < catalogue->length - offset &&
           catalogue->bytes[offset + length] == '\0' &&
           utf8_valid(catalogue->bytes + offset, length);
}

/* Several forms stand one after the other, each with its NUL. */
static const char *form_at(const struct catalogue *catalogue, uint32_t row,
                           int form)
{
    const char *words = text_at(catalogue, catalogue->words, row);
    size_t length =
        number_at(catalogue, catalogue->words + (size_t)row * ROW_BYTES);
    size_t first = strlen(words);

    return form > 0 && first < length ? words + first + 1 : words;
}

/* The header is the translation of "", which sorts first. */
static bool has_french_plural(const struct catalogue *catalogue)
{
    return catalogue->count > 0 &&
           text_at(catalogue, catalogue->english, 0)[0] == '\0' &&
           strstr(text_at(catalogue, catalogue->words, 0),
                  "nplurals=2; plural=(n > 1);") != NULL;
}

static bool is_sound(const struct catalogue *catalogue)
{
    if (number_at(catalogue, 0) != MAGIC || number_at(catalogue, 4) != 0 ||
        !table_fits(catalogue, catalogue->english) ||
        !table_fits(catalogue, catalogue->words))
        return false;
    for (uint32_t row = 0; row < catalogue->count; row++)
        if (!row_fits(catalogue, catalogue->english, row) ||
            !row_fits(catalogue, catalogue->words, row) ||
            (row > 0 &&
             strcmp(text_at(catalogue, catalogue->english, row - 1),
                    text_at(catalogue, catalogue->english, row)) >= 0))
            return false;
    return has_french_plural(catalogue);
}

struct catalogue *catalogue_open(char *bytes, size_t length)
{
    struct catalogue *catalogue;

    if (length < HEADER_BYTES)
        return NULL;
    catalogue = mem_alloc(1, sizeof *catalogue);
    *catalogue = (struct catalogue){.bytes = bytes, .length = length};
    catalogue->count = number_at(catalogue, 8);
    catalogue->english = number_at(catalogue, 12);
    catalogue->words = number_at(catalogue, 16);
    if (is_sound(catalogue))
        return catalogue;
    free(catalogue);
    return NULL;
}

void catalogue_free(struct catalogue *catalogue)
{
    if (catalogue != NULL)
        free(catalogue->bytes);
    free(catalogue);
}

const char *catalogue_find(const struct catalogue *catalogue,
                           const char *english, int form)
{
    uint32_t low = 0, high = catalogue->count;

    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        int order =
            strcmp(english, text_at(catalogue, catalogue->english, middle));

        if (order == 0)
            return form_at(catalogue, middle, form);
        if (order < 0)
            high = middle;
        else
            low = middle + 1;
    }
    return NULL;
}
