/* Reading what was collected. */
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/memory.h"
#include "base/words.h"
#include "outlook/replay.h"

struct columns {
    int date, sap, brix; /* brix -1 if there is none */
};

static int find_columns(const struct csv *csv, struct columns *out,
                        struct error *err)
{
    out->date = csv_column(csv, "date");
    out->sap = csv_column(csv, "sap_l");
    out->brix = csv_column(csv, "brix");
    if (out->date < 0 || out->sap < 0) {
        return error_set(err, _("collected sap needs the columns date and "
                                "sap_l"));
    }
    for (int column = 0; csv_column_name(csv, column); column++) {
        if (column != out->date && column != out->sap && column != out->brix) {
            return error_set(err,
                             _("collected sap has no column \"%s\"; it has "
                               "date, sap_l and perhaps brix"),
                             csv_column_name(csv, column));
        }
    }
    return 0;
}

static int read_amount(const struct csv *csv, int row, int column,
                       struct replay_collection *out, struct error *err)
{
    int status = csv_number(csv, row, column, &out->sap_l, err);

    if (status < 0) {
        return -1;
    }
    out->unmeasured = status > 0;
    if (out->sap_l < 0.0) {
        return error_set(err,
                         _("line %d: an amount of sap, 0 or more, is "
                           "wanted"),
                         csv_line(csv, row));
    }
    return 0;
}

static int read_brix(const struct csv *csv, int row, int column,
                     struct replay_collection *out, struct error *err)
{
    int status = 1;

    if (column >= 0) {
        status = csv_number(csv, row, column, &out->brix, err);
    }
    out->has_brix = status == 0;
    return status < 0 ? -1 : 0;
}

static int read_row(const struct csv *csv, int row,
                    const struct columns *columns,
                    struct replay_collection *rows, struct error *err)
{
    const char *date = csv_cell(csv, row, columns->date);

    if (iso_date_parse(date, &rows[row].date, err)) {
        return error_prefix(err, _("line %d: "), csv_line(csv, row));
    }
    if (row > 0 &&
        civil_date_compare(rows[row].date, rows[row - 1].date) <= 0) {
        return error_set(err,
                         _("line %d: the date %s does not come after the one "
                           "before it"),
                         csv_line(csv, row), date);
    }
    if (read_amount(csv, row, columns->sap, &rows[row], err)) {
        return -1;
    }
    return read_brix(csv, row, columns->brix, &rows[row], err);
}

static int read_rows(const struct csv *csv, struct replay_collection **out,
                     int *count, struct error *err)
{
    struct columns columns;

    *count = csv_rows(csv);
    if (find_columns(csv, &columns, err)) {
        return -1;
    }
    if (*count < 1 || *count > REPLAY_MAX_ROWS) {
        return error_set(err,
                         _("collected sap holds %d rows; 1 to %d can be "
                           "read"),
                         *count, REPLAY_MAX_ROWS);
    }
    *out = mem_alloc((size_t)*count, sizeof **out);
    for (int row = 0; row < *count; row++) {
        if (read_row(csv, row, &columns, *out, err)) {
            free(*out);
            *out = NULL;
            return -1;
        }
    }
    return 0;
}

int replay_collections_read(const char *bytes, size_t length,
                            struct replay_collection **out, int *count,
                            struct error *err)
{
    struct csv *csv;
    int status;

    *out = NULL;
    if (csv_parse(bytes, length, &csv, err)) {
        return -1;
    }
    status = read_rows(csv, out, count, err);
    csv_free(csv);
    return status;
}
