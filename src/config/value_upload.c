/* Readers of where what is published is found and sent. */
#include <stdlib.h>
#include <string.h>

#include "base/memory.h"
#include "base/words.h"
#include "config/reading.h"

static bool is_one_of(const char *url, const struct url_parts *parts,
                      const char *const *schemes)
{
    for (; *schemes; schemes++)
        if (url_has_scheme(url, parts, *schemes))
            return true;
    return false;
}

/* Kept with a slash at its end: it is a folder. */
static void keep_folder(char **field, const char *url)
{
    bool slash = url[strlen(url) - 1] == '/';
    free(*field);
    *field = mem_format("%s%s", url, slash ? "" : "/");
}

void read_page_address(struct config_reading *reading,
                       const struct config_key *key,
                       const struct ini_value *value, void *section_data)
{
    static const char *const schemes[] = {"https", "http", NULL};
    struct url_parts parts;
    if (url_parse(value->value, &parts) &&
        is_one_of(value->value, &parts, schemes))
        keep_folder(value_field(key, section_data), value->value);
    else
        refuse_value(reading, key, value);
}

void read_upload(struct config_reading *reading, const struct config_key *key,
                 const struct ini_value *value, void *section_data)
{
    static const char *const schemes[] = {"https", "http", "sftp", NULL};
    struct url_parts parts;
    if (strchr(value->value, '@')) {
        refuse_because(reading, key, value,
                       _("the name to log in with belongs into upload user"));
        return;
    }
    if (!url_parse(value->value, &parts) ||
        !is_one_of(value->value, &parts, schemes)) {
        refuse_value(reading, key, value);
        return;
    }
    if (url_has_scheme(value->value, &parts, "http") &&
        !host_is_loopback(parts.host, parts.host_length)) {
        refuse_because(reading, key, value,
                       _("only https:// and sftp:// are safe; plain http:// "
                         "is for this machine itself"));
        return;
    }
    keep_folder(value_field(key, section_data), value->value);
}

/* "SHA256:" and 43 letters of base64: 256 bits. The prefix may be left out, so
 * may the "=" at the end. */
void read_host_key(struct config_reading *reading, const struct config_key *key,
                   const struct ini_value *value, void *section_data)
{
    enum { LETTERS = 43 };
    static const char base64[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
                                 "abcdefghijklmnopqrstuvwxyz0123456789+/";
    const char *words = value->value;
    if (strncmp(words, "SHA256:", 7) == 0)
        words += 7;
    size_t length = strspn(words, base64);
    if (length != LETTERS ||
        (words[length] != '\0' && strcmp(words + length, "=") != 0)) {
        refuse_value(reading, key, value);
        return;
    }
    char **field = value_field(key, section_data);
    free(*field);
    *field = mem_copy_bytes(words, LETTERS);
}
