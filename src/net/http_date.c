/* The three forms of a date in HTTP (RFC 9110 section 5.6.7). */
#include <ctype.h>
#include <string.h>

#include "net/http_headers.h"

/* Where the reading stands; `bad` once something did not fit. */
struct reader {
    const char *at;
    bool bad;
};

static void read_words(struct reader *reader, const char *words)
{
    size_t length = strlen(words);

    if (!reader->bad && strncmp(reader->at, words, length) == 0)
        reader->at += length;
    else
        reader->bad = true;
}

/* Exactly so many digits; a blank may stand for the first one if allowed. */
static int read_digits(struct reader *reader, int count, bool blank_first)
{
    int value = 0;

    for (int i = 0; i < count && !reader->bad; i++) {
        char c = *reader->at;

        if (i == 0 && blank_first && c == ' ')
            c = '0';
        if (!isdigit((unsigned char)c)) {
            reader->bad = true;
            break;
        }
        value = value * 10 + (c - '0');
        reader->at++;
    }
    return value;
}

/* The 1-based place of one of the names, three letters each. */
static int read_name(struct reader *reader, const char *names)
{
    for (int i = 1; *names != '\0' && !reader->bad; i++, names += 3)
        if (strncmp(reader->at, names, 3) == 0) {
            reader->at += 3;
            return i;
        }
    reader->bad = true;
    return 0;
}

static int read_month(struct reader *reader)
{
    return read_name(reader, "JanFebMarAprMayJunJulAugSepOctNovDec");
}

static int read_clock(struct reader *reader)
{
    int hour = read_digits(reader, 2, false), minute, second;

    read_words(reader, ":");
    minute = read_digits(reader, 2, false);
    read_words(reader, ":");
    second = read_digits(reader, 2, false);
    if (hour > 23 || minute > 59 || second > 60)
        reader->bad = true;
    return hour * SECONDS_PER_HOUR + minute * 60 + second;
}

/* A two-digit year: the century that does not put it more than 50 years
 * ahead. */
static int full_year(int year, utc_s now)
{
    int this_year = civil_date_from_day_number(now / SECONDS_PER_DAY).year;
    int full = this_year - this_year % 100 + year;

    if (full > this_year + 50)
        full -= 100;
    return full;
}

/* "08 Mar 2026 14:20:00 GMT" after the day's name and ", "; or with dashes
 * and a two-digit year. */
static int read_numbers(struct reader *reader, const char *between, utc_s now,
                        struct civil_date *date)
{
    date->day = read_digits(reader, 2, false);
    read_words(reader, between);
    date->month = read_month(reader);
    read_words(reader, between);
    if (between[0] == '-')
        date->year = full_year(read_digits(reader, 2, false), now);
    else
        date->year = read_digits(reader, 4, false);
    read_words(reader, " ");
    int clock = read_clock(reader);
    read_words(reader, " GMT");
    return clock;
}

/* "Mar  8 14:20:00 2026" after the day's name and " ". */
static int read_asctime(struct reader *reader, struct civil_date *date)
{
    date->month = read_month(reader);
    read_words(reader, " ");
    date->day = read_digits(reader, 2, true);
    read_words(reader, " ");
    int clock = read_clock(reader);
    read_words(reader, " ");
    date->year = read_digits(reader, 4, false);
    return clock;
}

bool http_date_parse(const char *words, utc_s now, utc_s *out)
{
    struct reader reader = {words, false};
    struct civil_date date = {0, 0, 0};
    int clock;

    read_name(&reader, "MonTueWedThuFriSatSun");
    if (reader.bad)
        return false;
    if (*reader.at == ' ') {
        read_words(&reader, " ");
        clock = read_asctime(&reader, &date);
    } else if (*reader.at == ',') {
        read_words(&reader, ", ");
        clock = read_numbers(&reader, " ", now, &date);
    } else {
        while (isalpha((unsigned char)*reader.at))
            reader.at++;
        read_words(&reader, ", ");
        clock = read_numbers(&reader, "-", now, &date);
    }
    if (reader.bad || *reader.at != '\0' || !civil_date_valid(date))
        return false;
    *out = civil_day_number(date) * SECONDS_PER_DAY + clock;
    return true;
}
