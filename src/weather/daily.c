#include "weather/daily.h"

#include <stdlib.h>

#include "base/csv.h"
#include "base/memory.h"
#include "base/words.h"

enum { HOURS_OF_A_KNOWN_DAY = 20 };

void daily_free(struct daily *daily)
{
    if (daily) {
        free(daily->rows);
        free(daily);
    }
}

const struct daily_row *daily_row(const struct daily *daily, int64_t day)
{
    int64_t index = day - daily->first_day;

    if (index < 0 || index >= daily->count) {
        return NULL;
    }
    return &daily->rows[index];
}

static struct daily *daily_new(int64_t first_day, int count)
{
    struct daily *daily = mem_alloc(1, sizeof *daily);

    daily->first_day = first_day;
    daily->count = count;
    daily->rows = mem_alloc(count > 0 ? (size_t)count : 1, sizeof *daily->rows);
    return daily;
}

struct columns {
    int date, min, max;
};

static int find_columns(const struct csv *csv, struct columns *out,
                        struct error *err)
{
    out->date = csv_column(csv, "date");
    out->min = csv_column(csv, "tmin_c");
    out->max = csv_column(csv, "tmax_c");
    if (out->date < 0 || out->min < 0 || out->max < 0) {
        return error_set(err, _("daily weather needs the columns date, "
                                "tmin_c and tmax_c"));
    }
    for (int column = 0; csv_column_name(csv, column); column++) {
        if (column != out->date && column != out->min && column != out->max) {
            return error_set(err,
                             _("daily weather has no column \"%s\"; it has "
                               "date, tmin_c and tmax_c"),
                             csv_column_name(csv, column));
        }
    }
    return 0;
}

static int read_day(const struct csv *csv, int row, int column, int64_t *out,
                    struct error *err)
{
    struct civil_date date;

    if (iso_date_parse(csv_cell(csv, row, column), &date, err)) {
        return error_prefix(err, _("line %d: "), csv_line(csv, row));
    }
    *out = civil_day_number(date);
    return 0;
}

static int find_span(const struct csv *csv, int column, int64_t *first,
                     int64_t *last, struct error *err)
{
    for (int row = 0; row < csv_rows(csv); row++) {
        int64_t day = 0;

        if (read_day(csv, row, column, &day, err)) {
            return -1;
        }
        if (row == 0 || day < *first) {
            *first = day;
        }
        if (row == 0 || day > *last) {
            *last = day;
        }
    }
    if (csv_rows(csv) == 0) {
        return error_set(err, _("the daily weather holds no day"));
    }
    if (*last - *first >= DAILY_MAX_DAYS) {
        return error_set(err, _("the daily weather spans more than %d years"),
                         DAILY_MAX_DAYS / 366);
    }
    return 0;
}

static int read_value(const struct csv *csv, int row, int column, bool *has,
                      double *value, struct error *err)
{
    int status = csv_number(csv, row, column, value, err);

    if (status < 0) {
        return -1;
    }
    *has = status == 0;
    if (*has && quantity_check(AIR_TEMP_C, *value, err)) {
        return error_prefix(err, _("line %d: "), csv_line(csv, row));
    }
    return 0;
}

static int read_row(const struct csv *csv, int row,
                    const struct columns *columns, struct daily *daily,
                    bool *seen, struct error *err)
{
    struct daily_row *out;
    int64_t day = 0;

    if (read_day(csv, row, columns->date, &day, err)) {
        return -1;
    }
    day -= daily->first_day;
    if (seen[day]) {
        return error_set(err, _("line %d: the date %s comes twice"),
                         csv_line(csv, row), csv_cell(csv, row, columns->date));
    }
    seen[day] = true;
    out = &daily->rows[day];
    if (read_value(csv, row, columns->min, &out->has_min, &out->min_c, err) ||
        read_value(csv, row, columns->max, &out->has_max, &out->max_c, err)) {
        return -1;
    }
    if (out->has_min && out->has_max && out->min_c > out->max_c) {
        out->has_min = out->has_max = false;
        daily->upside_down++;
    }
    return 0;
}

static int read_rows(const struct csv *csv, const struct columns *columns,
                     struct daily *daily, struct error *err)
{
    bool *seen = mem_alloc((size_t)daily->count, sizeof *seen);
    int status = 0;

    for (int row = 0; row < csv_rows(csv) && !status; row++) {
        status = read_row(csv, row, columns, daily, seen, err);
    }
    free(seen);
    return status;
}

int daily_from_csv(const char *bytes, size_t length, struct daily **out,
                   struct error *err)
{
    struct columns columns;
    struct daily *daily = NULL;
    struct csv *csv;
    int64_t first = 0, last = 0;
    int status;

    if (csv_parse(bytes, length, &csv, err)) {
        return -1;
    }
    status = find_columns(csv, &columns, err);
    if (!status) {
        status = find_span(csv, columns.date, &first, &last, err);
    }
    if (!status) {
        daily = daily_new(first, (int)(last - first) + 1);
        status = read_rows(csv, &columns, daily, err);
    }
    csv_free(csv);
    if (status) {
        daily_free(daily);
        return -1;
    }
    *out = daily;
    return 0;
}

static void take_hour(struct daily_row *row, int *known, double temp_c)
{
    if (*known == 0 || temp_c < row->min_c) {
        row->min_c = temp_c;
    }
    if (*known == 0 || temp_c > row->max_c) {
        row->max_c = temp_c;
    }
    ++*known;
}

struct daily *daily_from_series(const struct series *series, int offset_s)
{
    int hours = series_hours(series);
    int64_t first = utc_day(series_start(series) + offset_s);
    int64_t last = utc_day(series_time(series, hours - 1) + offset_s);
    struct daily *daily = daily_new(first, (int)(last - first) + 1);
    int *known = mem_alloc((size_t)daily->count, sizeof *known);

    for (int hour = 0; hour < hours; hour++) {
        int64_t day = utc_day(series_time(series, hour) + offset_s) - first;
        double temp_c;

        if (series_get(series, AIR_TEMP_C, hour, &temp_c)) {
            take_hour(&daily->rows[day], &known[day], temp_c);
        }
    }
    for (int day = 0; day < daily->count; day++) {
        bool enough = known[day] >= HOURS_OF_A_KNOWN_DAY;

        daily->rows[day].has_min = daily->rows[day].has_max = enough;
    }
    free(known);
    return daily;
}
