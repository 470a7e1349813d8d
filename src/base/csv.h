/* CSV (RFC 4180) with a header row: columns by name, cells as text.
 * Comma-separated, quotes allowed, CR LF or LF, a UTF-8 mark at the start and
 * lines that start with '#' skipped. A row with another number of cells than
 * the header is an error that names the line; a header of one cell with
 * semicolons or tabs in it is told as that. */
#ifndef BASE_CSV_H
#define BASE_CSV_H

#include <stddef.h>

#include "base/error.h"

struct csv;

int csv_parse(const char *bytes, size_t length, struct csv **out,
              struct error *err);
void csv_free(struct csv *csv);
int csv_rows(const struct csv *csv);
/* Column number of a header, or -1. Blanks around names do not count. */
int csv_column(const struct csv *csv, const char *name);
const char *csv_column_name(const struct csv *csv, int column); /* or NULL */
/* Borrowed; "" for an empty cell. */
const char *csv_cell(const struct csv *csv, int row, int column);
int csv_line(const struct csv *csv, int row); /* for messages */
/* The cell as a number: 0, or 1 if empty or "NA", "NaN", "null" (out
 * untouched), or -1 with a sentence that names line, column and word. */
int csv_number(const struct csv *csv, int row, int column, double *out,
               struct error *err);

#endif
