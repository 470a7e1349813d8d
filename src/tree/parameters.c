#include "tree/parameters.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"
#include "base/memory.h"
#include "base/words.h"

enum { FILE_MAX_BYTES = 256 * 1024 };

static bool is_among(const char *word, const char *const *known, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(word, known[i]) == 0)
            return true;
    return false;
}

static int check_top(const struct parameter_file *file, struct error *err)
{
    static const char *const known[] = {"name", "version", "about", "form",
                                        "numbers"};
    const cJSON *member;
    cJSON_ArrayForEach(member, file->root)
    {
        if (!is_among(member->string, known, sizeof known / sizeof *known))
            return error_set(err, _("%s: unknown key \"%s\""), file->path,
                             member->string);
    }
    if (!json_string(file->root, "name") ||
        !json_string(file->root, "version") ||
        !json_object(file->root, "numbers"))
        return error_set(err, _("%s: needs a name, a version and numbers"),
                         file->path);
    return 0;
}

int parameter_file_open(struct parameter_file *file, const char *folder,
                        const char *name, struct error *err)
{
    *file = (struct parameter_file){0};
    if (folder)
        file->path = file_join(folder, name);
    if (folder && !file_exists(file->path) && file_exists(folder)) {
        free(file->path);
        file->path = NULL;
    }
    if (!file->path) {
        char *below = file_join("models", name);
        file->path = file_find_data(below, err);
        free(below);
    }
    if (!file->path || file_read(file->path, FILE_MAX_BYTES, &file->bytes,
                                 &file->length, err) != 0)
        return -1;
    file->root = json_parse(file->bytes, file->length, err);
    if (!file->root)
        return error_prefix(err, "%s: ", file->path);
    return check_top(file, err);
}

void parameter_file_free(struct parameter_file *file)
{
    free(file->path);
    free(file->bytes);
    cJSON_Delete(file->root);
    *file = (struct parameter_file){0};
}

const char *parameter_file_word(const struct parameter_file *file,
                                const char *key)
{
    return json_string(file->root, key);
}

static int check_members(const struct parameter_file *file, const cJSON *entry,
                         struct error *err)
{
    static const char *const known[] = {"value", "unit", "min", "max",
                                        "source"};
    const cJSON *member;
    cJSON_ArrayForEach(member, entry)
    {
        if (!is_among(member->string, known, sizeof known / sizeof *known))
            return error_set(err, _("%s: %s: unknown key \"%s\""), file->path,
                             entry->string, member->string);
    }
    return 0;
}

static int read_number(const struct parameter_file *file, const cJSON *entry,
                       const struct parameter_row *row, double *out,
                       struct error *err)
{
    const char *unit = json_string(entry, "unit");
    const char *source = json_string(entry, "source");
    double value, min, max;
    if (check_members(file, entry, err) != 0)
        return -1;
    if (!json_number(entry, "value", &value) ||
        !json_number(entry, "min", &min) || !json_number(entry, "max", &max) ||
        !unit || !source || !*source)
        return error_set(err,
                         _("%s: %s: needs value, unit, min, max and source"),
                         file->path, row->key);
    if (strcmp(unit, row->unit) != 0)
        return error_set(err, _("%s: %s: is in \"%s\", must be in \"%s\""),
                         file->path, row->key, unit, row->unit);
    if (!(value >= min && value <= max))
        return error_set(err, _("%s: %s: %g is outside of %g to %g"),
                         file->path, row->key, value, min, max);
    *out = value;
    return 0;
}

static const struct parameter_row *find_row(const struct parameter_row *rows,
                                            const char *key)
{
    for (; rows->key; rows++)
        if (strcmp(rows->key, key) == 0)
            return rows;
    return NULL;
}

static int check_complete(const struct parameter_file *file,
                          const struct parameter_row *rows,
                          const cJSON *numbers, struct error *err)
{
    int wanted = 0;
    for (; rows[wanted].key; wanted++)
        if (!json_object(numbers, rows[wanted].key))
            return error_set(err, _("%s: %s: is missing"), file->path,
                             rows[wanted].key);
    if (cJSON_GetArraySize(numbers) != wanted)
        return error_set(err, _("%s: a key comes twice"), file->path);
    return 0;
}

int parameter_file_read(const struct parameter_file *file,
                        const struct parameter_row *rows, void *target,
                        struct error *err)
{
    const cJSON *numbers = json_object(file->root, "numbers");
    const cJSON *entry;
    cJSON_ArrayForEach(entry, numbers)
    {
        const struct parameter_row *row = find_row(rows, entry->string);
        if (!row)
            return error_set(err, _("%s: unknown key \"%s\""), file->path,
                             entry->string);
        double value = 0;
        if (read_number(file, entry, row, &value, err) != 0)
            return -1;
        memcpy((char *)target + row->offset, &value, sizeof value);
    }
    return check_complete(file, rows, numbers, err);
}
