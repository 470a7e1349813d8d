#include "base/progress.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bool can_go_back(void)
{
    const char *terminal = getenv("TERM");

    return terminal != NULL && terminal[0] != '\0' &&
           strcmp(terminal, "dumb") != 0;
}

void progress_say(const char *format, ...)
{
    bool back = can_go_back();
    va_list values;

    if (!isatty(STDERR_FILENO))
        return;
    fputs(back ? "\r\033[K" : "", stderr);
    va_start(values, format);
    vfprintf(stderr, format, values);
    va_end(values);
    fputs(back ? "" : "\n", stderr);
    fflush(stderr);
}

void progress_end(void)
{
    if (!isatty(STDERR_FILENO) || !can_go_back())
        return;
    fputs("\r\033[K", stderr);
    fflush(stderr);
}
