/* Any bytes as a CSV of past weather (hourly, daily, a sensor's record) and
 * of collected sap. */
#include "promise.h"

#include <math.h>

#include "base/csv.h"
#include "outlook/replay.h"
#include "weather/daily.h"
#include "weather/series.h"

static void check_table(const char *bytes, size_t size)
{
    struct error err = {""};
    struct csv *csv = NULL;
    int result = csv_parse(bytes, size, &csv, &err);

    promise_result(result, &err);
    if (result != 0)
        return;
    for (int row = 0; row < csv_rows(csv); row++) {
        double value = NAN;

        PROMISE(csv_line(csv, row) > 0 && csv_cell(csv, row, 0));
        result = csv_number(csv, row, 0, &value, &err);
        PROMISE(result >= -1 && result <= 1);
        PROMISE(result != 0 || isfinite(value));
        if (result < 0)
            promise_sentence(err.text);
    }
    for (int i = 0; csv_column_name(csv, i); i++)
        PROMISE(csv_column(csv, csv_column_name(csv, i)) >= 0);
    csv_free(csv);
}

static void check_series(struct series *series)
{
    char *csv, *again;
    struct error err = {""};
    struct series *back = NULL;

    PROMISE(series_hours(series) <= SERIES_MAX_HOURS);
    csv = series_to_csv(series);
    PROMISE(series_from_csv(csv, strlen(csv), 0, &back, &err) == 0);
    again = series_to_csv(back);
    PROMISE(strcmp(csv, again) == 0);
    free(csv);
    free(again);
    series_free(back);
    series_free(series);
}

static void check_hourly(const char *bytes, size_t size)
{
    struct error_list refused = {0};
    struct error err = {""};
    struct series *series = NULL;
    int strict = series_from_csv(bytes, size, -18000, &series, &err);

    promise_result(strict, &err);
    if (strict == 0)
        check_series(series);
    int lenient = series_read_csv(bytes, size, -18000, &series, &refused, &err);

    promise_result(lenient, &err);
    PROMISE(strict != 0 || lenient == 0);
    PROMISE(refused.count <= 11);
    for (int i = 0; i < refused.count; i++)
        promise_sentence(refused.items[i]);
    if (lenient == 0)
        check_series(series);
    error_list_free(&refused);
}

static void check_daily(const char *bytes, size_t size)
{
    struct error err = {""};
    struct daily *daily = NULL;
    int result = daily_from_csv(bytes, size, &daily, &err);

    promise_result(result, &err);
    if (result != 0)
        return;
    PROMISE(daily->count > 0 && daily->count <= DAILY_MAX_DAYS);
    for (int i = 0; i < daily->count; i++) {
        const struct daily_row *row = &daily->rows[i];

        PROMISE(!row->has_min || fabs(row->min_c) <= 60);
        PROMISE(!row->has_max || fabs(row->max_c) <= 60);
        PROMISE(!row->has_min || !row->has_max || row->min_c <= row->max_c);
    }
    daily_free(daily);
}

static void check_sap(const char *bytes, size_t size)
{
    struct replay_collection *rows = NULL;
    struct error err = {""};
    int count = 0,
        result = replay_collections_read(bytes, size, &rows, &count, &err);

    promise_result(result, &err);
    if (result != 0)
        return;
    PROMISE(count <= REPLAY_MAX_ROWS);
    for (int i = 0; i < count; i++) {
        PROMISE(civil_date_valid(rows[i].date));
        PROMISE(rows[i].unmeasured ||
                (rows[i].sap_l >= 0 && isfinite(rows[i].sap_l)));
        PROMISE(!rows[i].has_brix || isfinite(rows[i].brix));
        PROMISE(i == 0 ||
                civil_date_compare(rows[i - 1].date, rows[i].date) < 0);
    }
    free(rows);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *bytes = (const char *)data;

    check_table(bytes, size);
    check_hourly(bytes, size);
    check_daily(bytes, size);
    check_sap(bytes, size);
    return 0;
}
