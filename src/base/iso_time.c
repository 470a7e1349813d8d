#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/civil_time.h"
#include "base/words.h"

/* Reads exactly `digits` digits; false leaves *at alone. */
static bool take_digits(const char **at, int digits, int *out)
{
    int value = 0;
    for (int i = 0; i < digits; i++) {
        char c = (*at)[i];
        if (c < '0' || c > '9')
            return false;
        value = value * 10 + (c - '0');
    }
    *out = value;
    *at += digits;
    return true;
}

static bool take_char(const char **at, char wanted)
{
    if (**at != wanted)
        return false;
    (*at)++;
    return true;
}

static bool take_date(const char **at, struct civil_date *date)
{
    return take_digits(at, 4, &date->year) && take_char(at, '-') &&
           take_digits(at, 2, &date->month) && take_char(at, '-') &&
           take_digits(at, 2, &date->day) && civil_date_valid(*date);
}

static bool take_fraction(const char **at)
{
    if (!take_char(at, '.') && !take_char(at, ','))
        return true;
    int digit;
    if (!take_digits(at, 1, &digit))
        return false;
    while (take_digits(at, 1, &digit))
        ;
    return true;
}

static bool take_clock(const char **at, int64_t *seconds)
{
    int hour, minute, second = 0;
    if (!take_digits(at, 2, &hour) || !take_char(at, ':') ||
        !take_digits(at, 2, &minute))
        return false;
    if (take_char(at, ':') &&
        (!take_digits(at, 2, &second) || !take_fraction(at)))
        return false;
    *seconds = hour * 3600 + minute * 60 + second;
    return hour <= 23 && minute <= 59 && second <= 60;
}

static bool take_offset(const char **at, int default_offset_s, int *offset_s)
{
    *offset_s = default_offset_s;
    if (**at == '\0')
        return true;
    *offset_s = 0;
    if (take_char(at, 'Z'))
        return true;
    int sign = **at == '-' ? -1 : 1;
    if (!take_char(at, '+') && !take_char(at, '-'))
        return false;
    int hour, minute = 0;
    if (!take_digits(at, 2, &hour))
        return false;
    if (**at != '\0') {
        take_char(at, ':');
        if (!take_digits(at, 2, &minute))
            return false;
    }
    *offset_s = sign * (hour * 3600 + minute * 60);
    return hour <= 23 && minute <= 59;
}

static utc_s instant_of(struct civil_date date, int64_t seconds)
{
    return civil_day_number(date) * SECONDS_PER_DAY + seconds;
}

/* A day is left at both ends for the offset of who writes it. */
static bool can_be_written(utc_s instant)
{
    const struct civil_date first = {1, 1, 2}, end = {9999, 12, 31};

    return instant >= civil_day_number(first) * SECONDS_PER_DAY &&
           instant < civil_day_number(end) * SECONDS_PER_DAY;
}

int iso_time_parse(const char *words, int default_offset_s, utc_s *out,
                   struct error *err)
{
    const char *at = words;
    struct civil_date date;
    int64_t seconds;
    int offset_s;
    if (!take_date(&at, &date) ||
        !(take_char(&at, 'T') || take_char(&at, ' ')) ||
        !take_clock(&at, &seconds) ||
        !take_offset(&at, default_offset_s, &offset_s) || *at != '\0' ||
        !can_be_written(instant_of(date, seconds - offset_s)))
        return error_set(err,
                         _("\"%.60s\" is not a time; write it as "
                           "2026-03-08T14:30:00Z"),
                         words);
    *out = instant_of(date, seconds - offset_s);
    return 0;
}

int iso_date_parse(const char *words, struct civil_date *out, struct error *err)
{
    const char *at = words;
    struct civil_date date;
    if (!take_date(&at, &date) || *at != '\0')
        return error_set(
            err, _("\"%.60s\" is not a date; write it as 2026-03-08"), words);
    *out = date;
    return 0;
}

static char *put_digits(char *at, int value, int digits)
{
    for (int i = digits; i > 0; i--) {
        at[i - 1] = (char)('0' + value % 10);
        value /= 10;
    }
    return at + digits;
}

/* "2026-03-08"; returns its length. */
static size_t put_date(struct civil_date date, char *out, size_t size)
{
    char *at = out;

    /* No year of ours. */
    if (date.year < 0 || date.year > 9999) {
        snprintf(out, size, "%04d-%02d-%02d", date.year, date.month, date.day);
        return strlen(out);
    }
    at = put_digits(at, date.year, 4);
    *at++ = '-';
    at = put_digits(at, date.month, 2);
    *at++ = '-';
    at = put_digits(at, date.day, 2);
    *at = '\0';
    return (size_t)(at - out);
}

/* "2026-03-08T14:30:00", without an offset and for that with room; returns its
 * end. */
static char *put_clock(utc_s instant, char out[ISO_TIME_SIZE])
{
    int64_t day = utc_day(instant);
    int rest = (int)(instant - day * SECONDS_PER_DAY);
    char *at = out + put_date(civil_date_from_day_number(day), out,
                              ISO_TIME_SIZE - sizeof "T00:00:00+00:00" + 1);

    *at++ = 'T';
    at = put_digits(at, rest / 3600, 2);
    *at++ = ':';
    at = put_digits(at, rest / 60 % 60, 2);
    *at++ = ':';
    return put_digits(at, rest % 60, 2);
}

void iso_time_utc(utc_s instant, char out[ISO_TIME_SIZE])
{
    char *at = put_clock(instant, out);

    *at++ = 'Z';
    *at = '\0';
}

void iso_time_at(utc_s instant, int offset_s, char out[ISO_TIME_SIZE])
{
    int minutes = offset_s / 60, size = abs(minutes);
    char *at = put_clock(instant + (utc_s)minutes * 60, out);

    *at++ = minutes < 0 ? '-' : '+';
    at = put_digits(at, size / 60 % 24, 2);
    *at++ = ':';
    at = put_digits(at, size % 60, 2);
    *at = '\0';
}

void iso_date(struct civil_date date, char out[ISO_DATE_SIZE])
{
    put_date(date, out, ISO_DATE_SIZE);
}

/* One "12H" of a duration: its seconds, or -1 if it is none. The letters must
 * come in the order of `letters`, whose next allowed one is *order. */
static int64_t take_part(const char **at, const char *letters,
                         const int64_t *lengths, int *order)
{
    int64_t value = 0;
    int digit, count = 0;
    while (count < 10 && take_digits(at, 1, &digit)) {
        value = value * 10 + digit;
        count++;
    }
    const char *letter = **at ? strchr(letters + *order, **at) : NULL;
    if (count == 0 || !letter)
        return -1;
    (*at)++;
    *order = (int)(letter - letters) + 1;
    return value * lengths[letter - letters];
}

static bool take_duration(const char **at, int64_t *seconds)
{
    static const int64_t day_lengths[] = {604800, 86400};
    static const int64_t clock_lengths[] = {3600, 60, 1};
    int order = 0, parts = 0;
    *seconds = 0;
    while (**at && **at != 'T') {
        int64_t part = take_part(at, "WD", day_lengths, &order);
        if (part < 0)
            return false;
        *seconds += part;
        parts++;
    }
    if (!take_char(at, 'T'))
        return parts > 0;
    order = 0;
    do {
        int64_t part = take_part(at, "HMS", clock_lengths, &order);
        if (part < 0)
            return false;
        *seconds += part;
    } while (**at);
    return true;
}

static bool has_month_or_year(const char *words)
{
    const char *clock = strchr(words, 'T');
    size_t length = clock ? (size_t)(clock - words) : strlen(words);
    return memchr(words, 'Y', length) || memchr(words, 'M', length);
}

int iso_duration_parse(const char *words, int64_t *seconds, struct error *err)
{
    static const int64_t longest = (int64_t)3660 * SECONDS_PER_DAY;
    if (words[0] == '-')
        return error_set(err, _("\"%.60s\" is a negative duration"), words);
    const char *at = words;
    if (!take_char(&at, 'P'))
        return error_set(err,
                         _("\"%.60s\" is not a duration; write it as PT6H or "
                           "P1DT12H"),
                         words);
    if (has_month_or_year(at))
        return error_set(err,
                         _("\"%.60s\": months and years have no fixed length; "
                           "write days or hours"),
                         words);
    int64_t length;
    if (!take_duration(&at, &length))
        return error_set(err,
                         _("\"%.60s\" is not a duration; write it as PT6H or "
                           "P1DT12H"),
                         words);
    if (length > longest)
        return error_set(err, _("\"%.60s\" is longer than ten years"), words);
    *seconds = length;
    return 0;
}

int iso_interval_parse(const char *words, utc_s *start, utc_s *end,
                       struct error *err)
{
    char first[64];
    const char *slash = strchr(words, '/');
    if (!slash || (size_t)(slash - words) >= sizeof first)
        return error_set(err,
                         _("\"%.60s\" is not an interval; write it as "
                           "2026-03-08T14:00:00Z/PT6H"),
                         words);
    memcpy(first, words, (size_t)(slash - words));
    first[slash - words] = '\0';
    utc_s from = 0, to = 0;
    int64_t length = 0;
    if (iso_time_parse(first, 0, &from, err) != 0)
        return -1;
    if (slash[1] == 'P' || slash[1] == '-') {
        if (iso_duration_parse(slash + 1, &length, err) != 0)
            return -1;
        to = from + length;
    } else if (iso_time_parse(slash + 1, 0, &to, err) != 0) {
        return -1;
    }
    if (to < from)
        return error_set(err, _("\"%.100s\" ends before it starts"), words);
    *start = from;
    *end = to;
    return 0;
}
