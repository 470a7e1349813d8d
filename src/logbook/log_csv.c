#include "logbook/log_csv.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/csv.h"
#include "base/digest.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "base/words.h"
#include "logbook/log_json.h"
#include "logbook/log_time.h"

enum { CSV_MAX_BYTES = 32 * 1024 * 1024, DIGEST_SHOWN = 20 };

enum column {
    NUMBER,
    TIME,
    KIND,
    BUSH,
    FIGURES,
    GRADE = FIGURES + LOG_FIGURE_COUNT,
    SIGN,
    REMARK,
    UID,
    CHANGE,
    TARGET,
    WRITTEN,
    SAP_GAL, /* read, never written */
    SYRUP_GAL,
    COLUMN_COUNT
};

static const char *column_name(int column)
{
    static const char *const names[COLUMN_COUNT] = {
        [NUMBER] = "number",      [TIME] = "time",       [KIND] = "kind",
        [BUSH] = "bush",          [GRADE] = "grade",     [SIGN] = "sign",
        [REMARK] = "remark",      [UID] = "uid",         [CHANGE] = "change",
        [TARGET] = "target",      [WRITTEN] = "written", [SAP_GAL] = "sap_gal",
        [SYRUP_GAL] = "syrup_gal"};

    if (column >= FIGURES && column < GRADE)
        return log_figure_key((enum log_figure)(column - FIGURES));
    return names[column];
}

static void add_cell(struct text *out, const char *words)
{
    bool quote = words[strcspn(words, ",\"#")] != '\0';

    if (!quote) {
        text_add(out, words);
        return;
    }
    text_add(out, "\"");
    for (; *words != '\0'; words++)
        text_addf(out, *words == '"' ? "\"%c" : "%c", *words);
    text_add(out, "\"");
}

static void add_time(struct text *out, const struct zone *zone, utc_s instant)
{
    char words[ISO_TIME_SIZE];

    iso_time_local(zone, instant, words);
    text_add(out, words);
}

static void add_note(struct text *out, const struct log_note *note,
                     const struct zone *zone)
{
    add_time(out, zone, note->at);
    text_addf(out, ",%s,", log_kind_word(note->kind));
    add_cell(out, note->bush);
    for (int i = 0; i < LOG_FIGURE_COUNT; i++) {
        text_add(out, ",");
        if (note->has[i]) {
            char words[LOG_NUMBER_SIZE];

            log_number_write(note->figure[i], words);
            text_add(out, words);
        }
    }
    text_addf(out, ",%s,%s,", note->has_grade ? grade_word(note->grade) : "",
              log_sign_word(note->sign));
    add_cell(out, note->remark);
}

static void add_record(struct text *out, const struct log_record *record,
                       const struct zone *zone)
{
    if (record->number > 0)
        text_addf(out, "%d", record->number);
    text_add(out, ",");
    if (record->change != LOG_REMOVAL)
        add_note(out, &record->note, zone);
    else
        for (int column = TIME; column < REMARK; column++)
            text_add(out, ",");
    text_addf(out, ",%s,%s,%s,", record->uid, log_change_word(record->change),
              record->target);
    add_time(out, zone, record->written);
    text_add(out, "\n");
}

static void add_standing(struct text *out, const struct logbook *book,
                         const struct zone *zone)
{
    struct log_view view;

    log_view_make(book, false, &view);
    for (int i = 0; i < view.count; i++) {
        struct log_record record = *logbook_find(book, view.entries[i].number);

        record.note = view.entries[i].note;
        add_record(out, &record, zone);
    }
    log_view_free(&view);
}

char *log_csv_write(const struct logbook *book, const struct zone *zone,
                    bool history)
{
    struct text out;

    text_init(&out, CSV_MAX_BYTES);
    for (int column = NUMBER; column <= WRITTEN; column++)
        text_addf(&out, "%s%s", column > NUMBER ? "," : "",
                  column_name(column));
    text_add(&out, "\n");
    if (!history)
        add_standing(&out, book, zone);
    for (int i = 0; history && i < book->count; i++)
        add_record(&out, &book->records[i], zone);
    return text_steal(&out);
}

struct reader {
    struct csv *csv;
    const struct zone *zone;
    utc_s now;
    int columns[COLUMN_COUNT]; /* in the file, or -1 */
    int row;
    struct error *err;
};

static const char *cell(const struct reader *reader, int column)
{
    return reader->columns[column] < 0
               ? ""
               : csv_cell(reader->csv, reader->row, reader->columns[column]);
}

static int find_columns(struct reader *reader)
{
    for (int i = 0; i < COLUMN_COUNT; i++)
        reader->columns[i] = csv_column(reader->csv, column_name(i));
    for (int i = 0; csv_column_name(reader->csv, i) != NULL; i++) {
        const char *name = csv_column_name(reader->csv, i);
        int known = 0;

        while (known < COLUMN_COUNT && reader->columns[known] != i)
            known++;
        if (known == COLUMN_COUNT)
            return error_set(reader->err,
                             _("the column \"%.60s\" is not known, or there "
                               "twice"),
                             name);
    }
    for (int i = TIME; i <= KIND; i++)
        if (reader->columns[i] < 0)
            return error_set(reader->err, _("the column \"%s\" is missing"),
                             column_name(i));
    return 0;
}

static int read_text(const struct reader *reader, int column, char *out,
                     size_t out_size)
{
    const char *words = cell(reader, column);

    if (strlen(words) >= out_size)
        return error_set(reader->err, _("%s is longer than %zu bytes"),
                         column_name(column), out_size - 1);
    snprintf(out, out_size, "%s", words);
    return 0;
}

static int read_word(const struct reader *reader, int column,
                     int (*from_word)(const char *), int otherwise)
{
    const char *word = cell(reader, column);
    int found = word[0] == '\0' ? otherwise : from_word(word);

    if (found < 0 && word[0] != '\0')
        error_set(reader->err, _("%s \"%.40s\" is not known"),
                  column_name(column), word);
    return found;
}

static int read_figure(const struct reader *reader, int column, double factor,
                       bool *has, double *out)
{
    int result = reader->columns[column] < 0
                     ? 1
                     : csv_number(reader->csv, reader->row,
                                  reader->columns[column], out, reader->err);

    /* The row's number is put before it by read_rows. */
    if (result < 0)
        return error_set(reader->err, _("%s \"%.40s\" is not a number"),
                         column_name(column), cell(reader, column));
    if (result > 0)
        return 0;
    if (*has)
        return error_set(reader->err, _("%s is told twice"),
                         column_name(column));
    *has = true;
    *out *= factor;
    return 0;
}

static int read_figures(const struct reader *reader, struct log_note *note)
{
    double gallons = 0;

    for (int i = 0; i < LOG_FIGURE_COUNT; i++)
        if (read_figure(reader, FIGURES + i, 1, &note->has[i],
                        &note->figure[i]) != 0)
            return -1;
    if (read_figure(reader, SAP_GAL, L_PER_US_GALLON, &note->has[LOG_SAP_L],
                    &gallons) != 0)
        return -1;
    if (gallons > 0)
        note->figure[LOG_SAP_L] = gallons;
    gallons = 0;
    if (read_figure(reader, SYRUP_GAL, L_PER_US_GALLON, &note->has[LOG_SYRUP_L],
                    &gallons) != 0)
        return -1;
    if (gallons > 0)
        note->figure[LOG_SYRUP_L] = gallons;
    return 0;
}

static int read_note(const struct reader *reader, struct log_note *note)
{
    int kind, grade, sign;

    if (cell(reader, KIND)[0] == '\0')
        return error_set(reader->err, "%s", _("kind is empty"));
    kind = read_word(reader, KIND, log_kind_from_word, -1);
    grade = read_word(reader, GRADE, grade_from_word, GRADE_COUNT);
    sign = read_word(reader, SIGN, log_sign_from_word, LOG_SIGN_NONE);
    if (kind < 0 || grade < 0 || sign < 0)
        return -1;
    note->kind = (enum log_kind)kind;
    note->sign = (enum log_sign)sign;
    note->has_grade = grade != GRADE_COUNT;
    note->grade = note->has_grade ? (enum grade)grade : GRADE_GOLDEN;
    if (log_time_parse(cell(reader, TIME), reader->zone, &note->at,
                       reader->err) != 0 ||
        read_text(reader, BUSH, note->bush, sizeof note->bush) != 0 ||
        read_text(reader, REMARK, note->remark, sizeof note->remark) != 0)
        return -1;
    return read_figures(reader, note);
}

/* A uid out of the content: the same row gives the same, a row that stands
 * there n times gives n. */
static void make_uid(const struct logbook *before, struct log_record *record)
{
    struct logbook alone = {record, 1, NULL};
    char digest[DIGEST_SIZE], *json;

    snprintf(record->uid, sizeof record->uid, "row");
    json = log_json_write("", &alone);
    digest_hex(json, strlen(json), digest);
    free(json);
    for (int twin = 1; twin < LOG_MAX_RECORDS; twin++) {
        bool there = false;

        snprintf(record->uid, sizeof record->uid, "csv-%.*s-%d", DIGEST_SHOWN,
                 digest, twin);
        for (int i = 0; i < before->count && !there; i++)
            there = strcmp(before->records[i].uid, record->uid) == 0;
        if (!there)
            return;
    }
}

static int read_record(const struct reader *reader, const struct logbook *fresh,
                       struct log_record *record)
{
    int change = read_word(reader, CHANGE, log_change_from_word, LOG_NEW);

    if (change < 0)
        return -1;
    record->change = (enum log_change)change;
    if (read_text(reader, UID, record->uid, sizeof record->uid) != 0 ||
        read_text(reader, TARGET, record->target, sizeof record->target) != 0)
        return -1;
    if (record->change != LOG_REMOVAL && read_note(reader, &record->note) != 0)
        return -1;
    if (record->uid[0] == '\0')
        make_uid(fresh, record);
    record->written = reader->now;
    if (cell(reader, WRITTEN)[0] != '\0' &&
        log_time_parse(cell(reader, WRITTEN), reader->zone, &record->written,
                       reader->err) != 0)
        return -1;
    return log_record_check(record, reader->err);
}

static int read_rows(struct reader *reader, struct logbook *fresh)
{
    for (reader->row = 0; reader->row < csv_rows(reader->csv); reader->row++) {
        struct log_record record = {.number = 0};

        if (read_record(reader, fresh, &record) != 0)
            return error_prefix(reader->err, _("line %d: "),
                                csv_line(reader->csv, reader->row));
        if (!logbook_add(fresh, &record))
            return error_set(reader->err,
                             _("line %d: the uid %s stands there twice, or "
                               "the file has more than %d rows"),
                             csv_line(reader->csv, reader->row), record.uid,
                             LOG_MAX_RECORDS);
    }
    return 0;
}

int log_csv_read(const char *bytes, size_t length, const struct zone *zone,
                 utc_s now, struct logbook *book, int *known, struct error *err)
{
    struct reader reader = {.zone = zone, .now = now, .err = err};
    struct logbook fresh = {0};
    int result;

    *known = 0;
    if (csv_parse(bytes, length, &reader.csv, err) != 0)
        return -1;
    result = find_columns(&reader);
    if (result == 0)
        result = read_rows(&reader, &fresh);
    for (int i = 0; result == 0 && i < fresh.count; i++)
        if (!logbook_add(book, &fresh.records[i]))
            (*known)++;
    logbook_free(&fresh);
    csv_free(reader.csv);
    return result;
}
