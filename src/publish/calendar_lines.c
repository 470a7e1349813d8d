#include "publish/calendar_lines.h"

#include <string.h>

#include "base/words.h"

enum { LINE_MAX_OCTETS = 75, WORDS_MAX = 64 * 1024 };

void calendar_reader_init(struct calendar_reader *reader, const char *bytes,
                          size_t length)
{
    memset(reader, 0, sizeof *reader);
    reader->at = bytes;
    reader->end = bytes + length;
    reader->line = 1;
    text_init(&reader->words, WORDS_MAX);
}

void calendar_reader_free(struct calendar_reader *reader)
{
    text_free(&reader->words);
}

static int check_octets(const char *bytes, size_t length, int line,
                        struct error *err)
{
    if (length > LINE_MAX_OCTETS)
        return error_set(err, _("line %d: %zu octets, more than %d"), line,
                         length, LINE_MAX_OCTETS);
    for (size_t i = 0; i < length; i++)
        if ((unsigned char)bytes[i] < ' ' || bytes[i] == 127)
            return error_set(err, _("line %d: control character %d"), line,
                             bytes[i]);
    if (!utf8_valid(bytes, length))
        return error_set(err,
                         _("line %d: not UTF-8, or folded inside a "
                           "character"),
                         line);
    return 0;
}

/* The physical line at the reader's place, without its break. */
static int next_physical(struct calendar_reader *reader, const char **bytes,
                         size_t *length, struct error *err)
{
    const char *start = reader->at;
    const char *feed = memchr(start, '\n', (size_t)(reader->end - start));

    if (feed == NULL || feed == start || feed[-1] != '\r')
        return error_set(err, _("line %d does not end with CR LF"),
                         reader->line);
    *bytes = start;
    *length = (size_t)(feed - 1 - start);
    if (check_octets(*bytes, *length, reader->line, err) != 0)
        return -1;
    reader->at = feed + 1;
    reader->line++;
    return 0;
}

static int check_name(const struct calendar_reader *reader, struct error *err)
{
    static const char allowed[] =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-";

    if (reader->name[0] != '\0' &&
        strspn(reader->name, allowed) == strlen(reader->name))
        return 0;
    return error_set(err, _("line %d: no property name before the colon"),
                     reader->first_line);
}

/* Cuts the unfolded line at the first colon outside of quotes. */
static int split(struct calendar_reader *reader, struct error *err)
{
    char *words = reader->words.bytes, *params = NULL, *colon = NULL;
    bool quoted = false;

    for (char *at = words; *at != '\0' && colon == NULL; at++) {
        if (*at == '"')
            quoted = !quoted;
        else if (*at == ';' && !quoted && params == NULL)
            params = at;
        else if (*at == ':' && !quoted)
            colon = at;
    }
    if (colon == NULL)
        return error_set(err, _("line %d has no colon"), reader->first_line);
    *colon = '\0';
    if (params != NULL)
        *params = '\0';
    reader->name = words;
    reader->params = params != NULL ? params + 1 : "";
    reader->value = colon + 1;
    return check_name(reader, err);
}

int calendar_reader_next(struct calendar_reader *reader, struct error *err)
{
    const char *bytes = "";
    size_t length = 0;

    if (reader->at == reader->end)
        return 0;
    reader->first_line = reader->line;
    text_clear(&reader->words);
    if (*reader->at == ' ')
        return error_set(err, _("line %d continues nothing"), reader->line);
    if (next_physical(reader, &bytes, &length, err) != 0)
        return -1;
    text_add_bytes(&reader->words, bytes, length);
    while (reader->at < reader->end && *reader->at == ' ') {
        if (next_physical(reader, &bytes, &length, err) != 0)
            return -1;
        text_add_bytes(&reader->words, bytes + 1, length - 1);
    }
    if (reader->words.full)
        return error_set(err, _("line %d: the text is too long"),
                         reader->first_line);
    return split(reader, err) == 0 ? 1 : -1;
}
