/* The open data that calibration and verification need, beside the project
 * (its folder is OPEN_DATA_DIR; see docs). A test that needs it is skipped
 * where it is missing, and fails there when CI=true. */
#ifndef SUPPORT_OPEN_DATA_H
#define SUPPORT_OPEN_DATA_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/civil_time.h"
#include "base/csv.h"
#include "base/file.h"
#include "base/memory.h"
#include "weather/forcing.h"

/* The CSV data/NAME, or the end of the test. */
static inline struct csv *open_data_csv(const char *name)
{
    char *path = mem_format("%s/data/%s", OPEN_DATA_DIR, name);
    char *bytes = NULL;
    size_t length;
    struct error err = {{0}};
    struct csv *csv = NULL;
    bool found = file_exists(path);
    if (found && (file_read(path, 16 << 20, &bytes, &length, &err) != 0 ||
                  csv_parse(bytes, length, &csv, &err) != 0))
        fail_msg("%s: %s", path, err.text);
    free(bytes);
    free(path);
    if (!found) {
        const char *ci = getenv("CI");
        if (ci && strcmp(ci, "true") == 0)
            fail_msg("%s is missing, and CI=true", name);
        printf("skipped: needs the open data named in docs (%s)\n", name);
        skip();
    }
    return csv;
}

static inline double *open_data_column(const struct csv *csv, const char *name)
{
    int column = csv_column(csv, name);
    double *values = mem_alloc((size_t)csv_rows(csv), sizeof *values);
    assert_true(column >= 0);
    for (int row = 0; row < csv_rows(csv); row++) {
        values[row] = row ? values[row - 1] : 0; /* a gap keeps the last */
        assert_true(csv_number(csv, row, column, &values[row], NULL) >= 0);
    }
    return values;
}

/* Hourly weather of MacLeish Field Station (CC0); wind taken as 2 m/s. */
static inline struct forcing *open_data_weather(const char *name)
{
    struct csv *csv = open_data_csv(name);
    struct forcing *forcing = mem_alloc(1, sizeof *forcing);
    forcing->hours = csv_rows(csv);
    assert_int_equal(
        0, iso_time_parse(csv_cell(csv, 0, 0), 0, &forcing->start, NULL));
    forcing->air_temp_c = open_data_column(csv, "air_temp_c");
    forcing->shortwave_w_m2 = open_data_column(csv, "shortwave_w_m2");
    size_t hours = (size_t)forcing->hours;
    forcing->wind_m_s = mem_alloc(hours, sizeof *forcing->wind_m_s);
    forcing->known = mem_alloc(hours, sizeof *forcing->known);
    for (size_t hour = 0; hour < hours; hour++) {
        forcing->wind_m_s[hour] = 2;
        forcing->known[hour] = true;
    }
    csv_free(csv);
    return forcing;
}

static inline void open_data_weather_free(struct forcing *forcing)
{
    free(forcing->air_temp_c);
    free(forcing->shortwave_w_m2);
    free(forcing->wind_m_s);
    free(forcing->known);
    free(forcing);
}

#endif
