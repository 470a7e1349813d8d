#include "logbook/log_time.h"

#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"

enum { DATE_LENGTH = 10, NOON = 12 };

static int not_a_time(const char *words, struct error *err)
{
    return error_set(err,
                     _("\"%.60s\" is no time: write such as 2026-03-07 or "
                       "2026-03-07T17:00"),
                     words);
}

/* A time that comes out the same at any default offset has its own. */
static int parse_full(const char *words, const struct zone *zone, utc_s *out,
                      struct error *err)
{
    utc_s other = 0;
    int64_t day;
    int second;

    if (iso_time_parse(words, 0, out, NULL) != 0)
        return not_a_time(words, err);
    iso_time_parse(words, SECONDS_PER_HOUR, &other, NULL);
    if (other == *out)
        return 0;
    day = utc_day(*out);
    second = (int)(*out - day * SECONDS_PER_DAY);
    *out =
        zone_instant(zone, civil_date_from_day_number(day),
                     second / SECONDS_PER_HOUR, second / 60 % 60, second % 60);
    return 0;
}

int log_time_parse(const char *words, const struct zone *zone, utc_s *out,
                   struct error *err)
{
    struct civil_date date;
    char *copy;
    int result;

    if (strlen(words) == DATE_LENGTH) {
        if (iso_date_parse(words, &date, NULL) != 0)
            return not_a_time(words, err);
        *out = zone_instant(zone, date, NOON, 0, 0);
        return 0;
    }
    copy = mem_copy_text(words);
    if (strlen(copy) > DATE_LENGTH && copy[DATE_LENGTH] == ' ')
        copy[DATE_LENGTH] = 'T';
    result = parse_full(copy, zone, out, err);
    free(copy);
    return result;
}

/* The hour of the twelve-hour clock on the clock of twenty-four; -1 if there
 * is no such hour. */
static int settle_half(int hour, const char *half)
{
    bool after_noon = strcmp(half, "pm") == 0;

    if (half[0] == '\0')
        return hour <= 23 ? hour : -1;
    if ((!after_noon && strcmp(half, "am") != 0) || hour < 1 || hour > 12)
        return -1;
    return hour % 12 + (after_noon ? 12 : 0);
}

/* ":MM"; the bytes it takes, 0 for other words. */
static size_t parse_minute(const char *words, int *minute)
{
    long value;

    if (words[0] != ':' || strspn(words + 1, "0123456789") != 2)
        return 0;
    value = (words[1] - '0') * 10 + (words[2] - '0');
    *minute = (int)value;
    return value <= 59 ? 3 : 0;
}

bool log_clock_parse(const char *word, int *hour, int *minute)
{
    size_t hours = strspn(word, "0123456789"), minutes;
    int told_hour = 0, told_minute = 0;

    if (hours < 1 || hours > 2)
        return false;
    for (size_t i = 0; i < hours; i++)
        told_hour = told_hour * 10 + (word[i] - '0');
    minutes = parse_minute(word + hours, &told_minute);
    /* A bare number is no hour. */
    if (minutes == 0 && word[hours] == '\0')
        return false;
    told_hour = settle_half(told_hour, word + hours + minutes);
    if (told_hour < 0)
        return false;
    *hour = told_hour;
    *minute = told_minute;
    return true;
}
