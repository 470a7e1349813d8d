#include "daemon/serve_http.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

void serve_date_words(utc_s instant, char out[SERVE_DATE_SIZE])
{
    static const char *const days[] = {"Mon", "Tue", "Wed", "Thu",
                                       "Fri", "Sat", "Sun"};
    static const char *const months[] = {"Jan", "Feb", "Mar", "Apr",
                                         "May", "Jun", "Jul", "Aug",
                                         "Sep", "Oct", "Nov", "Dec"};
    int64_t day = instant / SECONDS_PER_DAY;
    int second = (int)(instant % SECONDS_PER_DAY);
    struct civil_date date = civil_date_from_day_number(day);

    snprintf(out, SERVE_DATE_SIZE, "%s, %02d %s %04d %02d:%02d:%02d GMT",
             days[civil_weekday(date)], date.day, months[date.month - 1],
             date.year, second / SECONDS_PER_HOUR, second / 60 % 60,
             second % 60);
}

static const char *skip_blanks(const char *at)
{
    return at + strspn(at, " \t");
}

bool serve_tag_listed(const char *list, const char *tag)
{
    const char *at = skip_blanks(list), *end;

    if (strcmp(tag, "") != 0 && *at == '*' && *skip_blanks(at + 1) == '\0')
        return true;
    for (;;) {
        at += strspn(at, " \t,");
        if (strncmp(at, "W/", 2) == 0)
            at += 2;
        if (*at != '"')
            return false;
        end = strchr(at + 1, '"');
        if (end == NULL)
            return false;
        if ((size_t)(end + 1 - at) == strlen(tag) &&
            strncmp(at, tag, strlen(tag)) == 0)
            return true;
        at = skip_blanks(end + 1);
        if (*at != ',')
            return false;
    }
}

/* A weight of zero: "q=0", "q=0.", "q=0.000". */
static bool weight_zero(const char *parameters, size_t length)
{
    const char *end = parameters + length;

    for (const char *at = parameters; at + 2 < end; at++) {
        if (*at != ';')
            continue;
        at += 1 + strspn(at + 1, " \t");
        if (end - at < 3 || (at[0] != 'q' && at[0] != 'Q') || at[1] != '=')
            continue;
        at += 2;
        while (at < end && (*at == '0' || *at == '.'))
            at++;
        return at == end || *at == ' ' || *at == '\t' || *at == ';';
    }
    return false;
}

/* 1 if a list names the word with a weight above zero, 0 if with none, -1 if
 * it does not name it. */
static int named(const char *list, const char *word)
{
    size_t size = strlen(word);

    for (const char *at = list; *at != '\0';) {
        size_t length, name;

        at += strspn(at, " \t");
        length = strcspn(at, ",");
        name = strcspn(at, "; \t,");
        if (name == size && strncasecmp(at, word, size) == 0)
            return weight_zero(at + name, length - name) ? 0 : 1;
        at += length;
        at += *at == ',';
    }
    return -1;
}

bool serve_takes_gzip(const char *list)
{
    int gzip = named(list, "gzip");

    if (gzip < 0)
        gzip = named(list, "x-gzip");
    return gzip < 0 ? named(list, "*") == 1 : gzip == 1;
}

bool serve_takes_openmetrics(const char *list)
{
    return named(list, "application/openmetrics-text") == 1;
}
