#include "base/error.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"

/* vsnprintf cuts at bytes; this cuts back to the end of a character. Words of
 * strangers stand in many sentences. */
__attribute__((format(printf, 3, 0))) static void
format_text(char *text, size_t size, const char *format, va_list args)
{
    int wanted = vsnprintf(text, size, format, args);

    if (wanted < 0)
        text[0] = '\0';
    else if ((size_t)wanted >= size)
        text[utf8_cut(text, size - 1, size - 1)] = '\0';
    utf8_make_plain(text);
}

int error_set(struct error *err, const char *format, ...)
{
    if (!err)
        return -1;
    /* An argument may be err->text itself, so not in place. */
    char text[sizeof err->text];
    va_list args;
    va_start(args, format);
    format_text(text, sizeof text, format, args);
    va_end(args);
    memcpy(err->text, text, strlen(text) + 1);
    return -1;
}

int error_prefix(struct error *err, const char *format, ...)
{
    if (!err)
        return -1;
    char text[sizeof err->text];
    va_list args;
    va_start(args, format);
    format_text(text, sizeof text, format, args);
    va_end(args);
    char *rest = mem_copy_text(err->text);
    error_set(err, "%s%s", text, rest);
    free(rest);
    return -1;
}

void error_list_add(struct error_list *list, const char *format, ...)
{
    struct error err;
    va_list args;
    va_start(args, format);
    format_text(err.text, sizeof err.text, format, args);
    va_end(args);
    list->items =
        mem_resize(list->items, (size_t)list->count + 1, sizeof *list->items);
    list->items[list->count++] = mem_copy_text(err.text);
}

void error_list_free(struct error_list *list)
{
    for (int i = 0; i < list->count; i++)
        free(list->items[i]);
    free(list->items);
    list->items = NULL;
    list->count = 0;
}
