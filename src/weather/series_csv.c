/* The series as CSV, out and in. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"
#include "weather/series.h"

enum { MAX_CSV_BYTES = 16 * 1024 * 1024, MAX_REFUSED = 10 };

/* Three decimals, trailing zeros and a lonely minus left out. */
static void add_number(struct text *text, double value)
{
    char digits[48];
    size_t length;

    if (fabs(value) < 0.0005)
        value = 0;
    snprintf(digits, sizeof digits, "%.3f", value);
    length = strlen(digits);
    while (digits[length - 1] == '0')
        length--;
    if (digits[length - 1] == '.')
        length--;
    text_add_bytes(text, digits, length);
}

static void add_row(struct text *text, const struct series *series, int hour,
                    const bool shown[QUANTITY_COUNT])
{
    char time[ISO_TIME_SIZE];
    double value;

    iso_time_utc(series_time(series, hour), time);
    text_add(text, time);
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        if (!shown[i])
            continue;
        text_add(text, ",");
        if (series_get(series, (enum quantity)i, hour, &value))
            add_number(text, value);
    }
    text_add(text, "\n");
}

char *series_to_csv(const struct series *series)
{
    struct text text;
    bool shown[QUANTITY_COUNT];

    text_init(&text, MAX_CSV_BYTES);
    text_add(&text, "time");
    for (int i = 0; i < QUANTITY_COUNT; i++) {
        shown[i] =
            i == AIR_TEMP_C || series_count(series, (enum quantity)i) > 0;
        if (shown[i])
            text_addf(&text, ",%s", quantity_name((enum quantity)i));
    }
    text_add(&text, "\n");
    for (int hour = 0; hour < series_hours(series); hour++)
        add_row(&text, series, hour, shown);
    return text_steal(&text);
}

/* What is being read. */
struct reading {
    const struct csv *csv;
    int time_column;
    int columns[QUANTITY_COUNT]; /* -1: not in the file */
    utc_s *times;                /* one a row, rounded down to the hour */
    struct series *series;
    double *sums; /* [quantity * hours + hour] */
    int *counts;
    int refused_count;
    struct error_list *refused; /* NULL: a bad value is an error */
};

static int find_columns(struct reading *reading, struct error *err)
{
    const char *name;

    for (int i = 0; i < QUANTITY_COUNT; i++)
        reading->columns[i] = -1;
    reading->time_column = csv_column(reading->csv, "time");
    if (reading->time_column < 0)
        return error_set(err, _("the header has no column called time"));
    for (int c = 0; (name = csv_column_name(reading->csv, c)); c++) {
        int quantity = quantity_from_name(name);

        if (c == reading->time_column)
            continue;
        if (quantity < 0)
            return error_set(err,
                             _("the column \"%s\" is not known; write one of "
                               "time, air_temp_c, shortwave_w_m2, wind_m_s, "
                               "rel_humidity_pct, pressure_hpa, precip_mm, "
                               "sea_level_pressure_hpa, cloud_pct, "
                               "dew_point_c"),
                             name);
        if (reading->columns[quantity] >= 0)
            return error_set(err, _("the column %s comes twice"), name);
        reading->columns[quantity] = c;
    }
    if (reading->columns[AIR_TEMP_C] < 0)
        return error_set(err, _("the header has no column called air_temp_c"));
    return 0;
}

static int read_times(struct reading *reading, int default_offset_s,
                      utc_s *first, utc_s *last, struct error *err)
{
    int rows = csv_rows(reading->csv);

    reading->times = mem_alloc((size_t)rows, sizeof *reading->times);
    for (int row = 0; row < rows; row++) {
        const char *cell = csv_cell(reading->csv, row, reading->time_column);
        utc_s time;

        if (iso_time_parse(cell, default_offset_s, &time, err) < 0)
            return error_prefix(err, _("line %d: "),
                                csv_line(reading->csv, row));
        time -=
            ((time % SECONDS_PER_HOUR) + SECONDS_PER_HOUR) % SECONDS_PER_HOUR;
        reading->times[row] = time;
        if (row == 0 || time < *first)
            *first = time;
        if (row == 0 || time > *last)
            *last = time;
    }
    return 0;
}

/* Notes a refused value. -1 if it ends the reading. */
static int refuse(struct reading *reading, const struct error *err)
{
    if (!reading->refused)
        return -1;
    if (reading->refused_count++ < MAX_REFUSED)
        error_list_add(reading->refused, "%s", err->text);
    return 0;
}

static int read_cell(struct reading *reading, int row, enum quantity quantity,
                     struct error *err)
{
    double value = 0;
    int hours = series_hours(reading->series);
    int hour = series_row(reading->series, reading->times[row]);
    size_t cell = (size_t)quantity * (size_t)hours + (size_t)hour;
    int found =
        csv_number(reading->csv, row, reading->columns[quantity], &value, err);

    if (found == 1)
        return 0;
    if (found < 0)
        return refuse(reading, err); /* csv_number has named the line */
    value = quantity_settle(quantity, value);
    if (quantity_check(quantity, value, err) < 0) {
        error_prefix(err, _("line %d: "), csv_line(reading->csv, row));
        return refuse(reading, err);
    }
    reading->sums[cell] += value;
    reading->counts[cell]++;
    return 0;
}

static void settle_means(struct reading *reading)
{
    int hours = series_hours(reading->series);

    for (int i = 0; i < QUANTITY_COUNT; i++) {
        for (int hour = 0; hour < hours; hour++) {
            size_t cell = (size_t)i * (size_t)hours + (size_t)hour;
            int count = reading->counts[cell];

            if (count == 0)
                continue;
            if (quantity_is_sum((enum quantity)i))
                count = 1;
            series_set(reading->series, (enum quantity)i, hour,
                       reading->sums[cell] / count, ORIGIN_OBSERVED, 0);
        }
    }
}

static int read_values(struct reading *reading, struct error *err)
{
    int hours = series_hours(reading->series);
    size_t cells = (size_t)QUANTITY_COUNT * (size_t)hours;

    reading->sums = mem_alloc(cells, sizeof *reading->sums);
    reading->counts = mem_alloc(cells, sizeof *reading->counts);
    for (int row = 0; row < csv_rows(reading->csv); row++)
        for (int i = 0; i < QUANTITY_COUNT; i++)
            if (reading->columns[i] >= 0 &&
                read_cell(reading, row, (enum quantity)i, err) < 0)
                return -1;
    settle_means(reading);
    if (reading->refused_count > MAX_REFUSED)
        error_list_add(reading->refused, _("%d further values left out"),
                       reading->refused_count - MAX_REFUSED);
    return 0;
}

static int read_all(struct reading *reading, int default_offset_s,
                    struct error *err)
{
    struct series_source source = {.name = "csv"};
    utc_s first = 0, last = 0;

    if (find_columns(reading, err) < 0)
        return -1;
    if (csv_rows(reading->csv) == 0)
        return error_set(err, _("there is no row under the header"));
    if (read_times(reading, default_offset_s, &first, &last, err) < 0)
        return -1;
    if (last - first >= (utc_s)SERIES_MAX_HOURS * SECONDS_PER_HOUR)
        return error_set(err, _("the rows span more than two years"));
    reading->series =
        series_new(first, (int)((last - first) / SECONDS_PER_HOUR) + 1);
    series_add_source(reading->series, &source);
    return read_values(reading, err);
}

int series_read_csv(const char *bytes, size_t length, int default_offset_s,
                    struct series **out, struct error_list *refused,
                    struct error *err)
{
    struct reading reading = {.refused = refused};
    struct csv *csv = NULL;
    struct error unheard;
    int result;

    if (!err)
        err = &unheard;
    if (csv_parse(bytes, length, &csv, err) < 0)
        return -1;
    reading.csv = csv;
    result = read_all(&reading, default_offset_s, err);
    if (result == 0)
        *out = reading.series;
    else
        series_free(reading.series);
    free(reading.times);
    free(reading.sums);
    free(reading.counts);
    csv_free(csv);
    return result;
}

int series_from_csv(const char *bytes, size_t length, int default_offset_s,
                    struct series **out, struct error *err)
{
    return series_read_csv(bytes, length, default_offset_s, out, NULL, err);
}
