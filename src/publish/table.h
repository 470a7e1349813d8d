/* A table of short texts for the terminal, and text wrapped at its edge.
 * Widths are counted in columns, not bytes. */
#ifndef PUBLISH_TABLE_H
#define PUBLISH_TABLE_H

#include <stdbool.h>

#include "base/text.h"

enum { TABLE_MAX_COLUMNS = 16, TABLE_MAX_ROWS = 32, TABLE_CELL_SIZE = 48 };

struct table_column {
    char head[TABLE_CELL_SIZE];
    bool right; /* figures stand at the right */
    /* 0 is always shown; of the others the highest goes first when the
     * table is too wide. */
    int rank;
};

struct table {
    struct table_column columns[TABLE_MAX_COLUMNS];
    int column_count;
    char cells[TABLE_MAX_ROWS][TABLE_MAX_COLUMNS][TABLE_CELL_SIZE];
    bool bold[TABLE_MAX_ROWS];
    int row_count;
};

/* Writes head and rows, each line at most `width` columns if leaving out
 * columns can make it so; no blanks at line ends. Returns the highest rank
 * that was shown. */
int table_write(const struct table *table, int width, bool colour,
                struct text *out);

/* Adds the words as lines of at most `width` columns, broken at blanks but not
 * between a number and its unit; lines after the first begin with `indent`
 * blanks. Ends with a newline. */
void table_wrap(const char *words, int width, int indent, struct text *out);

#endif
