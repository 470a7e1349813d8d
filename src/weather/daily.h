/* Weather by the day: the least and the greatest air temperature of each
 * civil day, over any number of years. */
#ifndef WEATHER_DAILY_H
#define WEATHER_DAILY_H

#include "weather/series.h"

enum { DAILY_MAX_DAYS = 366 * 200 };

struct daily_row {
    bool has_min, has_max;
    double min_c, max_c;
};

/* Days without a break from first_day on; a day that the record lacks is a
 * row without values. */
struct daily {
    int64_t first_day; /* civil_day_number of rows[0] */
    int count;
    int upside_down; /* days refused because the minimum is the greater */
    struct daily_row *rows; /* owned */
};

/* CSV of docs/replay.md: `date,tmin_c,tmax_c` in any order of rows, an empty
 * cell for a missing value; other columns are refused by name, so is a date
 * that comes twice, a value outside the plausible range of air temperature
 * and a record longer than DAILY_MAX_DAYS. A day whose minimum is above its
 * maximum counts as missing. The caller frees with daily_free. */
int daily_from_csv(const char *bytes, size_t length, struct daily **out,
                   struct error *err);

/* The extremes of each civil day at a fixed offset from UTC; a day with fewer
 * than 20 known hours is missing. Never NULL. */
struct daily *daily_from_series(const struct series *series, int offset_s);
void daily_free(struct daily *daily);

/* The day's row, or NULL outside the record. Borrowed. */
const struct daily_row *daily_row(const struct daily *daily, int64_t day);

#endif
