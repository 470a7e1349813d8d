#include "base/ini.h"

#include <ini.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/text.h"
#include "base/words.h"

/* inih cuts long lines, joins indented ones to the one before and tells no
 * line numbers. So each line is looked at before inih sees it; a bad one is
 * reported and inih gets an empty line in its place. */
struct reader {
    struct ini *ini;
    struct error_list *errors;
    const char *at, *end;
    int line;
    int section; /* index of the current one, -1 before any */
};

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* Where a line's words end: at its comment or its last non-blank. */
static size_t words_end(const char *line)
{
    size_t end = 0;
    for (size_t i = 0; line[i]; i++) {
        if (line[i] == ';' && (i == 0 || is_blank(line[i - 1])))
            break;
        if (!is_blank(line[i]))
            end = i + 1;
    }
    return end;
}

static char *fold_blanks(const char *words, size_t length)
{
    char *folded = mem_alloc(length + 1, 1);
    size_t to = 0;
    for (size_t i = 0; i < length; i++) {
        if (!is_blank(words[i]))
            folded[to++] = words[i];
        else if (to > 0 && folded[to - 1] != ' ')
            folded[to++] = ' ';
    }
    while (to > 0 && folded[to - 1] == ' ')
        to--;
    folded[to] = '\0';
    return folded;
}

static struct ini_value *add_value(struct ini_value **values, int *count)
{
    *values = mem_resize(*values, (size_t)*count + 1, sizeof **values);
    struct ini_value *value = &(*values)[(*count)++];
    *value = (struct ini_value){0};
    return value;
}

static void add_section(struct reader *reader, const char *line, size_t end)
{
    struct ini *ini = reader->ini;
    const char *close = memchr(line, ']', end);
    if (!close || close != line + end - 1) {
        error_list_add(reader->errors,
                       _("%s:%d: a section is written as [name] on a line of "
                         "its own"),
                       ini->path, reader->line);
        reader->section = -2;
        return;
    }
    char *name = fold_blanks(line + 1, end - 2);
    for (int i = 0; i < ini->section_count; i++)
        if (strcmp(ini->sections[i].section, name) == 0)
            error_list_add(reader->errors,
                           _("%s:%d: section [%s] was already begun on line "
                             "%d"),
                           ini->path, reader->line, name,
                           ini->sections[i].line);
    struct ini_value *section = add_value(&ini->sections, &ini->section_count);
    section->section = name;
    section->line = reader->line;
    reader->section = ini->section_count - 1;
}

/* True if inih may see the line. */
static bool check_words(struct reader *reader, const char *line, size_t end)
{
    const char *path = reader->ini->path;
    size_t key = strcspn(line, "=:");
    if (key >= end || line[key] != '=') {
        error_list_add(reader->errors,
                       _("%s:%d: \"%.*s\" is neither [section] nor key = "
                         "value"),
                       path, reader->line, (int)utf8_cut(line, end, 40), line);
        return false;
    }
    if (key == 0) {
        error_list_add(reader->errors, _("%s:%d: a key is missing before ="),
                       path, reader->line);
        return false;
    }
    if (reader->section == -1)
        error_list_add(reader->errors, _("%s:%d: a key before any [section]"),
                       path, reader->line);
    /* Under a broken section header its keys have nowhere to go; the header
     * was reported. */
    return reader->section >= 0;
}

static bool check_bytes(struct reader *reader, const char *bytes, size_t length,
                        size_t longest)
{
    const char *path = reader->ini->path;
    if (length > longest) {
        error_list_add(reader->errors,
                       _("%s:%d: the line has %zu bytes; at most %zu are read"),
                       path, reader->line, length, longest);
        return false;
    }
    if (!utf8_valid(bytes, length)) {
        error_list_add(reader->errors, _("%s:%d: the line is not UTF-8"), path,
                       reader->line);
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)bytes[i];
        if ((c < 0x20 && c != '\t') || c == 0x7F) {
            error_list_add(reader->errors,
                           _("%s:%d: the line holds a control character"), path,
                           reader->line);
            return false;
        }
    }
    return true;
}

/* Looks at the line, without its break; true if inih may see it. */
static bool check_line(struct reader *reader, const char *bytes, size_t length,
                       size_t longest)
{
    if (!check_bytes(reader, bytes, length, longest))
        return false;
    char *line = mem_copy_bytes(bytes, length);
    size_t end = words_end(line);
    bool good = false;
    if (end > 0 && line[0] == '[')
        add_section(reader, line, end);
    else if (end > 0 && line[0] != '#')
        good = check_words(reader, line, end);
    free(line);
    return good;
}

/* fgets for inih. Blanks in front are cut, so that it joins no lines. */
static char *read_line(char *out, int size, void *stream)
{
    struct reader *reader = stream;
    if (reader->at >= reader->end)
        return NULL;
    size_t left = (size_t)(reader->end - reader->at);
    const char *start = reader->at;
    const char *stop = memchr(start, '\n', left);
    reader->at = stop ? stop + 1 : reader->end;
    reader->line++;
    if (!stop)
        stop = reader->end;
    if (stop > start && stop[-1] == '\r')
        stop--;
    while (start < stop && is_blank(*start))
        start++;
    size_t length = (size_t)(stop - start);
    if (!check_line(reader, start, length, (size_t)size - 2))
        length = 0;
    if (length)
        memcpy(out, start, length);
    out[length] = '\n';
    out[length + 1] = '\0';
    return out;
}

static int take_value(void *user, const char *section, const char *name,
                      const char *value)
{
    struct reader *reader = user;
    struct ini *ini = reader->ini;
    (void)section; /* inih cuts long ones; ours are in ini->sections */
    const char *own = ini->sections[reader->section].section;
    char *key = fold_blanks(name, strlen(name));
    const struct ini_value *before = ini_find(ini, own, key);
    if (before) {
        error_list_add(reader->errors,
                       _("%s:%d: \"%s\" was already set on line %d"), ini->path,
                       reader->line, key, before->line);
        free(key);
        return 1;
    }
    struct ini_value *entry = add_value(&ini->values, &ini->count);
    entry->section = mem_copy_text(own);
    entry->key = key;
    entry->value = mem_copy_text(value);
    entry->line = reader->line;
    return 1;
}

int ini_read(const char *path, const char *bytes, size_t length,
             struct ini *out, struct error_list *errors)
{
    *out = (struct ini){.path = mem_copy_text(path)};
    struct reader reader = {.ini = out,
                            .errors = errors,
                            .at = bytes,
                            .end = bytes + length,
                            .section = -1};
    if (length >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0)
        reader.at += 3;
    int before = errors->count;
    int bad_line = ini_parse_stream(read_line, &reader, take_value, &reader);
    /* cppcheck-suppress knownConditionTrueFalse; read_line adds errors */
    if (bad_line != 0 && errors->count == before)
        error_list_add(errors, _("%s:%d: the line cannot be read"), path,
                       bad_line);
    return errors->count == before ? 0 : -1;
}

const struct ini_value *ini_find(const struct ini *ini, const char *section,
                                 const char *key)
{
    for (int i = 0; i < ini->count; i++)
        if (strcmp(ini->values[i].section, section) == 0 &&
            strcmp(ini->values[i].key, key) == 0)
            return &ini->values[i];
    return NULL;
}

static void free_values(struct ini_value *values, int count)
{
    for (int i = 0; i < count; i++) {
        free(values[i].section);
        free(values[i].key);
        free(values[i].value);
    }
    free(values);
}

void ini_free(struct ini *ini)
{
    free(ini->path);
    free_values(ini->values, ini->count);
    free_values(ini->sections, ini->section_count);
    *ini = (struct ini){0};
}
