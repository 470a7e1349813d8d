#include "base/csv.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "base/words.h"

struct csv {
    char *bytes;  /* the file, with a NUL after each cell */
    char **cells; /* header first, then row by row, into bytes */
    int *lines;   /* of each row, the header's first */
    int columns;
    int rows; /* with the header */
    size_t cell_count, cell_room, row_room;
};

struct reader {
    struct csv *csv;
    char *at, *end;
    int line;
};

static void add_cell(struct csv *csv, char *cell)
{
    if (csv->cell_count == csv->cell_room) {
        csv->cell_room = csv->cell_room ? csv->cell_room * 2 : 64;
        csv->cells = mem_resize(csv->cells, csv->cell_room, sizeof *csv->cells);
    }
    csv->cells[csv->cell_count++] = cell;
}

static void add_row(struct csv *csv, int line)
{
    if ((size_t)csv->rows == csv->row_room) {
        csv->row_room = csv->row_room ? csv->row_room * 2 : 64;
        csv->lines = mem_resize(csv->lines, csv->row_room, sizeof *csv->lines);
    }
    csv->lines[csv->rows++] = line;
}

/* Reads a quoted cell in place, halving doubled quotes; `at` is behind the
 * first quote and ends behind the last. */
static int read_quoted(struct reader *reader, struct error *err)
{
    int first_line = reader->line;
    char *to = reader->at;
    add_cell(reader->csv, to);
    for (; reader->at < reader->end; reader->at++) {
        char c = *reader->at;
        if (c == '"' && reader->at[1] == '"')
            reader->at++;
        else if (c == '"')
            break;
        if (c == '\n')
            reader->line++;
        *to++ = c;
    }
    if (reader->at == reader->end)
        return error_set(err, _("line %d: a quote is not closed"), first_line);
    reader->at++;
    *to = '\0';
    return 0;
}

static int read_plain(struct reader *reader, struct error *err)
{
    add_cell(reader->csv, reader->at);
    reader->at += strcspn(reader->at, ",\n\"");
    if (*reader->at == '"')
        return error_set(err, _("line %d: a quote inside a cell"),
                         reader->line);
    return 0;
}

/* Reads one cell and what ends it; *more tells whether a comma did. */
static int read_cell(struct reader *reader, bool *more, struct error *err)
{
    bool quoted = *reader->at == '"';
    if (quoted)
        reader->at++;
    if ((quoted ? read_quoted : read_plain)(reader, err) != 0)
        return -1;
    char *stop = reader->at;
    if (quoted && *stop == '\r' && stop[1] == '\n')
        stop = ++reader->at;
    if (*stop != ',' && *stop != '\n' && stop != reader->end)
        return error_set(err, _("line %d: words after a closing quote"),
                         reader->line);
    *more = *stop == ',' && stop != reader->end;
    bool line_ends = *stop == '\n' && stop != reader->end;
    if (!quoted && line_ends && stop > reader->csv->bytes && stop[-1] == '\r')
        stop[-1] = '\0';
    if (stop != reader->end)
        reader->at++;
    *stop = '\0';
    if (line_ends)
        reader->line++;
    return 0;
}

/* Some spreadsheets write so, most of them where the comma is the decimal
 * mark. */
static bool parted_otherwise(const struct csv *csv)
{
    return csv->columns == 1 && strpbrk(csv->cells[0], ";\t") != NULL;
}

static int read_row(struct reader *reader, struct error *err)
{
    struct csv *csv = reader->csv;
    size_t before = csv->cell_count;
    int line = reader->line;
    bool more = true;
    while (more)
        if (read_cell(reader, &more, err) != 0)
            return -1;
    /* cppcheck-suppress duplicateExpression; read_cell counts them */
    int cells = (int)(csv->cell_count - before);
    if (csv->rows == 0) {
        csv->columns = cells;
        if (parted_otherwise(csv))
            return error_set(err, "%s",
                             _("semicolons or tabs part the cells; commas are "
                               "wanted between them, and points in the "
                               "numbers"));
    } else if (cells != csv->columns) {
        return error_set(err, _("line %d has %d cells, the header has %d"),
                         line, cells, csv->columns);
    }
    add_row(csv, line);
    return 0;
}

/* Skips one empty line or comment; false if the line is neither. */
static bool skip_line(struct reader *reader)
{
    char *at = reader->at;
    bool empty = *at == '\n' || (*at == '\r' && at[1] == '\n');
    if (!empty && *at != '#')
        return false;
    char *end = memchr(at, '\n', (size_t)(reader->end - at));
    reader->at = end ? end + 1 : reader->end;
    reader->line++;
    return true;
}

static int check_bytes(const char *bytes, size_t length, struct error *err)
{
    int line = 1;
    for (size_t at = 0; at < length;) {
        const char *end = memchr(bytes + at, '\n', length - at);
        size_t step = end ? (size_t)(end - bytes) + 1 - at : length - at;
        if (memchr(bytes + at, '\0', step))
            return error_set(err, _("line %d holds a zero byte"), line);
        if (!utf8_valid(bytes + at, step))
            return error_set(err, _("line %d is not UTF-8"), line);
        at += step;
        line++;
    }
    return 0;
}

static void trim_cell(char **cell)
{
    *cell += strspn(*cell, " \t");
    size_t length = strlen(*cell);
    while (length > 0 && strchr(" \t\r", (*cell)[length - 1]))
        length--;
    (*cell)[length] = '\0';
}

int csv_parse(const char *bytes, size_t length, struct csv **out,
              struct error *err)
{
    *out = NULL;
    if (check_bytes(bytes, length, err) != 0)
        return -1;
    struct csv *csv = mem_alloc(1, sizeof *csv);
    csv->bytes = mem_copy_bytes(bytes, length);
    struct reader reader = {csv, csv->bytes, csv->bytes + length, 1};
    if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0)
        reader.at += 3;
    int result = 0;
    while (result == 0 && reader.at < reader.end)
        if (!skip_line(&reader))
            result = read_row(&reader, err);
    if (result == 0 && csv->rows == 0)
        result = error_set(err, _("there is no header row"));
    if (result != 0) {
        csv_free(csv);
        return -1;
    }
    for (int i = 0; i < csv->columns; i++)
        trim_cell(&csv->cells[i]);
    *out = csv;
    return 0;
}

void csv_free(struct csv *csv)
{
    if (!csv)
        return;
    free(csv->bytes);
    free(csv->cells);
    free(csv->lines);
    free(csv);
}

int csv_rows(const struct csv *csv)
{
    return csv->rows - 1;
}

int csv_column(const struct csv *csv, const char *name)
{
    for (int i = 0; i < csv->columns; i++)
        if (strcmp(csv->cells[i], name) == 0)
            return i;
    return -1;
}

const char *csv_column_name(const struct csv *csv, int column)
{
    return column >= 0 && column < csv->columns ? csv->cells[column] : NULL;
}

const char *csv_cell(const struct csv *csv, int row, int column)
{
    size_t index = (size_t)(row + 1) * (size_t)csv->columns + (size_t)column;
    return csv->cells[index];
}

int csv_line(const struct csv *csv, int row)
{
    return csv->lines[row + 1];
}

/* Words by which programs write a value that is missing. */
static bool is_missing(const char *cell, size_t length)
{
    static const char *const words[] = {"", "NA", "NaN", "null"};

    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strlen(words[i]) == length && memcmp(cell, words[i], length) == 0)
            return true;
    return false;
}

int csv_number(const struct csv *csv, int row, int column, double *out,
               struct error *err)
{
    const char *cell = csv_cell(csv, row, column);
    cell += strspn(cell, " \t");
    size_t length = strlen(cell);
    while (length > 0 && strchr(" \t\r", cell[length - 1]))
        length--;
    if (is_missing(cell, length))
        return 1;
    if (number_parse(cell, length, out))
        return 0;
    return error_set(err, _("line %d, column %s: \"%.40s\" is not a number"),
                     csv_line(csv, row), csv_column_name(csv, column), cell);
}
