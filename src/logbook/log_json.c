#include "logbook/log_json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"

static void add_time(cJSON *object, const char *key, utc_s instant)
{
    char words[ISO_TIME_SIZE];

    iso_time_utc(instant, words);
    cJSON_AddStringToObject(object, key, words);
}

void log_json_add_note(cJSON *object, const struct log_note *note)
{
    cJSON_AddStringToObject(object, "kind", log_kind_word(note->kind));
    add_time(object, "at", note->at);
    cJSON_AddStringToObject(object, "bush", note->bush);
    for (int i = 0; i < LOG_FIGURE_COUNT; i++) {
        char words[LOG_NUMBER_SIZE];

        if (!note->has[i])
            continue;
        log_number_write(note->figure[i], words);
        cJSON_AddRawToObject(object, log_figure_key((enum log_figure)i), words);
    }
    if (note->has_grade)
        cJSON_AddStringToObject(object, "grade", grade_word(note->grade));
    if (note->sign != LOG_SIGN_NONE)
        cJSON_AddStringToObject(object, "sign", log_sign_word(note->sign));
    if (note->remark[0] != '\0')
        cJSON_AddStringToObject(object, "remark", note->remark);
}

static cJSON *record_to_json(const struct log_record *record)
{
    cJSON *object = cJSON_CreateObject();

    cJSON_AddStringToObject(object, "uid", record->uid);
    if (record->number > 0)
        cJSON_AddNumberToObject(object, "number", record->number);
    cJSON_AddStringToObject(object, "change", log_change_word(record->change));
    if (record->change != LOG_NEW)
        cJSON_AddStringToObject(object, "target", record->target);
    add_time(object, "written", record->written);
    if (record->change != LOG_REMOVAL)
        log_json_add_note(object, &record->note);
    return object;
}

char *log_json_write(const char *operation, const struct logbook *book)
{
    cJSON *root = cJSON_CreateObject(), *array;

    cJSON_AddNumberToObject(root, "version", LOG_JSON_VERSION);
    cJSON_AddStringToObject(root, "operation", operation);
    array = cJSON_AddArrayToObject(root, "records");
    for (int i = 0; i < book->count; i++)
        cJSON_AddItemToArray(array, record_to_json(&book->records[i]));
    return json_to_line(root);
}

static bool has_key(const cJSON *object, const char *key)
{
    return cJSON_GetObjectItemCaseSensitive(object, key) != NULL;
}

static int missing(const char *key, struct error *err)
{
    return error_set(err, _("\"%s\" is missing or no value of its kind"), key);
}

static int read_text(const cJSON *object, const char *key, bool needed,
                     char *out, size_t out_size, struct error *err)
{
    const char *words = json_string(object, key);

    if (words == NULL)
        return needed || has_key(object, key) ? missing(key, err) : 0;
    if (strlen(words) >= out_size)
        return error_set(err, _("\"%s\" is longer than %zu bytes"), key,
                         out_size - 1);
    snprintf(out, out_size, "%s", words);
    return 0;
}

static int read_time(const cJSON *object, const char *key, utc_s *out,
                     struct error *err)
{
    const char *words = json_string(object, key);

    if (words == NULL)
        return missing(key, err);
    if (iso_time_parse(words, 0, out, err) != 0)
        return error_prefix(err, "\"%s\": ", key);
    return 0;
}

/* A word of a table; `otherwise` where the key is absent, ABSENT_IS_WRONG for
 * a key that must be there. */
enum { ABSENT = -1, ABSENT_IS_WRONG = -2 };

static int read_word(const cJSON *object, const char *key,
                     int (*from_word)(const char *), int otherwise, int *out,
                     struct error *err)
{
    const char *word = json_string(object, key);

    *out = word != NULL ? from_word(word) : otherwise;
    if (word == NULL ? has_key(object, key) || otherwise == ABSENT_IS_WRONG
                     : *out < 0)
        return missing(key, err);
    return 0;
}

static int read_figures(const cJSON *object, struct log_note *note,
                        struct error *err)
{
    for (int i = 0; i < LOG_FIGURE_COUNT; i++) {
        const char *key = log_figure_key((enum log_figure)i);

        note->has[i] = json_number(object, key, &note->figure[i]);
        if (!note->has[i] && has_key(object, key))
            return missing(key, err);
    }
    return 0;
}

static int read_note(const cJSON *object, struct log_note *note,
                     struct error *err)
{
    int kind, grade, sign;

    if (read_word(object, "kind", log_kind_from_word, ABSENT_IS_WRONG, &kind,
                  err) != 0 ||
        read_word(object, "grade", grade_from_word, ABSENT, &grade, err) != 0 ||
        read_word(object, "sign", log_sign_from_word, LOG_SIGN_NONE, &sign,
                  err) != 0 ||
        read_time(object, "at", &note->at, err) != 0 ||
        read_text(object, "bush", false, note->bush, sizeof note->bush, err) !=
            0 ||
        read_text(object, "remark", false, note->remark, sizeof note->remark,
                  err) != 0)
        return -1;
    note->kind = (enum log_kind)kind;
    note->sign = (enum log_sign)sign;
    note->has_grade = grade >= 0;
    note->grade = note->has_grade ? (enum grade)grade : GRADE_GOLDEN;
    return read_figures(object, note, err);
}

static int read_record(const cJSON *object, struct log_record *record,
                       struct error *err)
{
    long number = 0;
    int change;

    if (!cJSON_IsObject(object))
        return error_set(err, "%s", _("it is no object"));
    if (has_key(object, "number") &&
        !json_integer(object, "number", 1, 1000000000, &number))
        return missing("number", err);
    if (read_text(object, "uid", true, record->uid, sizeof record->uid, err) !=
            0 ||
        read_word(object, "change", log_change_from_word, ABSENT_IS_WRONG,
                  &change, err) != 0 ||
        read_text(object, "target", false, record->target,
                  sizeof record->target, err) != 0 ||
        read_time(object, "written", &record->written, err) != 0)
        return -1;
    record->change = (enum log_change)change;
    record->number = record->change == LOG_NEW ? (int)number : 0;
    if (record->change != LOG_REMOVAL &&
        read_note(object, &record->note, err) != 0)
        return -1;
    return log_record_check(record, err);
}

static int read_records(const cJSON *root, struct logbook *book,
                        struct error *err)
{
    const cJSON *array = json_array(root, "records"), *item;
    int row = 0;

    if (array == NULL)
        return missing("records", err);
    cJSON_ArrayForEach(item, array)
    {
        struct log_record record = {.number = 0};

        row++;
        if (read_record(item, &record, err) != 0)
            return error_prefix(err, _("record %d: "), row);
        if (!logbook_add(book, &record) && book->count == LOG_MAX_RECORDS)
            return error_set(err, _("more than %d records"), LOG_MAX_RECORDS);
    }
    return 0;
}

static int read_head(const cJSON *root, const char *operation,
                     struct error *err)
{
    const char *told = json_string(root, "operation");
    long version;

    if (!json_integer(root, "version", 1, 1000000, &version))
        return missing("version", err);
    if (version > LOG_JSON_VERSION)
        return error_set(err,
                         _("it is of version %ld, written by a newer thawbell;"
                           " this one reads version %d"),
                         version, LOG_JSON_VERSION);
    if (told == NULL)
        return missing("operation", err);
    if (strcmp(told, operation) != 0)
        return error_set(err, _("it is of the operation %.60s, not %s"), told,
                         operation);
    return 0;
}

int log_json_read(const char *bytes, size_t length, const char *operation,
                  struct logbook *book, struct error *err)
{
    cJSON *root = json_parse(bytes, length, err);
    int result = -1;

    if (root == NULL)
        return -1;
    if (read_head(root, operation, err) == 0)
        result = read_records(root, book, err);
    cJSON_Delete(root);
    return result;
}
