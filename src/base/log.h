/* The log: one event a line on standard error. Under journald (JOURNAL_STREAM
 * names fd 2) a `<N>` level prefix and no time; else an ISO time in UTC.
 * Controls of ASCII become blanks, other controls and bytes that are no UTF-8
 * question marks. Its level and the language in use (base/words.h) are the
 * program's only global state. Keeps errno. */
#ifndef BASE_LOG_H
#define BASE_LOG_H

enum log_level {
    LOG_LEVEL_ERROR,
    LOG_LEVEL_WARN,
    LOG_LEVEL_INFO,
    LOG_LEVEL_DEBUG
};

void log_set_level(enum log_level level); /* default LOG_LEVEL_WARN */
void log_error(const char *format, ...) __attribute__((format(printf, 1, 2)));
void log_warn(const char *format, ...) __attribute__((format(printf, 1, 2)));
void log_info(const char *format, ...) __attribute__((format(printf, 1, 2)));
void log_debug(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
