#include "publish/table.h"

#include <string.h>

enum { GAP = 2 };

static int column_width(const struct table *table, int column)
{
    int width = utf8_columns(table->columns[column].head);

    for (int row = 0; row < table->row_count; row++) {
        int cell = utf8_columns(table->cells[row][column]);

        width = cell > width ? cell : width;
    }
    return width;
}

/* The highest rank that still fits. */
static int rank_that_fits(const struct table *table, const int *widths,
                          int width)
{
    for (int rank = TABLE_MAX_COLUMNS; rank > 0; rank--) {
        int total = -GAP;

        for (int column = 0; column < table->column_count; column++)
            if (table->columns[column].rank <= rank)
                total += widths[column] + GAP;
        if (total <= width)
            return rank;
    }
    return 0;
}

static void pad(struct text *out, int blanks)
{
    while (blanks-- > 0)
        text_add(out, " ");
}

/* Blanks are put before a cell only, so that none ends a line. */
static void write_row(const struct table *table, const int *widths, int rank,
                      const char cells[][TABLE_CELL_SIZE], struct text *out)
{
    int owed = 0;

    for (int column = 0; column < table->column_count; column++) {
        int missing = widths[column] - utf8_columns(cells[column]);
        bool right = table->columns[column].right;

        if (table->columns[column].rank > rank)
            continue;
        if (cells[column][0] != '\0') {
            pad(out, owed + (right ? missing : 0));
            text_add(out, cells[column]);
            owed = (right ? 0 : missing) + GAP;
        } else {
            owed += widths[column] + GAP;
        }
    }
}

int table_write(const struct table *table, int width, bool colour,
                struct text *out)
{
    int widths[TABLE_MAX_COLUMNS], rank;
    char heads[TABLE_MAX_COLUMNS][TABLE_CELL_SIZE];

    for (int column = 0; column < table->column_count; column++) {
        widths[column] = column_width(table, column);
        memcpy(heads[column], table->columns[column].head, TABLE_CELL_SIZE);
    }
    rank = rank_that_fits(table, widths, width);
    write_row(table, widths, rank, (const char(*)[TABLE_CELL_SIZE])heads, out);
    text_add(out, "\n");
    for (int row = 0; row < table->row_count; row++) {
        bool bold = colour && table->bold[row];

        text_add(out, bold ? "\033[1m" : "");
        write_row(table, widths, rank,
                  (const char(*)[TABLE_CELL_SIZE])table->cells[row], out);
        text_add(out, bold ? "\033[0m\n" : "\n");
    }
    return rank;
}

/* Columns of the first `length` bytes. */
static int columns_of(const char *words, size_t length)
{
    char word[256];
    size_t cut = utf8_cut(words, length, sizeof word - 1);

    memcpy(word, words, cut);
    word[cut] = '\0';
    return utf8_columns(word);
}

/* The next piece that must not be broken: a word, and a number with the word
 * after it ("32 F"), unless the number ends its sentence. */
static size_t piece_length(const char *words)
{
    size_t length = strcspn(words, " ");

    if (length > 0 && strspn(words, "0123456789.-:%") == length &&
        words[length - 1] != '.' && words[length] != '\0')
        length += 1 + strcspn(words + length + 1, " ");
    return length;
}

void table_wrap(const char *words, int width, int indent, struct text *out)
{
    int used = 0;

    while (*words != '\0') {
        size_t length = piece_length(words);
        int columns = columns_of(words, length);

        if (used > 0 && used + 1 + columns > width) {
            text_add(out, "\n");
            pad(out, indent);
            used = indent;
        } else if (used > 0) {
            text_add(out, " ");
            used++;
        }
        text_add_bytes(out, words, length);
        used += columns;
        words += length + strspn(words + length, " ");
    }
    text_add(out, "\n");
}
