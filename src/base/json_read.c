#include "base/json_read.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/memory.h"
#include "base/units.h"

struct reader {
    const char *at, *end;
    cJSON *open[JSON_MAX_DEPTH]; /* the innermost last */
    int depth;
};

/* The byte that comes next, 0 at the end: no text has one. */
static char peek(const struct reader *reader)
{
    return reader->at < reader->end ? *reader->at : '\0';
}

static bool take(struct reader *reader, char wanted)
{
    if (peek(reader) != wanted)
        return false;
    reader->at++;
    return true;
}

static bool take_word(struct reader *reader, const char *word)
{
    size_t length = strlen(word);

    if ((size_t)(reader->end - reader->at) < length ||
        memcmp(reader->at, word, length) != 0)
        return false;
    reader->at += length;
    return true;
}

static void skip_blanks(struct reader *reader)
{
    char c = peek(reader);

    while (c == ' ' || c == '\n' || c == '\r' || c == '\t') {
        reader->at++;
        c = peek(reader);
    }
}

static bool take_hex(struct reader *reader, uint32_t *out)
{
    uint32_t value = 0;

    for (int i = 0; i < 4; i++) {
        char c = peek(reader);
        int digit = c >= '0' && c <= '9'   ? c - '0'
                    : c >= 'a' && c <= 'f' ? c - 'a' + 10
                    : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                           : -1;

        if (digit < 0)
            return false;
        value = value * 16 + (uint32_t)digit;
        reader->at++;
    }
    *out = value;
    return true;
}

static char *put_utf8(char *to, uint32_t c)
{
    if (c < 0x80) {
        *to++ = (char)c;
        return to;
    }
    if (c < 0x800) {
        *to++ = (char)(0xC0 | c >> 6);
    } else {
        if (c < 0x10000) {
            *to++ = (char)(0xE0 | c >> 12);
        } else {
            *to++ = (char)(0xF0 | c >> 18);
            *to++ = (char)(0x80 | (c >> 12 & 0x3F));
        }
        *to++ = (char)(0x80 | (c >> 6 & 0x3F));
    }
    *to++ = (char)(0x80 | (c & 0x3F));
    return to;
}

/* Behind "\u": a character, or the two halves of one (RFC 8259 section 7). */
static bool take_code(struct reader *reader, char **to)
{
    uint32_t c, low;

    if (!take_hex(reader, &c) || c == 0)
        return false;
    if (c >= 0xDC00 && c <= 0xDFFF)
        return false;
    if (c >= 0xD800 && c <= 0xDBFF) {
        if (!take_word(reader, "\\u") || !take_hex(reader, &low) ||
            low < 0xDC00 || low > 0xDFFF)
            return false;
        c = 0x10000 + ((c & 0x3FF) << 10 | (low & 0x3FF));
    }
    *to = put_utf8(*to, c);
    return true;
}

/* Behind a backslash. */
static bool take_escape(struct reader *reader, char **to)
{
    static const char letters[] = "\"\\/bfnrt", meant[] = "\"\\/\b\f\n\r\t";
    char letter = peek(reader);
    const char *found = letter != '\0' ? strchr(letters, letter) : NULL;

    if (take(reader, 'u'))
        return take_code(reader, to);
    if (found == NULL)
        return false;
    reader->at++;
    *(*to)++ = meant[found - letters];
    return true;
}

/* How many bytes there are up to the quotation mark that ends the string; what
 * is written for an escape is never longer than that. */
static size_t string_room(const struct reader *reader, bool *has_escapes)
{
    const char *at = reader->at;

    *has_escapes = false;
    while (at < reader->end && *at != '"') {
        bool escape = *at == '\\';

        *has_escapes |= escape;
        at += escape && reader->end - at > 1 ? 2 : 1;
    }
    return (size_t)(at - reader->at);
}

static bool take_with_escapes(struct reader *reader, char *to)
{
    while (reader->at < reader->end && *reader->at != '"') {
        if (*reader->at != '\\') {
            *to++ = *reader->at++;
            continue;
        }
        reader->at++;
        if (!take_escape(reader, &to))
            return false;
    }
    *to = '\0';
    return true;
}

/* Behind the quotation mark that begins it; NULL if it is none. */
static char *read_string(struct reader *reader)
{
    bool has_escapes, good = true;
    size_t room = string_room(reader, &has_escapes);
    char *words = mem_copy_bytes(reader->at, room);

    if (has_escapes)
        good = take_with_escapes(reader, words);
    else
        reader->at += room;
    if (good && take(reader, '"'))
        return words;
    free(words);
    return NULL;
}

static cJSON *read_text(struct reader *reader)
{
    char *words = read_string(reader);
    cJSON *item = words != NULL ? cJSON_CreateNull() : NULL;

    if (item == NULL)
        return NULL;
    item->type = cJSON_String;
    item->valuestring = words;
    return item;
}

static cJSON *read_number(struct reader *reader)
{
    const char *start = reader->at;
    double value;
    char c = peek(reader);

    while ((c >= '0' && c <= '9') || c == '.' || c == '-' || c == '+' ||
           c == 'e' || c == 'E') {
        reader->at++;
        c = peek(reader);
    }
    if (number_parse(start, (size_t)(reader->at - start), &value))
        return cJSON_CreateNumber(value);
    reader->at = start;
    return NULL;
}

/* A value; of an array or object its beginning. */
static cJSON *read_item(struct reader *reader)
{
    char c = peek(reader);

    if (c == '-' || (c >= '0' && c <= '9'))
        return read_number(reader);
    if (take(reader, '"'))
        return read_text(reader);
    if (take(reader, '['))
        return cJSON_CreateArray();
    if (take(reader, '{'))
        return cJSON_CreateObject();
    if (take_word(reader, "null"))
        return cJSON_CreateNull();
    if (take_word(reader, "true"))
        return cJSON_CreateTrue();
    return take_word(reader, "false") ? cJSON_CreateFalse() : NULL;
}

static bool is_object(const cJSON *item)
{
    return (item->type & 0xFF) == cJSON_Object;
}

static bool is_container(const cJSON *item)
{
    return is_object(item) || (item->type & 0xFF) == cJSON_Array;
}

/* The name of a member, its colon and the blanks about it. */
static char *read_name(struct reader *reader)
{
    char *name = take(reader, '"') ? read_string(reader) : NULL;

    skip_blanks(reader);
    if (name == NULL || !take(reader, ':')) {
        free(name);
        return NULL;
    }
    skip_blanks(reader);
    return name;
}

/* The next value of the innermost array or object, or that one's end. */
static bool read_on(struct reader *reader)
{
    cJSON *parent = reader->open[reader->depth - 1], *item;
    bool named = is_object(parent);
    char *name = NULL;

    skip_blanks(reader);
    if (take(reader, named ? '}' : ']')) {
        reader->depth--;
        return true;
    }
    if (parent->child != NULL && !take(reader, ','))
        return false;
    skip_blanks(reader);
    if (named && (name = read_name(reader)) == NULL)
        return false;
    item = read_item(reader);
    if (item == NULL) {
        free(name);
        return false;
    }
    item->string = name;
    cJSON_AddItemToArray(parent, item);
    if (!is_container(item))
        return true;
    if (reader->depth == JSON_MAX_DEPTH)
        return false;
    reader->open[reader->depth++] = item;
    return true;
}

cJSON *json_read(const char *bytes, size_t length, size_t *stop)
{
    struct reader reader = {.at = bytes, .end = bytes + length};
    bool good;
    cJSON *root;

    take_word(&reader, "\xef\xbb\xbf");
    skip_blanks(&reader);
    root = read_item(&reader);
    good = root != NULL;
    if (good && is_container(root))
        reader.open[reader.depth++] = root;
    while (good && reader.depth > 0)
        good = read_on(&reader);
    *stop = (size_t)(reader.at - bytes);
    if (good)
        return root;
    cJSON_Delete(root);
    return NULL;
}
