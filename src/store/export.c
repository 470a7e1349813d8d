#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cjson/cJSON.h>
#include <sqlite3.h>

#include "base/file.h"
#include "base/memory.h"
#include "base/words.h"
#include "store/care.h"
#include "store/weather_place.h"

static void add_cell(cJSON *object, sqlite3_stmt *row, int column)
{
    const char *name = sqlite3_column_name(row, column);

    switch (sqlite3_column_type(row, column)) {
    case SQLITE_INTEGER:
        cJSON_AddNumberToObject(object, name,
                                (double)sqlite3_column_int64(row, column));
        break;
    case SQLITE_FLOAT:
        cJSON_AddNumberToObject(object, name,
                                sqlite3_column_double(row, column));
        break;
    case SQLITE_NULL:
        cJSON_AddNullToObject(object, name);
        break;
    default:
        cJSON_AddStringToObject(object, name, store_column_words(row, column));
        break;
    }
}

/* Where the rows go. What fails is its reason alone until the table's name is
 * known, but for the output itself. */
struct output {
    const char *store; /* where they are from */
    FILE *out;
    const char *name; /* NULL: standard output */
    bool failed;      /* it, not the store */
};

static int output_fail(struct output *output, struct error *err)
{
    const char *why = words_errno(errno);

    output->failed = true;
    return output->name != NULL
               ? error_set(err, _("%s: cannot be written: %s"), output->name,
                           why)
               : error_set(err, _("the output cannot be written: %s"), why);
}

/* Frees the object. */
static int write_object(cJSON *object, struct output *output, struct error *err)
{
    char *words = cJSON_PrintUnformatted(object);
    int result = 0;

    if (words == NULL)
        mem_fail();
    else if (fprintf(output->out, "%s\n", words) < 0)
        result = output_fail(output, err);
    cJSON_free(words);
    cJSON_Delete(object);
    return result;
}

static int write_row(sqlite3_stmt *row, const char *table,
                     struct output *output, struct error *err)
{
    cJSON *object = cJSON_CreateObject();

    cJSON_AddStringToObject(object, "table", table);
    for (int i = 0; i < sqlite3_column_count(row); i++)
        add_cell(object, row, i);
    return write_object(object, output, err);
}

static int write_table(sqlite3 *db, const char *table, struct output *output,
                       struct error *err)
{
    char *sql = sqlite3_mprintf("SELECT * FROM \"%w\"", table);
    sqlite3_stmt *row = NULL;
    int code, result = 0;

    if (sql == NULL)
        mem_fail();
    code = sqlite3_prepare_v2(db, sql, -1, &row, NULL);
    sqlite3_free(sql);
    while (result == 0 && (code == SQLITE_OK || code == SQLITE_ROW)) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW)
            result = write_row(row, table, output, err);
    }
    if (result == 0 && code != SQLITE_DONE)
        result = error_set(err, "%s", store_why(db));
    sqlite3_finalize(row);
    return result;
}

/* The row of an hour and quantity. */
static int write_value(sqlite3_stmt *row, const struct weather_day *day,
                       enum quantity quantity, int hour, struct output *output,
                       struct error *err)
{
    const struct day_value *value = &day->values[quantity][hour];
    const struct day_source *source = &day->sources[value->source];
    cJSON *object = cJSON_CreateObject();

    cJSON_AddStringToObject(object, "table", "weather");
    add_cell(object, row, 0);
    add_cell(object, row, 1);
    cJSON_AddNumberToObject(
        object, "hour",
        (double)(sqlite3_column_int64(row, 2) * SECONDS_PER_DAY +
                 hour * SECONDS_PER_HOUR));
    cJSON_AddStringToObject(object, "quantity", quantity_name(quantity));
    cJSON_AddNumberToObject(object, "value", value->value);
    cJSON_AddNumberToObject(object, "origin", value->origin);
    cJSON_AddStringToObject(object, "source", source->name);
    cJSON_AddNumberToObject(object, "issued", (double)source->issued);
    cJSON_AddNumberToObject(object, "fetched", (double)source->fetched);
    return write_object(object, output, err);
}

static int write_day(sqlite3_stmt *row, struct weather_day *day,
                     struct output *output, struct error *err)
{
    int result = 0;

    weather_day_read_cell(day, row, 3, -1);
    for (int hour = 0; hour < DAY_HOURS; hour++)
        for (int q = 0; q < QUANTITY_COUNT && result == 0; q++)
            if (day->values[q][hour].origin != ORIGIN_NONE)
                result =
                    write_value(row, day, (enum quantity)q, hour, output, err);
    return result;
}

/* Days as the hours that they hold. */
static int write_weather(sqlite3 *db, struct output *output, struct error *err)
{
    static const char sql[] =
        "SELECT p.operation, p.bush, d.day-p.place*1000000, d.hours"
        " FROM weather_place p JOIN weather_day d"
        " ON d.day>=p.place*1000000 AND d.day<(p.place+1)*1000000"
        " ORDER BY p.operation, p.bush, d.day";
    struct weather_day *day = mem_alloc(1, sizeof *day);
    sqlite3_stmt *row = NULL;
    int code = sqlite3_prepare_v2(db, sql, -1, &row, NULL), result = 0;

    _Static_assert((int)WEATHER_DAY_LIMIT == 1000000, "as in the SQL");
    while (result == 0 && (code == SQLITE_OK || code == SQLITE_ROW)) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW)
            result = write_day(row, day, output, err);
    }
    if (result == 0 && code != SQLITE_DONE)
        result = error_set(err, "%s", store_why(db));
    sqlite3_finalize(row);
    free(day);
    return result;
}

static int write_any(sqlite3 *db, const char *table, struct output *output,
                     struct error *err)
{
    if (strcmp(table, "weather_day") == 0)
        return write_weather(db, output, err);
    return write_table(db, table, output, err);
}

/* The next table where this one is damaged: what can be read is written. The
 * first trouble is the one told. */
static int write_next(sqlite3 *db, const char *table, struct output *output,
                      struct error *first)
{
    struct error err = {""};

    if (write_any(db, table, output, &err) == 0)
        return 0;
    if (output->failed)
        *first = err;
    else if (first->text[0] == '\0')
        error_set(first, _("%s: table %s cannot be read whole: %s"),
                  output->store, table, err.text);
    return !output->failed && store_is_damage(sqlite3_errcode(db)) ? 0 : -1;
}

static int write_tables(sqlite3 *db, struct output *output, struct error *err)
{
    struct error first = {""};
    sqlite3_stmt *row = NULL;
    int code =
        sqlite3_prepare_v2(db,
                           "SELECT name FROM sqlite_schema WHERE type='table'"
                           " AND name NOT LIKE 'sqlite_%' ORDER BY name",
                           -1, &row, NULL);
    int result = 0;

    while (result == 0 && (code == SQLITE_OK || code == SQLITE_ROW)) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW)
            result = write_next(db, store_column_words(row, 0), output, &first);
    }
    if (result == 0 && code != SQLITE_DONE && first.text[0] == '\0')
        store_tell(db, output->store, &first);
    sqlite3_finalize(row);
    return first.text[0] == '\0' ? 0 : error_set(err, "%s", first.text);
}

/* One read transaction holds the moment. */
static int export_to(struct output *output, struct error *err)
{
    sqlite3 *db = NULL;
    int result;

    if (store_open_beside(output->store, &db, err) != 0)
        return -1;
    if (sqlite3_exec(db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK)
        result = store_tell(db, output->store, err);
    else
        result = write_tables(db, output, err);
    sqlite3_close(db);
    return result;
}

int store_export(const char *path, FILE *out, struct error *err)
{
    struct output output = {path, out, NULL, false};

    return export_to(&output, err);
}

static int export_part(const char *path, const char *part, const char *target,
                       struct error *err)
{
    int fd = open(part, O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600);
    struct output output = {path, fd < 0 ? NULL : fdopen(fd, "w"), target,
                            false};
    int result;

    if (output.out == NULL) {
        error_set(err, _("%s: cannot be made: %s"), target, words_errno(errno));
        if (fd >= 0)
            close(fd);
        return -1;
    }
    result = export_to(&output, err);
    if (result == 0 && (fflush(output.out) != 0 || fsync(fd) != 0))
        result = output_fail(&output, err);
    fclose(output.out);
    return result;
}

int store_export_file(const char *path, const char *target, struct error *err)
{
    char *part;
    int result;

    if (file_exists(target))
        return error_set(err, _("%s is there already: name another file"),
                         target);
    part = mem_format("%s.part-%ld", target, (long)getpid());
    result = export_part(path, part, target, err);
    if (result == 0)
        result = file_put_in_place(part, target, err);
    else
        unlink(part);
    free(part);
    return result;
}
