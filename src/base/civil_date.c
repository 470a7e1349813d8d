#include "base/civil_time.h"

int64_t utc_day(utc_s instant)
{
    return instant / SECONDS_PER_DAY - (instant % SECONDS_PER_DAY < 0);
}

/* Years are counted from March, so that the leap day is the last of its year,
 * and in eras of 400 years = 146 097 days; 719 468 days lie between 1 March of
 * year 0 and 1 January 1970. */
int64_t civil_day_number(struct civil_date date)
{
    int64_t year = date.month > 2 ? date.year : (int64_t)date.year - 1;
    int64_t month = date.month > 2 ? date.month - 3 : date.month + 9;
    int64_t era = (year >= 0 ? year : year - 399) / 400;
    int64_t of_era = year - era * 400;
    int64_t of_year = (153 * month + 2) / 5 + date.day - 1;
    int64_t days = of_era * 365 + of_era / 4 - of_era / 100 + of_year;
    return era * 146097 + days - 719468;
}

struct civil_date civil_date_from_day_number(int64_t day)
{
    int64_t shifted = day + 719468;
    int64_t era = (shifted >= 0 ? shifted : shifted - 146096) / 146097;
    int64_t of_era = shifted - era * 146097;
    int64_t year =
        (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    int64_t of_year = of_era - (365 * year + year / 4 - year / 100);
    int64_t month = (5 * of_year + 2) / 153;
    struct civil_date date;
    date.day = (int)(of_year - (153 * month + 2) / 5 + 1);
    date.month = (int)(month < 10 ? month + 3 : month - 9);
    date.year = (int)(year + era * 400 + (date.month <= 2 ? 1 : 0));
    return date;
}

struct civil_date civil_date_add(struct civil_date date, int days)
{
    return civil_date_from_day_number(civil_day_number(date) + days);
}

int civil_date_compare(struct civil_date a, struct civil_date b)
{
    int64_t x = civil_day_number(a), y = civil_day_number(b);
    return (x > y) - (x < y);
}

bool civil_date_valid(struct civil_date date)
{
    if (date.year < 1 || date.year > 9999 || date.month < 1 ||
        date.month > 12 || date.day < 1 || date.day > 31)
        return false;
    /* 30 February comes back as another date. */
    struct civil_date back = civil_date_from_day_number(civil_day_number(date));
    return back.month == date.month && back.day == date.day;
}

int civil_day_of_year(struct civil_date date)
{
    struct civil_date first = {date.year, 1, 1};
    return (int)(civil_day_number(date) - civil_day_number(first)) + 1;
}

int civil_weekday(struct civil_date date)
{
    /* 1970-01-01 was a Thursday, 3 counted from Monday. */
    int64_t rest = (civil_day_number(date) + 3) % 7;
    return (int)(rest < 0 ? rest + 7 : rest);
}
