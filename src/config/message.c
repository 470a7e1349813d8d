/* The sentences about a value, in one place so that they read alike. */
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "base/words.h"
#include "config/reading.h"

/* Copies a value for a message: well-formed characters as they are, the bytes
 * of control characters as \xNN; stops where the room ends. True if all of it
 * had room. */
static bool copy_shown(const char *value, char *out, size_t size)
{
    size_t used = 0, escaped = 0;
    const char *at = value;
    for (; *at; at++) {
        char piece[8];
        if (escaped == 0)
            escaped = control_length(at);
        if (escaped > 0)
            snprintf(piece, sizeof piece, "\\x%02X", (unsigned char)*at);
        size_t length = escaped > 0 ? strlen(piece) : 1;
        if (used + length + 1 > size)
            break;
        memcpy(out + used, escaped > 0 ? piece : at, length);
        used += length;
        escaped -= escaped > 0 ? 1 : 0;
    }
    out[utf8_cut(out, used, used)] = '\0';
    return *at == '\0';
}

void value_shown(const struct config_key *key, const char *value,
                 char out[SHOWN_SIZE])
{
    enum { WORDS_SIZE = SHOWN_SIZE - sizeof "..." };
    if (key && key->secret) {
        memcpy(out, "***", sizeof "***");
        return;
    }
    if (copy_shown(value, out, SHOWN_SIZE))
        return;
    copy_shown(value, out, WORDS_SIZE);
    memcpy(out + strlen(out), "...", sizeof "...");
}

void refuse_value(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value)
{
    char shown[SHOWN_SIZE];
    value_shown(key, value->value, shown);
    error_list_add(
        reading->errors, _("%s:%d: %s = %s is not understood. Allowed: %s"),
        reading->path, value->line, value->key, shown, _(key->takes));
}

void refuse_range(struct config_reading *reading, const struct config_key *key,
                  const struct ini_value *value)
{
    char shown[SHOWN_SIZE];
    value_shown(key, value->value, shown);
    error_list_add(
        reading->errors, _("%s:%d: %s = %s is out of range. Allowed: %s"),
        reading->path, value->line, value->key, shown, _(key->takes));
}

void refuse_because(struct config_reading *reading,
                    const struct config_key *key, const struct ini_value *value,
                    const char *sentence)
{
    char shown[SHOWN_SIZE];
    value_shown(key, value->value, shown);
    error_list_add(reading->errors, "%s:%d: %s = %s: %s", reading->path,
                   value->line, value->key, shown, sentence);
}

void refuse_near(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, const char *word,
                 const char *near)
{
    char shown[SHOWN_SIZE];
    value_shown(key, word, shown);
    if (near)
        error_list_add(reading->errors,
                       _("%s:%d: %s: \"%s\" is not known; did you mean "
                         "\"%s\"? Allowed: %s"),
                       reading->path, value->line, value->key, shown, near,
                       _(key->takes));
    else
        error_list_add(
            reading->errors, _("%s:%d: %s: \"%s\" is not known. Allowed: %s"),
            reading->path, value->line, value->key, shown, _(key->takes));
}

void refuse_word(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, const char *word,
                 const char *const *known, int known_count)
{
    refuse_near(reading, key, value, word,
                nearest_word(word, known, known_count));
}
