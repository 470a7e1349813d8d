#include "base/log.h"

#include <errno.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/civil_time.h"
#include "base/text.h"

enum { LINE_SIZE = 2048 };

static enum log_level current_level = LOG_LEVEL_WARN;

void log_set_level(enum log_level level)
{
    current_level = level;
}

/* JOURNAL_STREAM is "device:inode" of the journal's socket, systemd.exec(5);
 * it is inherited by children whose stderr may be elsewhere by now. */
static bool is_journal(void)
{
    const char *stream = getenv("JOURNAL_STREAM");
    struct stat status;
    if (!stream || fstat(STDERR_FILENO, &status) != 0)
        return false;
    char own[64];
    snprintf(own, sizeof own, "%ju:%ju", (uintmax_t)status.st_dev,
             (uintmax_t)status.st_ino);
    return strcmp(own, stream) == 0;
}

static int start_line(char *line, size_t size, enum log_level level)
{
    /* Levels of syslog(3), as sd-daemon(3) wants them. */
    static const int journal_level[] = {3, 4, 6, 7};
    static const char *const words[] = {"error", "warning", "info", "debug"};
    if (is_journal())
        return snprintf(line, size, "<%d>", journal_level[level]);
    char when[ISO_TIME_SIZE];
    iso_time_utc((utc_s)time(NULL), when);
    return snprintf(line, size, "%s %s: ", when, words[level]);
}

/* One event is one line, whatever a stranger's words hold, and no terminal is
 * steered by it. */
static void flatten(char *words)
{
    for (unsigned char *p = (unsigned char *)words; *p; p++)
        if (*p < 0x20 || *p == 0x7F)
            *p = ' ';
    utf8_make_plain(words);
}

static void write_all(const char *bytes, size_t length)
{
    while (length > 0) {
        ssize_t done = write(STDERR_FILENO, bytes, length);
        if (done < 0 && errno == EINTR)
            continue;
        if (done <= 0)
            return;
        bytes += done;
        length -= (size_t)done;
    }
}

__attribute__((format(printf, 2, 0))) static void
log_line(enum log_level level, const char *format, va_list args)
{
    if (level > current_level)
        return;
    int saved_errno = errno;
    char line[LINE_SIZE];
    size_t at = (size_t)start_line(line, sizeof line, level);
    errno = saved_errno; /* for %m */
    int wanted = vsnprintf(line + at, sizeof line - at - 1, format, args);
    size_t end = strlen(line);
    if (wanted > 0 && at + (size_t)wanted > end)
        end = utf8_cut(line, end, end);
    line[end] = '\0';
    flatten(line);
    end = strlen(line);
    line[end] = '\n';
    write_all(line, end + 1);
    errno = saved_errno;
}

void log_error(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    log_line(LOG_LEVEL_ERROR, format, args);
    va_end(args);
}

void log_warn(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    log_line(LOG_LEVEL_WARN, format, args);
    va_end(args);
}

void log_info(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    log_line(LOG_LEVEL_INFO, format, args);
    va_end(args);
}

void log_debug(const char *format, ...)
{
    va_list args;
    va_start(args, format);
    log_line(LOG_LEVEL_DEBUG, format, args);
    va_end(args);
}
