/* Any text as a time, a date, a duration, an interval, a clock's hour or a
 * date of HTTP: what is taken is in range and reads back as it was. */
#include "promise.h"

#include "base/civil_time.h"
#include "config/reading.h"
#include "net/http_headers.h"

static void check_time(const char *words)
{
    struct error err = {""};
    char written[ISO_TIME_SIZE];
    utc_s instant = 0, again = 1;
    int result = iso_time_parse(words, -5 * 3600, &instant, &err);

    promise_result(result, &err);
    if (result != 0)
        return;
    iso_time_utc(instant, written);
    PROMISE(iso_time_parse(written, 3600, &again, &err) == 0);
    PROMISE(again == instant);
    for (int offset_s = -86340; offset_s <= 86340; offset_s += 43170) {
        iso_time_at(instant, offset_s, written);
        PROMISE(iso_time_parse(written, 3600, &again, &err) == 0);
        PROMISE(again == instant);
    }
}

static void check_date(const char *words)
{
    struct error err = {""};
    char written[ISO_DATE_SIZE];
    struct civil_date date;
    int result = iso_date_parse(words, &date, &err);

    promise_result(result, &err);
    if (result != 0)
        return;
    PROMISE(civil_date_valid(date));
    iso_date(date, written);
    PROMISE(strcmp(written, words) == 0);
    PROMISE(civil_date_compare(
                civil_date_from_day_number(civil_day_number(date)), date) == 0);
    PROMISE(civil_day_of_year(date) >= 1 && civil_day_of_year(date) <= 366);
    PROMISE(civil_weekday(date) >= 0 && civil_weekday(date) <= 6);
}

static void check_spans(const char *words)
{
    struct error err = {""};
    int64_t seconds = -1;
    utc_s start = 0, end = -1;
    int result = iso_duration_parse(words, &seconds, &err);

    promise_result(result, &err);
    if (result == 0)
        PROMISE(seconds >= 0 && seconds <= INT64_C(3660) * SECONDS_PER_DAY);
    result = iso_interval_parse(words, &start, &end, &err);
    promise_result(result, &err);
    if (result == 0)
        PROMISE(start <= end);
}

/* Twice the same second, whatever the form. */
static void check_http_date(const char *words)
{
    const utc_s now = 1772838600;
    utc_s date = 0;

    if (http_date_parse(words, now, &date)) {
        struct civil_date day =
            civil_date_from_day_number(date / SECONDS_PER_DAY);

        PROMISE(civil_date_valid(day));
        PROMISE(day.year <= 10000);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *words = input_text(data, size);
    int minutes = -1;

    check_time(words);
    check_date(words);
    check_spans(words);
    check_http_date(words);
    if (clock_parse(words, strlen(words), &minutes))
        PROMISE(minutes >= 0 && minutes <= 24 * 60);
    free(words);
    return 0;
}
