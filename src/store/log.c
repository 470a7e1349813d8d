/* The logbook's records. */
#include <stdio.h>
#include <string.h>

#include "base/words.h"
#include "store/store_private.h"

enum column {
    OPERATION = 1,
    UID,
    NUMBER,
    CHANGE,
    TARGET,
    WRITTEN,
    TAKEN,
    KIND,
    AT,
    BUSH,
    FIGURES,
    GRADE = FIGURES + LOG_FIGURE_COUNT,
    SIGN,
    REMARK
};

static const char put_sql[] =
    "INSERT INTO log_record VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,"
    "?13,?14,?15,?16,?17,?18,?19) ON CONFLICT(operation, uid) DO NOTHING";

static void bind_note(sqlite3_stmt *row, const struct log_note *note)
{
    store_bind_text(row, KIND, log_kind_word(note->kind));
    sqlite3_bind_int64(row, AT, note->at);
    store_bind_text(row, BUSH, note->bush);
    for (int i = 0; i < LOG_FIGURE_COUNT; i++)
        if (note->has[i])
            sqlite3_bind_double(row, FIGURES + i, note->figure[i]);
    if (note->has_grade)
        store_bind_text(row, GRADE, grade_word(note->grade));
    store_bind_text(row, SIGN, log_sign_word(note->sign));
    store_bind_text(row, REMARK, note->remark);
}

/* What is not bound is NULL. */
static int put_record(struct store *store, sqlite3_stmt *row,
                      const char *operation, const struct log_record *record,
                      utc_s taken, int *next_number, struct error *err)
{
    sqlite3_clear_bindings(row);
    store_bind_text(row, OPERATION, operation);
    store_bind_text(row, UID, record->uid);
    if (record->change == LOG_NEW)
        sqlite3_bind_int(row, NUMBER, *next_number);
    store_bind_text(row, CHANGE, log_change_word(record->change));
    store_bind_text(row, TARGET, record->target);
    sqlite3_bind_int64(row, WRITTEN, record->written);
    sqlite3_bind_int64(row, TAKEN, taken);
    if (record->change != LOG_REMOVAL)
        bind_note(row, &record->note);
    if (store_step(store, row, err) != 0)
        return -1;
    if (record->change == LOG_NEW && sqlite3_changes(store->db) > 0)
        (*next_number)++;
    return 0;
}

static int highest_number(struct store *store, const char *operation,
                          int *number, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store, "SELECT max(number) FROM log_record WHERE operation=?1", err);
    bool found;
    int result;

    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    result = store_seek(store, row, &found, err);
    *number = found ? sqlite3_column_int(row, 0) : 0;
    store_release(store, row);
    return result;
}

static int put_records(struct store *store, const char *operation,
                       const struct logbook *records, utc_s taken,
                       struct error *err)
{
    sqlite3_stmt *row;
    int number, result = 0;

    if (highest_number(store, operation, &number, err) != 0)
        return -1;
    row = store_prepare(store, put_sql, err);
    if (row == NULL)
        return -1;
    number++;
    for (int i = 0; result == 0 && i < records->count; i++)
        result = put_record(store, row, operation, &records->records[i], taken,
                            &number, err);
    store_release(store, row);
    return result;
}

int store_take_log(struct store *store, const char *operation,
                   const struct logbook *records, utc_s taken,
                   struct error *err)
{
    bool own;
    int result;

    if (store_enter(store, &own, err) != 0)
        return -1;
    result = put_records(store, operation, records, taken, err);
    return store_leave(store, own, result, err);
}

/* A cell as text, cut to fit; "" for NULL. */
static void get_text(sqlite3_stmt *row, int column, char *out, size_t out_size)
{
    const char *words = store_column_words(row, column - 1);

    snprintf(out, out_size, "%s", words != NULL ? words : "");
}

static int get_word(sqlite3_stmt *row, int column,
                    int (*from_word)(const char *))
{
    const char *word = store_column_words(row, column - 1);

    return word == NULL ? -1 : from_word(word);
}

static void get_note(sqlite3_stmt *row, struct log_note *note)
{
    int kind = get_word(row, KIND, log_kind_from_word);
    int sign = get_word(row, SIGN, log_sign_from_word);
    int grade = get_word(row, GRADE, grade_from_word);

    note->kind = kind < 0 ? LOG_TAPPED : (enum log_kind)kind;
    note->sign = sign < 0 ? LOG_SIGN_NONE : (enum log_sign)sign;
    note->has_grade = grade >= 0;
    note->grade = grade < 0 ? GRADE_GOLDEN : (enum grade)grade;
    note->at = sqlite3_column_int64(row, AT - 1);
    get_text(row, BUSH, note->bush, sizeof note->bush);
    get_text(row, REMARK, note->remark, sizeof note->remark);
    for (int i = 0; i < LOG_FIGURE_COUNT; i++) {
        note->has[i] = sqlite3_column_type(row, FIGURES + i - 1) != SQLITE_NULL;
        if (note->has[i])
            note->figure[i] = sqlite3_column_double(row, FIGURES + i - 1);
    }
}

static int get_record(sqlite3_stmt *row, struct log_record *record,
                      struct error *err)
{
    int change = get_word(row, CHANGE, log_change_from_word);

    get_text(row, UID, record->uid, sizeof record->uid);
    get_text(row, TARGET, record->target, sizeof record->target);
    record->change = change < 0 ? LOG_NEW : (enum log_change)change;
    record->number = sqlite3_column_int(row, NUMBER - 1);
    record->written = sqlite3_column_int64(row, WRITTEN - 1);
    if (record->change != LOG_REMOVAL)
        get_note(row, &record->note);
    if (change >= 0 && log_record_check(record, err) == 0)
        return 0;
    return error_prefix(err, _("record %s of the logbook: "), record->uid);
}

int store_get_log(struct store *store, const char *operation,
                  struct logbook *out, struct error *err)
{
    sqlite3_stmt *row = store_prepare(
        store, "SELECT * FROM log_record WHERE operation=?1", err);
    int code, result = 0;

    *out = (struct logbook){0};
    if (row == NULL)
        return -1;
    store_bind_text(row, 1, operation);
    while (result == 0 && (code = sqlite3_step(row)) == SQLITE_ROW) {
        struct log_record record = {.number = 0};

        result = get_record(row, &record, err);
        if (result == 0)
            logbook_add(out, &record);
    }
    if (result == 0 && code != SQLITE_DONE)
        result = store_fail(store, err);
    store_release(store, row);
    logbook_settle(out);
    return result;
}
