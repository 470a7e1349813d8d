#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/decimal.h"
#include "base/memory.h"

enum { FIRST_SIZE = 64 };

void text_init(struct text *text, size_t max_bytes)
{
    *text = (struct text){.max = max_bytes, .size = FIRST_SIZE};
    text->bytes = mem_alloc(FIRST_SIZE, 1);
}

void text_free(struct text *text)
{
    free(text->bytes);
    *text = (struct text){0};
}

void text_clear(struct text *text)
{
    text->length = 0;
    text->full = false;
    if (text->bytes)
        text->bytes[0] = '\0';
}

static void text_grow(struct text *text, size_t wanted)
{
    if (wanted <= text->size)
        return;
    size_t size = text->size ? text->size : FIRST_SIZE;
    while (size < wanted)
        size = size > text->max ? wanted : size * 2;
    text->bytes = mem_resize(text->bytes, size, 1);
    text->size = size;
}

void text_reserve(struct text *text, size_t bytes)
{
    text_grow(text, (bytes < text->max ? bytes : text->max) + 1);
}

void text_add_bytes(struct text *text, const char *bytes, size_t length)
{
    if (text->full)
        return;
    size_t room = text->max - text->length;
    if (length > room) {
        text->full = true;
        length = utf8_cut(bytes, length, room);
    }
    if (length == 0)
        return;
    text_grow(text, text->length + length + 1);
    memcpy(text->bytes + text->length, bytes, length);
    text->length += length;
    text->bytes[text->length] = '\0';
}

void text_add(struct text *text, const char *words)
{
    text_add_bytes(text, words, strlen(words));
}

void text_addf(struct text *text, const char *format, ...)
{
    char small[256];
    va_list args;
    va_start(args, format);
    int wanted = vsnprintf(small, sizeof small, format, args);
    va_end(args);
    if (wanted < 0)
        return;
    if ((size_t)wanted < sizeof small) {
        text_add_bytes(text, small, (size_t)wanted);
        return;
    }
    char *large = mem_alloc((size_t)wanted + 1, 1);
    va_start(args, format);
    vsnprintf(large, (size_t)wanted + 1, format, args);
    va_end(args);
    text_add_bytes(text, large, (size_t)wanted);
    free(large);
}

void text_add_fixed(struct text *text, double value, int decimals)
{
    char digits[DECIMAL_SIZE];

    text_add_bytes(text, digits, decimal_write(value, decimals, digits));
}

char *text_steal(struct text *text)
{
    char *bytes = text->bytes;
    *text = (struct text){.max = text->max};
    return bytes;
}
